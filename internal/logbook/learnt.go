package logbook

import (
	"context"
	"encoding/json"
	"slices"

	"ringcraft/internal/prepare"
)

// Learnt is what an exercise seems to have brought a combination.
type Learnt = prepare.Learnt

// LearntOf says which exercises of the lessons between two rides of one sheet seem to have paid.
// Only rides whose review was made are used; the planner shrinks what few rides say.
func (b *Book) LearntOf(ctx context.Context, combinationID string) ([]Learnt, error) {
	rides, err := b.Rides(ctx, RideFilter{CombinationID: combinationID, Limit: maxTrendRides})
	if err != nil {
		return nil, err
	}
	lessons, err := b.Lessons(ctx, LessonFilter{CombinationID: combinationID})
	if err != nil {
		return nil, err
	}
	var done []prepare.LessonDone
	for i, after := range rides {
		before, ok := before(rides[i+1:], after)
		if !ok || !b.reviewed(ctx, after.ID) || !b.reviewed(ctx, before.ID) {
			continue
		}
		ids := exercisesBetween(lessons, before.Date, after.Date)
		if len(ids) == 0 {
			continue
		}
		c, err := b.CompareOf(ctx, before.ID, after.ID)
		if err != nil {
			return nil, err
		}
		done = append(done, prepare.LessonDone{Exercises: ids, Change: c.Comparison, Movements: movementInfo(c.After.Plan)})
	}
	return prepare.WhichPaid(done), nil
}

// before finds the ride of the same sheet before one; rides come newest first.
func before(earlier []Ride, r Ride) (Ride, bool) {
	i := slices.IndexFunc(earlier, func(o Ride) bool { return o.SheetID == r.SheetID })
	if i < 0 {
		return Ride{}, false
	}
	return earlier[i], true
}

func (b *Book) reviewed(ctx context.Context, rideID string) bool {
	_, err := b.Computed(ctx, kindReview, rideID)
	return err == nil
}

// exercisesBetween are the exercises of the lessons taught after one day and up to another.
func exercisesBetween(lessons []Lesson, from, to Date) []string {
	var out []string
	for _, l := range slices.Backward(lessons) {
		if l.Date <= from || l.Date > to || l.Ended.IsZero() {
			continue
		}
		var plan LessonPlan
		if json.Unmarshal([]byte(l.Plan), &plan) != nil {
			continue // a plan of another time teaches nothing
		}
		for _, k := range plan.Blocks {
			if k.Exercise != "" && !slices.Contains(out, k.Exercise) {
				out = append(out, k.Exercise)
			}
		}
	}
	return out
}

func movementInfo(p *Plan) []prepare.MovementInfo {
	var out []prepare.MovementInfo
	for i := range p.Movements {
		out = append(out, prepare.InfoOf(p.Movements[i]))
	}
	return out
}
