package match

import (
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
	// Progress, when set, is called with a share from 0 to 1.
	Progress func(float64)
}

func (o Options) progress(share float64) {
	if o.Progress != nil {
		o.Progress(share)
	}
}

// needsPlacing reports whether the recording must be brought into the arena frame.
func (o Options) needsPlacing(f track.Frame) bool {
	return f != track.FrameArena || o.PlaceByRide
}
