package measure

import (
	"math"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/strides"
	"ringcraft/internal/track"
)

// motionOf makes what a perfect reading of motion data would say of a simulated ride: spans
// of one pace at the plan's tempo, each with its strides.
func motionOf(p *rideplan.Plan, tr sim.Truth) *strides.Result {
	out := &strides.Result{RateHz: 100}
	var now strides.Span
	flush := func(end float64) {
		if now.Pace == "" {
			return
		}
		now.End = track.Seconds(end)
		d := 1 / now.StrideHz
		for t := float64(now.Start); now.StrideHz > 0 && t+d <= end; t += d {
			now.Strides = append(now.Strides, strides.Stride{T: track.Seconds(t), Duration: track.Seconds(d)})
		}
		now.Count = float64(len(now.Strides))
		out.Spans = append(out.Spans, now)
	}
	var variety gait.Variety
	for _, s := range tr.Samples {
		if math.IsNaN(s.PlanM) {
			continue
		}
		q := p.SampleAtM(metres(s.PlanM))
		pace, lead := q.Variety.PaceOf(), string(q.Lead)
		if q.Variety == variety && lead == now.Lead {
			continue
		}
		flush(float64(s.T))
		variety = q.Variety
		now = strides.Span{Start: track.Seconds(s.T), Pace: pace, Lead: lead, Probability: 0.97, LeadProbability: 0.995, LeadGroup: map[string]int{strides.LeadLeft: 1, strides.LeadRight: 2}[lead], EdgeSD: 0.2}
		if f, ok := gait.Lookup(q.Variety); ok && f.StrideM > 0 {
			now.StrideHz = float64(f.Speed) / f.StrideM
		}
	}
	flush(float64(tr.End))
	return out
}

// TestMotion checks what is made of motion data, and that nothing is made of none.
func TestMotion(t *testing.T) {
	p := compiled(t, longSheet)
	tr := sim.Ride(p, sim.Faults{}, 1)
	r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.05}, "rtk", 1)
	needs := map[string]bool{"tempo": true, "lead": true, "rein-back steps": true}
	count := func(set Set, withValue bool) map[string]int {
		n := map[string]int{}
		for _, m := range set {
			for _, x := range m.Measures {
				if needs[plain(x.What)] && (x.Value != nil) == withValue {
					n[plain(x.What)]++
				}
			}
		}
		return n
	}
	if got := count(Ride(p, r, Options{}), true); len(got) != 0 {
		t.Errorf("values without motion data: %v", got)
	}
	none := count(Ride(p, r, Options{}), false)
	for what := range needs {
		if none[what] == 0 {
			t.Errorf("%s is not said to need motion data", what)
		}
	}
	r.Strides = motionOf(p, tr)
	set := Ride(p, r, Options{})
	if got := count(set, true); got["tempo"] < 8 || got["lead"] == 0 { // steps are counted in the motion itself: TestFaultsOfLegsAreNamed
		t.Errorf("values with motion data: %v", got)
	}
	for _, m := range set {
		for _, x := range m.Measures {
			if x.Value == nil || !needs[plain(x.What)] && x.What != "transition place" {
				continue
			}
			if math.Abs(*x.Value-*x.Asked) > 3**x.Sigma+1e-9 || x.Verdict != OK && x.Verdict != CannotTell {
				t.Errorf("movement %d %s: %.2f ± %.2f, asked %.2f: %s", m.Number, x.What, *x.Value, *x.Sigma, *x.Asked, x.Verdict)
			}
		}
	}
	checkCanterPlace(t, p, r)
	wrongLead(t, p, r)
}

// checkCanterPlace: with motion data the change from trot to canter has a place.
func checkCanterPlace(t *testing.T, p *rideplan.Plan, r *match.Ridden) {
	t.Helper()
	found := false
	for _, x := range Ride(p, r, Options{}).Of(11) {
		if x.What == "transition place" {
			found = x.Value != nil && math.Abs(*x.Value) < 1.2
		}
	}
	if !found {
		t.Error("the change to canter in movement 11 has no place")
	}
}

func wrongLead(t *testing.T, p *rideplan.Plan, r *match.Ridden) {
	t.Helper()
	for i := range r.Strides.Spans {
		if r.Strides.Spans[i].Lead == strides.LeadRight {
			r.Strides.Spans[i].Lead = strides.LeadLeft
		}
	}
	for _, x := range Ride(p, r, Options{}).Of(11) {
		if x.What == "lead" && x.Verdict != "wrong lead" {
			t.Errorf("canter on the wrong lead is %q", x.Verdict)
		}
	}
}
