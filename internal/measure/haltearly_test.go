package measure

import (
	"fmt"
	"math"
	"testing"

	"ringcraft/internal/sim"
)

// A horse that halts early before a rein-back stands beside the plan's own way back: its halt is seen
// whole all the same, and neither the going back nor the stand after it is taken for it.
func TestEarlyHaltBeforeReinBack(t *testing.T) {
	p := compiled(t, turnsSheet)
	for _, class := range []string{"survey", "rtk", "uwb"} {
		s, err := sim.Profile(class)
		if err != nil {
			t.Fatal(err)
		}
		s.WanderSD = 0
		for i, late := range []float64{0, -1.2, -1.8, -2.4} {
			f := sim.Faults{Halts: []sim.HaltFault{{Movement: 4, Late: metres(late)}}, ReinBacks: []sim.ReinBackFault{{Movement: 4, Scale: 0.6}}}
			tr := sim.Ride(p, f, uint64(i))
			rec := ridden(t, p, tr, s, class, uint64(i))
			if rec == nil {
				t.Fatalf("a ride recorded by %s was refused", class)
			}
			for _, c := range compare(tr, Ride(p, rec, Options{})) {
				if c.movement != 4 || c.What != "halt duration" && c.What != "halt place" {
					continue
				}
				name := fmt.Sprintf("%s, %.1f m late: %s", class, late, c.What)
				if c.Value == nil {
					t.Errorf("%s: cannot tell, %s", name, c.LimitedBy)
				} else if off := math.Abs(*c.Value - c.truth); off > 0.6 || off > 2.5**c.Sigma {
					t.Errorf("%s: %.2f ± %.2f, truth %.2f", name, *c.Value, *c.Sigma, c.truth)
				}
			}
		}
	}
}
