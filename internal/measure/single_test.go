package measure

import (
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
)

func movementWith(t *testing.T, p *rideplan.Plan, kind terms.Kind) int {
	t.Helper()
	for _, m := range p.Movements {
		for _, f := range m.Figures {
			if f.Kind == kind {
				return m.Number
			}
		}
	}
	t.Fatalf("no %s in the sheet", kind)
	return 0
}

// TestSingleFaults rides one fault at a time: it gets its name, and no other number of the
// movement a fault that is not there.
func TestSingleFaults(t *testing.T) {
	small, long := compiled(t, smallSheet), compiled(t, longSheet)
	medium := movementWith(t, small, terms.MediumPace)
	serp := movementWith(t, small, terms.Serpentine)
	for _, c := range []struct {
		name     string
		p        *rideplan.Plan
		f        sim.Faults
		movement int
		what     string
		verdict  string
		besides  []string // faults that it brings with it
	}{
		{"given up", small, sim.Faults{Held: []sim.HeldFault{{Movement: medium, Share: 0.4}}}, medium, "held", "given up early", []string{"gain", "speed", "transition place H", "transition place"}},
		{"no difference", small, sim.Faults{Held: []sim.HeldFault{{Movement: medium, Gain: 0.2}}}, medium, "gain", "too little difference", []string{"held", "speed", "transition place", "transition place H"}},
		{"uneven loops", small, sim.Faults{Loops: []sim.LoopFault{{Movement: serp, Loop: 1, Scale: 0.75}}}, serp, "loop difference", "uneven loops", []string{"loop size B", "loop size E", "loop size"}},
		{"egg", small, sim.Faults{Circles: []sim.CircleFault{{Movement: 3, Egg: 0.2}}}, 3, "circle roundness", "not round", []string{"circle diameter", "circle place", "circle opening", "circle closing"}},
		{"begun late", small, sim.Faults{Circles: []sim.CircleFault{{Movement: 3, Along: 3}}}, 3, "circle opening", "late", []string{"circle place", "circle closing"}},
		{"too little angle", long, sim.Faults{AngleScale: 0.5}, 4, "angle", "too little", nil},
		{"arrives late", long, sim.Faults{Arrivals: []sim.ArrivalFault{{Movement: 7, Late: 4}}}, 7, "arrival", "late", []string{"angle"}},
		{"corners cut", small, sim.Faults{CornerCut: 1.5}, 2, "corner depth", "cut", []string{"corner depth K", "corner depth H"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr := sim.Ride(c.p, c.f, 1)
			r := ridden(t, c.p, tr, sim.Sensor{WhiteSD: 0.05, Heading: true, HeadingSDDeg: 1}, "survey", 1)
			set := Ride(c.p, r, Options{}).Of(c.movement)
			allowed := map[string]bool{c.what: true}
			for _, w := range c.besides {
				allowed[w] = true
			}
			if m := find(set, c.what); m == nil || m.Verdict != c.verdict {
				t.Errorf("%s: %+v, want %q", c.what, m, c.verdict)
			}
			for _, m := range set {
				if !allowed[m.What] && m.Verdict != OK && m.Verdict != CannotTell {
					t.Errorf("%s is %q too (%.2f ± %.2f)", m.What, m.Verdict, *m.Value, *m.Sigma)
				}
			}
		})
	}
}
