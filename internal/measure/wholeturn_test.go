package measure

import (
	"math"
	"testing"

	"ringcraft/internal/sim"
)

// TestTurnDurationIsOfTheWholeTurn: a recorder that jumps about lets only a part of a turn on the
// haunches be aligned with its place; the heading shows the rest, and one heading that jumps is no
// beginning.
func TestTurnDurationIsOfTheWholeTurn(t *testing.T) {
	p := compiled(t, turnsSheet)
	for seed := range uint64(2) {
		tr := sim.Ride(p, sim.Faults{Turns: []sim.TurnFault{{Movement: 5, Size: 1, Longer: 3}}}, seed)
		r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.02, Heading: true, HeadingSDDeg: 1.5}, "survey", seed)
		m := find(Ride(p, r, Options{}).Of(5), "turn duration")
		first, last := *m.FromS, *m.ToS
		for i := range r.Fixes {
			f := &r.Fixes[i]
			if t := float64(f.T); t > first+0.4*(last-first) && t < last+2 { // as if it were on the way on
				f.PlanM += 3
			}
			if math.Abs(float64(f.T)-(first-2)) < 0.05 {
				f.Heading -= 0.6
			}
		}
		for _, x := range compare(tr, Ride(p, r, Options{})) {
			if x.movement == 5 && x.What == "turn duration" && math.Abs(*x.Value-x.truth) > 3**x.Sigma {
				t.Errorf("seed %d: %.2f ± %.2f s, true %.2f", seed, *x.Value, *x.Sigma, x.truth)
			}
		}
	}
}
