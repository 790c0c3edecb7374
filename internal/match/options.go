package match

import (
	"context"

	"ringcraft/internal/gait"
	"ringcraft/internal/track"
)

// Options say what is known of a recording besides the file.
type Options struct {
	Class  string  // recorder class, "" is unknown
	Survey *Survey // surveyed letters, nil when there are none
	// Recorder is where the recorder sits: body, helmet, pocket, saddle or poll; "" takes
	// the recorded positions for the rider's body.
	Recorder string
	// Taps are starts of movements tapped by hand on the ride's clock, by movement number, and
	// Start is when the ride enters at A on that clock. Only Nominal uses them.
	Taps  map[int]gait.Seconds
	Start gait.Seconds
	// PlaceByRide asks for a placement from the ride itself even for a recording that
	// claims to be in the arena frame.
	PlaceByRide bool
	// Progress, when set, is told the stage that Align is in and the share of it that is done, 0 to 1, below 0
	// where that cannot be said.
	Progress func(stage Stage, share float64)
}

// Stage is a part of Align that can last, in words for people.
type Stage string

// The stages in their order; a recording whose place is known has no placing, one without motion no strides.
const (
	Smoothing Stage = "taking out the jitter"
	Placing   Stage = "finding how it lies in the arena"
	Aligning  Stage = "finding the movements"
	Striding  Stage = "counting strides"
)

func (o Options) progress(stage Stage, share float64) {
	if o.Progress != nil {
		o.Progress(stage, share)
	}
}

// step is a stage for work that asks now and then whether it shall go on.
func (o Options) step(ctx context.Context, stage Stage) track.Step {
	return func(share float64) error {
		o.progress(stage, share)
		return ctx.Err()
	}
}

// told is a stage for work that looks at the context itself.
func (o Options) told(stage Stage) func(float64) {
	return func(share float64) { o.progress(stage, share) }
}

// needsPlacing reports whether the recording must be brought into the arena frame.
func (o Options) needsPlacing(f track.Frame) bool {
	return f != track.FrameArena || o.PlaceByRide
}
