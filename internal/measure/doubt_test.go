package measure

import (
	"math"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// exact is a ride recorded with a millimetre of jitter by the best class of recorder.
func exact(t *testing.T, p *rideplan.Plan, f sim.Faults, seed uint64) []compared {
	t.Helper()
	tr := sim.Ride(p, f, seed)
	return compare(tr, Ride(p, ridden(t, p, tr, sim.Sensor{WhiteSD: 0.001, Heading: true}, "survey", seed), Options{}))
}

func theOne(t *testing.T, list []compared, movement int, what string) compared {
	t.Helper()
	for _, c := range list {
		if c.movement == movement && c.What == what && c.Value != nil {
			return c
		}
	}
	t.Fatalf("movement %d has no %s", movement, what)
	return compared{}
}

// TestSpeedOfWholeStretch: a speed is that of the whole of the movement's longest stretch, also
// where it changes on the way (a pace given up, a circle ridden large), and where several stretches
// are as short when their ends are left out.
func TestSpeedOfWholeStretch(t *testing.T) {
	small, long := compiled(t, smallSheet), compiled(t, longSheet)
	wavers := sim.Wobble{LineSD: 0.05, Speed: 0.05}
	for _, c := range []struct {
		name     string
		plan     *rideplan.Plan
		f        sim.Faults
		movement int
		within   float64 // share of the speed
		rides    uint64
	}{
		{"given up", long, sim.Faults{Held: []sim.HeldFault{{Movement: 6, Share: 0.3}}}, 6, 0.01, 1},
		{"large circle", small, sim.Faults{Circles: []sim.CircleFault{{Movement: 3, Scale: 1.25, Egg: 0.05}}}, 3, 0.01, 1},
		{"two short lines", small, sim.Faults{Wobble: wavers}, 13, 0.015, 4},
	} {
		for seed := range c.rides {
			if m := theOne(t, exact(t, c.plan, c.f, seed), c.movement, "speed"); math.Abs(*m.Value/m.truth-1) > c.within {
				t.Errorf("%s, seed %d: %.3f m/s, truth %.3f", c.name, seed, *m.Value, m.truth)
			}
		}
	}
}

// TestHeldFinerThanEighths: where a bigger pace was given up is found to a few hundredths of the
// way by a fine recorder, and a pace held to the end is 100 %.
func TestHeldFinerThanEighths(t *testing.T) {
	p := compiled(t, longSheet)
	for _, share := range []float64{0.35, 0.43, 0.56, 2} {
		f := sim.Faults{Held: []sim.HeldFault{{Movement: 3, Share: share}}}
		m := theOne(t, exact(t, p, f, 1), 3, "held")
		if off := math.Abs(*m.Value - m.truth); off > 2.5 || *m.Sigma > 2.5 {
			t.Errorf("given up after %.2f: held %.1f ± %.1f %%, truth %.1f", share, *m.Value, *m.Sigma, m.truth)
		}
	}
}

// TestNoSlackBesideFineRecorder: what a good rider's wavering leaves in a number is a small part of
// its tolerance; a recorder without error says so.
func TestNoSlackBesideFineRecorder(t *testing.T) {
	p := compiled(t, turnsSheet)
	for _, m := range exact(t, p, sim.Faults{}, 1) {
		limit, ok := map[string]float64{"speed": 0.03, "rein-back straightness": 0.05, "halt approach": 0.05, "halt place": 0.06, "angle": 0.08, "turn overshoot": 0.04}[plain(m.What)]
		if ok && m.Value != nil && *m.Sigma > limit**m.Tolerance {
			t.Errorf("movement %d %s: a doubt of %.3f is %.0f %% of the tolerance", m.movement, m.What, *m.Sigma, 100**m.Sigma / *m.Tolerance)
		}
	}
}

// TestLoopsShareTheirErrors: a recording that lies to one side as a whole makes loops of that side
// larger and those of the other smaller. Between the sides the doubt is twice that of one loop,
// within a side it is next to nothing; a value without doubt is the plain difference.
func TestLoopsShareTheirErrors(t *testing.T) {
	loop := func(over, t, side float64) loopSize { return loopSize{over, []weight{{t: t, wx: side}}} }
	for _, c := range []struct {
		name  string
		d     doubt
		loops []loopSize
		sd    float64
		value float64
	}{
		{"two sides", doubt{wander: 0.5, tau: 1e6}, []loopSize{loop(3, 0, 1), loop(-1, 20, -1)}, 1, 4},
		{"one side", doubt{wander: 0.5, tau: 1e6}, []loopSize{loop(3, 0, 1), loop(-1, 20, 1)}, 0.02, 4},
		{"jitter", doubt{white: 0.5, tau: 1}, []loopSize{loop(3, 0, 1), loop(-1, 20, 1)}, 0.5 * math.Sqrt2, 4},
		{"three alike, sure", doubt{white: 0.001, tau: 1}, []loopSize{loop(1, 0, 1), loop(1, 20, -1), loop(1, 40, 1)}, 0.026, 0},
	} {
		r, b := &ride{d: &c.d}, &book{}
		r.loopDifference(b, &rideplan.Figure{}, c.loops)
		if m := b.list[0]; math.Abs(*m.Sigma/c.sd-1) > 0.25 || math.Abs(*m.Value-c.value) > 0.05 {
			t.Errorf("%s: %.3f ± %.3f, want %.3f ± %.3f", c.name, *m.Value, *m.Sigma, c.value, c.sd)
		}
	}
}

// TestArrivalAtACircle: where a half-pass leads into a circle, metres past the letter count along
// the circle's tangent there, not along where it has turned to by then.
func TestArrivalAtACircle(t *testing.T) {
	p := compiled(t, advancedSheet)
	for _, late := range []float64{-1.5, 0, 1.5} {
		m := theOne(t, exact(t, p, sim.Faults{Arrivals: []sim.ArrivalFault{{Movement: 8, Late: metres(late)}}}, 1), 8, "arrival")
		if math.Abs(*m.Value-late) > 0.3 { // its stated doubt; counted where the circle has turned to, it is off by 0.6
			t.Errorf("%.2f m past the letter, stated %.2f", *m.Value, late)
		}
	}
}
