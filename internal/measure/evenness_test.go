package measure

import (
	"math"
	"testing"

	"ringcraft/internal/sim"
)

// TestEvennessKnowsItsEnds: a leg-yield that arrives well before or past its letter goes straight on
// for the rest, or has no rest; where its way is taken to end moves the bow, and the doubt knows it.
func TestEvennessKnowsItsEnds(t *testing.T) {
	p := compiled(t, loopsSheet)
	far, n := 0.0, 0
	for _, c := range []struct {
		condition
		seed uint64
	}{{condition{"survey", 0.5, sim.WanderOU}, 200000}, {condition{"survey", 1, sim.WanderWalk}, 200020}} {
		for _, m := range calibrationRide(t, p, c.condition, c.seed) {
			if plain(m.What) == "evenness" && m.Value != nil {
				n++
				z := (*m.Value - m.truth) / *m.Sigma
				t.Logf("%.3f ± %.3f m, true %.3f", *m.Value, *m.Sigma, m.truth)
				far = max(far, z*z)
			}
		}
	}
	if n == 0 || far > 3*3 {
		t.Errorf("of %d bows the worst is %.1f doubts off", n, math.Sqrt(far))
	}
}
