package match

import (
	"context"
	"math"

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
	case geo && s != nil && len(s.Letters) > 1:
		r, pl, err := placeByLetters(s, plane, a.noise)
		if s.SD == 0 { // letters stood at with this recorder show its slow error
			a.noise.WanderSD = math.Max(a.noise.WanderSD, pl.residualSD())
		}
		return r, pl, err
	}
	return a.placeByRide(ctx, a.track.Frame == track.FrameLocal || a.options.PlaceByRide && a.track.Frame == track.FrameArena)
}
