package match

import (
	"context"

	"ringcraft/internal/track"
)

// place brings the recording into the arena frame by the best means there is.
func (a *aligner) place(ctx context.Context) (rigid, Placement, error) {
	s := a.options.Survey
	if s != nil {
		if err := s.fits(a.plan.Board); err != nil {
			return rigid{}, Placement{}, err
		}
	}
	switch plane, geo := a.track.Plane(); {
	case !a.options.needsPlacing(a.track.Frame):
		return identity(), Placement{Method: "arena frame"}, nil
	case geo && s != nil:
		return placeByLetters(s, plane, a.noise)
	}
	return a.placeByRide(ctx, a.track.Frame == track.FrameLocal || a.options.PlaceByRide && a.track.Frame == track.FrameArena)
}
