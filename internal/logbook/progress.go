package logbook

import (
	"context"

	"ringcraft/internal/match"
	"ringcraft/internal/track"
)

// Progress hears how far the work on a ride is: its stage in words for people, and the share of the whole
// that is done, 0 to 1.
type Progress func(stage string, share float64)

type progressKey struct{}

// WithProgress gives a context under which all work on rides tells how far it is. It is told seldom enough
// to be cheap and often enough to cancel by; it may be told from another goroutine than the caller's.
func WithProgress(ctx context.Context, p Progress) context.Context {
	return context.WithValue(ctx, progressKey{}, p)
}

// within names work inside other work, such as the review of an earlier ride.
func within(ctx context.Context, what string) context.Context {
	p := progressOf(ctx)
	if p == nil {
		return ctx
	}
	return WithProgress(ctx, func(stage string, share float64) { p(what+": "+stage, share) })
}

func progressOf(ctx context.Context) Progress {
	p, _ := ctx.Value(progressKey{}).(Progress)
	return p
}

// part is a stretch of the work on a ride: its words, and from which share of the whole to which it takes,
// as it was for an hour at 10 Hz with motion.
type part struct {
	words    string
	from, to float64
}

// The parts of a review in their order.
var (
	readingTrack  = part{"reading the recording", 0, 0.1}
	readingMotion = part{"reading the motion", 0.1, 0.25}
	joining       = part{"bringing the clocks together", 0.25, 0.3}
	measuring     = part{"measuring the movements", 0.95, 1}
	ofAligning    = map[match.Stage]part{
		match.Smoothing: {string(match.Smoothing), 0.3, 0.4},
		match.Placing:   {string(match.Placing), 0.4, 0.75},
		match.Aligning:  {string(match.Aligning), 0.75, 0.85},
		match.Striding:  {string(match.Striding), 0.85, 0.95},
	}
)

// tell tells the context's Progress how far a part is; a share below 0 is at its beginning.
func (p part) tell(ctx context.Context, share float64) {
	if tell := progressOf(ctx); tell != nil {
		tell(p.words, p.from+(p.to-p.from)*max(0, min(1, share)))
	}
}

// step is a part for work that asks now and then whether it shall go on.
func (p part) step(ctx context.Context) track.Step {
	return func(share float64) error {
		p.tell(ctx, share)
		return ctx.Err()
	}
}
