package measure

import (
	"math"
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/sim"
)

// TestLongLastHaltAtTwoHertz: a last halt of many seconds is followed until the horse sets off, with
// two fixes a second too, and where it is not seen to set off the bound is one.
func TestLongLastHaltAtTwoHertz(t *testing.T) {
	p := compiled(t, longSheet)
	last := p.Movements[len(p.Movements)-1].Number
	for _, seed := range []uint64{0, 3, 5} {
		longer := 1 + 1.5*float64(seed)
		faults := sim.Faults{Halts: []sim.HaltFault{{Movement: last, Late: -0.3, Longer: gait.Seconds(longer)}}, After: 3.5}
		tr := sim.Ride(p, faults, seed)
		r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.05, RateHz: 2}, "survey", seed)
		for i := range r.Fixes { // as where the aligning ends the test when the horse comes to stand
			if f := &r.Fixes[i]; f.T > tr.End-gait.Seconds(3+longer) {
				f.PlanM, f.Movement = metres(math.NaN()), 0
			}
		}
		for _, m := range compare(tr, Ride(p, r, Options{})) {
			if m.movement != last || plain(m.What) != "halt duration" {
				continue
			}
			if m.Value == nil {
				t.Fatalf("seed %d: %s", seed, m.LimitedBy)
			}
			atLeast := strings.Contains(m.LimitedBy, "at least")
			t.Logf("seed %d: %.2f ± %.2f, true %.2f (%s)", seed, *m.Value, *m.Sigma, m.truth, m.LimitedBy)
			if atLeast {
				t.Errorf("seed %d: the setting off is in the file: %s", seed, m.LimitedBy)
			}
			if off := math.Abs(*m.Value - m.truth); off > 3**m.Sigma {
				t.Errorf("seed %d: %.2f ± %.2f s, true %.2f", seed, *m.Value, *m.Sigma, m.truth)
			}
		}
	}
}
