package logbook

import (
	"context"
	"maps"
	"slices"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/measure"
)

// MarkingNoisePercent is how far the final percentages of two judges of one ride scatter, one
// standard deviation (C. Stickland 2017 over 18,757 tests: about 1.25 points).
const MarkingNoisePercent = 1.25

// maxTrendRides bounds how far back trends look.
const maxTrendRides = 40

// TrendsOf follows a combination over its rides: a line for every kind of movement, every fault,
// and every cause that at least three rides named.
// Only rides whose review was made are used, so that a list never waits for a computation.
func (b *Book) TrendsOf(ctx context.Context, combinationID string) ([]diagnose.TrendLine, error) {
	rides, err := b.Rides(ctx, RideFilter{CombinationID: combinationID, Limit: maxTrendRides})
	if err != nil {
		return nil, err
	}
	var facts []diagnose.RideFacts
	causes := map[string][]diagnose.TrendPoint{}
	for _, r := range slices.Backward(rides) {
		if _, err := b.Computed(ctx, kindReview, r.ID); err != nil {
			continue
		}
		rev, err := b.ReviewOf(ctx, r.ID)
		if err != nil {
			return nil, err
		}
		f := rev.Facts()
		facts = append(facts, f)
		for _, c := range rev.Doc.Causes {
			causes[c.Cause] = append(causes[c.Cause], diagnose.TrendPoint{Day: f.Day, Value: c.Probability})
		}
	}
	if len(facts) < 3 {
		return nil, nil
	}
	out := diagnose.Trends(facts)
	for _, name := range slices.Sorted(maps.Keys(causes)) {
		if len(causes[name]) >= 3 {
			out = append(out, diagnose.CauseTrend(name, causes[name]))
		}
	}
	return out, nil
}

// TrendWords says which trends are more than noise, what improves first.
func (b *Book) TrendWords(ctx context.Context, combinationID string) ([]string, error) {
	lines, err := b.TrendsOf(ctx, combinationID)
	if err != nil || lines == nil {
		return nil, err
	}
	var better, worse []string
	for _, l := range lines {
		switch l.Verdict {
		case diagnose.Better:
			better = append(better, l.Words)
		case diagnose.Worse:
			worse = append(worse, l.Words)
		case measure.CannotTell:
		}
	}
	out := append(better, worse...)
	if len(out) == 0 {
		out = []string{NoLineMoved}
	}
	return out, nil
}

// NoLineMoved is said where no single line over the weeks is more than noise. It is another question
// than whether one ride was better than another, and says so, since both stand on one page.
const NoLineMoved = "No single kind of movement or fault has moved steadily by more than noise yet. " +
	"Whether one ride was better than the one before is judged from all its marks and measures together, above and on the page that compares them."

// VerdictOf is the judgement of two rides of one sheet as their page gives it. ok is false where a
// review was not made yet or the rides cannot be compared: a list never waits for a computation.
func (b *Book) VerdictOf(ctx context.Context, one, other string) (verdict string, ok bool) {
	for _, id := range []string{one, other} {
		if _, err := b.Computed(ctx, kindReview, id); err != nil {
			return "", false
		}
	}
	c, err := b.CompareOf(ctx, one, other)
	if err != nil {
		return "", false
	}
	return c.Comparison.Total.Verdict, true
}

// WholeReview makes a review again with everything in it, for papers that draw the ride as it
// was measured.
func (b *Book) WholeReview(ctx context.Context, rideID string) (*ReviewResult, error) {
	g, err := b.gather(ctx, rideID)
	if err != nil {
		return nil, err
	}
	before, err := b.earlier(ctx, g.ride)
	if err != nil {
		return nil, err
	}
	history, err := b.historyOf(ctx, before)
	if err != nil {
		return nil, err
	}
	return ReviewRide(ctx, g.input(history))
}
