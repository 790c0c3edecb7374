package match

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// samples is the ridden line for people to look at: the smoothed recording in the arena.
func (a *aligner) samples(r rigid, ps []place, c *chain, fixes []Fix) []Sample {
	out := make([]Sample, 0, len(a.smoothed.States))
	for _, st := range a.smoothed.States {
		s := Sample{T: gait.Seconds(st.T), Point: r.apply(arena.Point(st.P)), V: r.turn(arena.Point(st.V)), PosSD: st.PosSD, VelSD: st.VelSD,
			PlanM: arena.Metres(math.NaN()), Gap: st.Gap}
		if st.HasHeading {
			s.Heading = r.heading(st.Heading)
		}
		if st.Fix >= 0 {
			s.PlanM, s.Movement = fixes[st.Fix].PlanM, fixes[st.Fix].Movement
		}
		out = append(out, s)
	}
	return out
}
