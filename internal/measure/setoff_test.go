package measure

import (
	"math"
	"testing"

	"ringcraft/internal/sim"
)

// TestSettingOffIsNoChangeOfPace: twelve metres after a turn on the spot the horse changes from walk
// to trot; its setting off from the turn must neither be taken for that change nor make it unsmooth.
func TestSettingOffIsNoChangeOfPace(t *testing.T) {
	p := compiled(t, figuresSheet)
	for _, ride := range []struct {
		class string
		scale float64
		kind  sim.WanderModel
		seed  uint64
	}{{"survey", 1, sim.WanderWalk, 20}, {"rtk", 1, sim.WanderOU, 21}} {
		seen := 0
		for _, m := range calibrationRide(t, p, condition{ride.class, ride.scale, ride.kind}, ride.seed+freshSeeds) {
			if m.movement != 6 || m.What != "transition place V" && m.What != "transition smoothness V" || m.Value == nil {
				continue
			}
			seen++
			if off := math.Abs(*m.Value - m.truth); off > 3**m.Sigma {
				t.Errorf("%s, ride %d: %s is %.2f ± %.2f, true %.2f", ride.class, ride.seed, m.What, *m.Value, *m.Sigma, m.truth)
			}
		}
		if seen == 0 {
			t.Errorf("%s, ride %d: nothing was measured", ride.class, ride.seed)
		}
	}
}
