package measure

import (
	"math"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// altered aligns a ride whose fixes were changed before.
func altered(t *testing.T, p *rideplan.Plan, seed uint64, change func(*sim.Truth)) *match.Ridden {
	t.Helper()
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.05, LineM: 8, Speed: 0.01}}, seed)
	change(&tr)
	return ridden(t, p, tr, sim.Sensor{WhiteSD: 0.03}, "rtk", seed)
}

// TestStepsOnInTheHalt: the horse stands 3 s, goes on by a metre, stands again. Neither the
// mean of both places nor the time of both together is true of it.
func TestStepsOnInTheHalt(t *testing.T) {
	p := compiled(t, smallSheet)
	r := altered(t, p, 1, func(tr *sim.Truth) {
		from := math.NaN()
		var out []sim.Sample
		for _, s := range tr.Samples {
			if math.Abs(s.PlanM-20) < 0.01 && math.IsNaN(from) {
				from = float64(s.T)
			}
			if d := float64(s.T) - from; !math.IsNaN(from) && d > 3 && d < 30 {
				s.Point = s.Point.Add(arena.Point{Y: math.Min(1, math.Max(0, d-3)) * math.Max(0, math.Min(1, (30-d)/10))})
			}
			out = append(out, s)
			if n := len(out); n > 1 && math.Abs(s.PlanM-20) < 0.01 { // the standstill needs fixes of its own
				a := out[n-2]
				for k := 1; k < 60 && float64(s.T-a.T) > 1; k++ {
					q := a
					q.T = a.T + (s.T-a.T)/60*1
					d := float64(q.T) - from
					q.Point = arena.Point{X: a.X, Y: 20 + math.Min(1, math.Max(0, d-3))}
					out = append(out[:len(out)-1], q, s)
					a = q
				}
			}
		}
		tr.Samples = out
	})
	set := Ride(p, r, Options{}).Of(1)
	for _, what := range []string{"halt place", "halt duration"} {
		if m := find(set, what); m == nil || m.Value != nil || !strings.Contains(m.LimitedBy, "did not stay where it halted") {
			t.Errorf("%s: %+v", what, m)
		}
	}
}

// TestRecordingJoins: a recording that begins after the first halt, or during it, names no
// fault of what it has not seen.
func TestRecordingJoins(t *testing.T) {
	p := compiled(t, smallSheet)
	for _, c := range []struct {
		name  string
		after float64 // seconds after coming to the halt
		place bool
	}{{"in the halt", 3, true}, {"after the halt", 8.5, false}} {
		r := altered(t, p, 2, func(tr *sim.Truth) {
			halt := 0.0
			for _, s := range tr.Samples {
				if s.PlanM >= 20 {
					halt = float64(s.T)
					break
				}
			}
			for len(tr.Samples) > 0 && float64(tr.Samples[0].T) < halt+c.after {
				if len(tr.Samples) > 1 && float64(tr.Samples[1].T) > halt+c.after {
					tr.Samples[0].T += 0 // the start of the standstill that is cut
					break
				}
				tr.Samples = tr.Samples[1:]
			}
			shift := tr.Samples[0].T
			if float64(shift) < halt+c.after {
				tr.Samples[0].T = tr.Samples[1].T - 2.5
				shift = tr.Samples[0].T
			}
			for i := range tr.Samples {
				tr.Samples[i].T -= shift
			}
		})
		if r == nil {
			t.Fatal(c.name)
		}
		for _, m := range Ride(p, r, Options{}).Of(1) {
			if plain(m.What) != "halt place" && plain(m.What) != "halt duration" {
				continue
			}
			if m.Verdict != OK && m.Verdict != CannotTell {
				t.Errorf("%s: %s is %q (%v)", c.name, m.What, m.Verdict, *m.Value)
			}
			if !c.place && m.Value != nil {
				t.Errorf("%s: %s is %.2f, which was not recorded", c.name, m.What, *m.Value)
			}
			if m.What == "halt duration" && c.place && !strings.Contains(m.LimitedBy, "begins at the halt") {
				t.Errorf("%s: %+v", c.name, m)
			}
			if m.What == "halt place" && c.place && (m.Value == nil || math.Abs(*m.Value) > 0.3) {
				t.Errorf("%s: %+v", c.name, m)
			}
		}
	}
}
