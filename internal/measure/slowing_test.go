package measure

import (
	"math"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// A rider's slowing down in bends is found in the ride to within its doubt, for riders who hardly slow
// down as for those who do so more than planned; what a recorder does not show is left as the plan has it.
func TestSlowingInBendsIsLearnt(t *testing.T) {
	for _, p := range []*rideplan.Plan{compiled(t, longSheet), compiled(t, advancedSheet)} {
		for i, bends := range []float64{0.2, 0.6, 1, 1.3} {
			f := sim.Faults{Manner: sim.Manner{Own: true, Bends: bends, ChangeM: 4}}
			for _, class := range []string{"survey", "rtk", "uwb"} {
				got := slowingOf(t, p, f, class, uint64(i)+300)
				if off := math.Abs(got.share - bends); off > 2.5*got.sd {
					t.Errorf("%s, %s: a rider who does %.1f of the planned slowing down: found %.2f ± %.2f", p.Name, class, bends, got.share, got.sd)
				}
				if class == "survey" && got.sd > 0.3 {
					t.Errorf("%s: a survey recorder leaves %.2f of doubt, more than 0.3", p.Name, got.sd)
				}
			}
			if got := slowingOf(t, p, f, "phone", uint64(i)+300); got.sd < 0.36 {
				t.Errorf("%s: a phone cannot show how bends are ridden, found %.2f ± %.2f", p.Name, got.share, got.sd)
			}
		}
	}
}

func slowingOf(t *testing.T, p *rideplan.Plan, f sim.Faults, class string, seed uint64) slowing {
	t.Helper()
	s, err := sim.Profile(class)
	if err != nil {
		t.Fatal(err)
	}
	rec := ridden(t, p, sim.Ride(p, f, seed), s, class, seed)
	if rec == nil {
		t.Fatalf("a ride recorded by %s was refused", class)
	}
	return newRide(p, rec, Options{}).slowing()
}

// Without pieces enough to learn from, the plan's slowing down is taken, with all the doubt of a rider
// who is not known.
func TestSlowingUnknown(t *testing.T) {
	p := compiled(t, smallSheet)
	s, err := sim.Profile("survey")
	if err != nil {
		t.Fatal(err)
	}
	rec := ridden(t, p, sim.Ride(p, sim.Faults{}, 1), s, "survey", 1)
	rec.Fixes = rec.Fixes[:20]
	if got := newRide(p, rec, Options{}).slowing(); got.share != 1 || got.sd < likeThePlan {
		t.Errorf("twenty fixes: %.2f ± %.2f, want 1 with at least %.1f", got.share, got.sd, likeThePlan)
	}
}
