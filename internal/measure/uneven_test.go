package measure

import (
	"math/rand/v2"
	"testing"

	"ringcraft/internal/sim"
)

// How evenly a rider rides is learnt from the stretches at one speed: neither a bigger pace given up,
// nor slow bends, nor the wander of the recorder is taken for it.
func TestUnevennessIsTheRiders(t *testing.T) {
	p := compiled(t, longSheet)
	for _, class := range []string{"survey", "rtk", "uwb", "sport"} {
		for seed := range uint64(3) {
			f := randomFaults(p, rand.New(rand.NewPCG(seed+4400, 99)))
			s, err := sim.Profile(class)
			if err != nil {
				t.Fatal(err)
			}
			rec := ridden(t, p, sim.Ride(p, f, seed+4400), s, class, seed+4400)
			if rec == nil {
				t.Fatalf("a ride recorded by %s was refused", class)
			}
			if got := newRide(p, rec, Options{}).uneven(); got < 0.007 || got > 0.028 {
				t.Errorf("%s, ride %d: speeds vary by %.3f, ridden with %.3f", class, seed, got, f.Wobble.Speed)
			}
		}
	}
}
