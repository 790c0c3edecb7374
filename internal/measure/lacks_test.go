package measure

import (
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// TestLacksIsData: whatever needs motion, a gyroscope or a heading says so as data on a ride that was
// recorded without, so that nobody has to read it out of the words; what failed for another reason does not.
func TestLacksIsData(t *testing.T) {
	seen := map[string]int{}
	for _, s := range []string{advancedSheet, turnsSheet} {
		p := rideplan.CompileText("kinds", s, rideplan.Options{})
		r := ridden(t, p, sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.02}, "rtk", 1)
		if r == nil {
			t.Fatalf("%s: refused", p.Name)
		}
		for _, m := range Ride(p, r, Options{}) {
			for _, x := range m.Measures {
				if x.Value != nil && x.Lacks != "" {
					t.Errorf("movement %d, %s: has a value and lacks %s", m.Number, x.What, x.Lacks)
				}
				want := ""
				switch {
				case strings.Contains(x.LimitedBy, "gyroscope"):
					want = LacksGyroscope
				case strings.Contains(x.LimitedBy, "Motion data"):
					want = LacksMotion
				case strings.Contains(x.LimitedBy, "needs a recorded heading"):
					want = LacksHeading
				}
				if x.Lacks != want {
					t.Errorf("movement %d, %s lacks %q: %s", m.Number, x.What, x.Lacks, x.LimitedBy)
				}
				seen[x.Lacks]++
			}
		}
	}
	for _, l := range []string{"", LacksMotion, LacksGyroscope, LacksHeading} {
		if seen[l] == 0 {
			t.Errorf("nothing lacks %q", l)
		}
	}
}
