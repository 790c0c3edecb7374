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
		out = []string{"Nothing has moved by more than the noise of marking and measuring yet."}
	}
	return out, nil
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
