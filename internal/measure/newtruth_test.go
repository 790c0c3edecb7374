package measure

import (
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
)

// TestSmallFaults rides one fault at a time of those that judges see late: each gets its name
// from a fine recorder, a ride without it does not, and no recorder without heading says
// anything of the body.
func TestSmallFaults(t *testing.T) {
	p := compiled(t, turnsSheet)
	turn, back, side := movementWith(t, p, terms.TurnOnHaunches), movementWith(t, p, terms.ReinBack), movementWith(t, p, terms.ShoulderIn)
	for _, c := range []struct {
		name, what, verdict string
		movement            int
		f                   sim.Faults
	}{
		{"forward first", "forward first", "stepped forward first", back, sim.Faults{ReinBacks: []sim.ReinBackFault{{Movement: back, Forward: 0.7}}}},
		{"crooked", "rein-back straightness", "crooked", back, sim.Faults{ReinBacks: []sim.ReinBackFault{{Movement: back, Sideways: 0.8}}}},
		{"unsteady", "angle steadiness", "unsteady", side, sim.Faults{AngleSway: 14}},
		{"large turn", "turn size", "too large", turn, sim.Faults{Turns: []sim.TurnFault{{Movement: turn, Size: 3.2}}}},
		{"slow turn", "turn duration", "slow", turn, sim.Faults{Turns: []sim.TurnFault{{Movement: turn, Longer: 5}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, k := range []struct {
				f       sim.Faults
				heading bool
				want    []string
			}{{c.f, true, []string{c.verdict}}, {sim.Faults{}, true, []string{OK, CannotTell}}} {
				tr := sim.Ride(p, k.f, 1)
				r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.02, Heading: k.heading, HeadingSDDeg: 1}, "survey", 1)
				m := find(Ride(p, r, Options{}).Of(c.movement), c.what)
				if m == nil || m.Verdict != k.want[0] && m.Verdict != k.want[len(k.want)-1] {
					t.Errorf("%s: %+v, want %q; all: %s", c.what, m, k.want, names(Ride(p, r, Options{}).Of(c.movement)))
				}
			}
		})
	}
}

// TestSlowHorseNotAbrupt: a horse at half speed that changes pace at the plan's rate has half
// as much to change, and is asked half the seconds: nothing of it is abrupt.
func TestSlowHorseNotAbrupt(t *testing.T) {
	p := compiled(t, smallSheet)
	slow := map[gait.Variety]float64{}
	for _, v := range gait.Varieties() {
		slow[v] = 0.5
	}
	asked := func(f sim.Faults) map[string]Measure {
		r := ridden(t, p, sim.Ride(p, f, 3), sim.Sensor{WhiteSD: 0.01}, "survey", 3)
		out := map[string]Measure{}
		for _, mv := range Ride(p, r, Options{}) {
			for _, m := range mv.Measures {
				if plain(m.What) == "transition length" && m.Value != nil {
					out[string(rune('a'+mv.Number))+m.What] = m
				}
			}
		}
		return out
	}
	usual := asked(sim.Faults{})
	n := 0
	for k, m := range asked(sim.Faults{Speed: slow, Manner: sim.Manner{Own: true, Bends: 1, ChangeM: 0.8}}) {
		if m.Verdict == "abrupt" {
			t.Errorf("%s: %.2f s of %.2f asked is abrupt", k, *m.Value, *m.Asked)
		}
		if u, ok := usual[k]; ok {
			n++
			if share := *m.Asked / *u.Asked; share < 0.3 || share > 0.7 {
				t.Errorf("%s: asked %.2f s at half speed, %.2f s at full", k, *m.Asked, *u.Asked)
			}
		}
	}
	if n < 2 {
		t.Errorf("only %d changes compared", n)
	}
}

// TestHeadingTooSeldom: at one heading a second the body's swaying cannot be told from jitter.
func TestHeadingTooSeldom(t *testing.T) {
	p := compiled(t, turnsSheet)
	side := movementWith(t, p, terms.ShoulderIn)
	r := ridden(t, p, sim.Ride(p, sim.Faults{AngleSway: 10}, 2), sim.Sensor{WhiteSD: 0.02, RateHz: 1, Heading: true, HeadingSDDeg: 1}, "survey", 2)
	if m := find(Ride(p, r, Options{}).Of(side), "angle steadiness"); m == nil || m.Verdict != CannotTell || m.Value != nil {
		t.Errorf("%+v", m)
	}
}

func names(list []Measure) string {
	var b strings.Builder
	for _, m := range list {
		b.WriteString(m.What + " " + m.Verdict + " (" + m.LimitedBy + "); ")
	}
	return b.String()
}
