package rideplan

import (
	"math"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// Loops, serpentines and figures of eight are where the sheet puts them.
func TestWhereFiguresLie(t *testing.T) {
	for _, inset := range []float64{0, 0.8} {
		p := compileLines(t, at(inset), "1 K Working trot right", "2 K-H Loop 5 m", "3 C Working trot")
		noErrors(t, p)
		deepest := -10.0
		for _, s := range p.Samples {
			if s.Movement == 2 && s.Y < 54 {
				deepest = math.Max(deepest, s.X)
			}
		}
		if math.Abs(deepest+5) > 0.01 {
			t.Errorf("inset %.1f: a 5 m loop comes to x = %.3f, want -5", inset, deepest)
		}
		p = compileLines(t, at(inset), "1 A Working trot left", "2 A Serpentine 3 loops", "3 C Working trot")
		noErrors(t, p)
		crossings(t, p, 20, 40)
		p = compileLines(t, at(inset), "1 A Working trot left", "2 A Serpentine 4 loops", "3 C Working trot")
		crossings(t, p, 15, 30, 45)
	}
}

// crossings checks where movement 2 crosses the centre line away from A and C, parallel to
// the short side.
func crossings(t *testing.T, p *Plan, want ...float64) {
	t.Helper()
	var got []float64
	for i := 1; i < len(p.Samples); i++ {
		a, b := p.Samples[i-1], p.Samples[i]
		if b.Movement == 2 && a.X*b.X < 0 && a.Y > 2 && a.Y < 58 {
			got = append(got, (a.Y+b.Y)/2)
			if math.Abs(math.Abs(b.Heading.Unit().X)-1) > 1e-6 {
				t.Errorf("crosses at %.1f m heading %.1f", b.Y, b.Heading.Deg())
			}
		}
	}
	if len(got) != len(want) {
		t.Fatalf("crosses at %v, want %v", got, want)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 0.01 {
			t.Errorf("crosses at %.3f, want %g", got[i], want[i])
		}
	}
}

// Halts, rein-back and the moves out of them are on the clock and on the ground as asked.
func TestHaltAndReinBack(t *testing.T) {
	p := compileLines(t, Options{}, "1 A Enter in working trot", "2 X Halt 4 seconds, rein back 4 steps, proceed in working trot", "3 C Track left")
	noErrors(t, p)
	h, rb := figures(p, "halt")[0], figures(p, "rein-back")[0]
	if d := h.Place.Dist(arena.Point{X: 0, Y: 30}); d > 1e-6 || math.Abs(float64(h.EndS-h.StartS)-4) > 1e-6 || h.Seconds != 4 {
		t.Errorf("halt %v m from X for %.2f s", d, h.EndS-h.StartS)
	}
	step, _ := gait.Lookup(gait.ReinBackVar)
	if rb.Count != 4 || math.Abs(float64(rb.Asked)-2*step.StrideM) > 1e-9 || math.Abs(float64(rb.EndM-rb.StartM)-2*step.StrideM) > 1e-6 {
		t.Errorf("rein-back %+v", rb)
	}
	back := p.SampleAt(rb.EndS)
	if math.Abs(back.Y-(30-2*step.StrideM)) > 1e-6 || math.Abs(back.Heading.Deg()-90) > 1e-6 {
		t.Errorf("after the rein-back at %v heading %.1f", back.Point, back.Heading.Deg())
	}
}

// Places of transitions: between two letters in the middle with the whole stretch as span,
// before a letter 3 m before, over X at X.
func TestPlacesOfTransitions(t *testing.T) {
	p := compileLines(t, at(0), "1 C Working trot left", "2 Between E and K working canter left", "3 Before F working trot", "4 M Walk", "5 HXF Change rein", "  over X working trot")
	noErrors(t, p)
	tr := figures(p, "transition")
	want := []arena.Point{{X: -10, Y: 18}, {X: 7, Y: 0}, {X: 10, Y: 54}, {X: 0, Y: 30}}
	for i, w := range want {
		if i == 1 {
			continue // in the corner before F; checked by its distance
		}
		if d := float64(tr[i].Place.Dist(w)); d > 0.05 {
			t.Errorf("transition %d at %v, want %v", i, tr[i].Place, w)
		}
	}
	if !tr[0].Between || math.Abs(float64(tr[0].EndM-tr[0].StartM)-24) > 1e-6 {
		t.Errorf("between E and K spans %.2f m", tr[0].EndM-tr[0].StartM)
	}
	if tr[0].Lead != Left {
		t.Errorf("lead %q", tr[0].Lead)
	}
}

// Leads: counter-canter keeps the lead through a change of rein, changes turn it.
func TestLeads(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Collected canter left", "2 HXF Change rein", "3 F-A-K Counter-canter", "4 E Simple change", "5 MXK Change rein", "  X Flying change")
	noErrors(t, p)
	at := func(m int) Sample {
		v := p.MovementByNumber(m)
		return p.SampleAtM((v.StartM + v.EndM) / 2)
	}
	if s := at(3); s.Lead != Left || s.Bend != Left {
		t.Errorf("counter-canter on lead %s, bend %s", s.Lead, s.Bend)
	}
	if s := p.SampleAtM(p.MovementByNumber(5).StartM + 1); s.Lead != Right {
		t.Errorf("after the simple change lead %s", s.Lead)
	}
	if s := p.Samples[len(p.Samples)-1]; s.Lead != Left {
		t.Errorf("after the flying change lead %s", s.Lead)
	}
	if f := figures(p, "flying change"); len(f) != 1 || f[0].Place.Dist(arena.Point{X: 0, Y: 30}) > 0.05 {
		t.Errorf("flying change %v", f)
	}
}

// A turn on the haunches stands on its letter and turns the rein; walk is put before it.
func TestTurnOnTheHaunches(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Working trot left", "2 E Turn on the haunches left", "3 H Working trot")
	noErrors(t, p)
	f := figures(p, "turn on the haunches")[0]
	if f.Place.Dist(arena.Point{X: -9.2, Y: 30}) > 1e-6 || math.Abs(f.Angle.Deg()-180) > 1e-9 {
		t.Errorf("turn at %v by %.0f", f.Place, f.Angle.Deg())
	}
	if v := p.SampleAtM(f.StartM - 1).Variety; v != gait.MediumWalk {
		t.Errorf("%s before the turn", v)
	}
	if h := p.SampleAt(f.EndS + 0.5).Heading.Norm().Deg(); math.Abs(h-90) > 1e-6 {
		t.Errorf("heading %.1f after the turn, want 90", h)
	}
}

// A series of changes has its count and its strides.
func TestSeriesOfChanges(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Collected canter left", "2 HXF Five flying changes every third stride", "3 A Collected canter")
	noErrors(t, p)
	f := figures(p, "series of changes")[0]
	if f.Count != 5 || f.Every != 3 || math.Abs(f.Strides-12) > 0.8 {
		t.Errorf("%d changes every %d strides over %.1f strides, want 12", f.Count, f.Every, f.Strides)
	}
	flips := 0
	for i := 1; i < len(p.Samples); i++ {
		if p.Samples[i].Lead != p.Samples[i-1].Lead && p.Samples[i].Lead != NoHand && p.Samples[i-1].Lead != NoHand {
			flips++
		}
	}
	if flips != 5 {
		t.Errorf("the lead changes %d times", flips)
	}
}

// A zig-zag in leg-yield is ridden in leg-yield, a turn on the forehand is not one on the haunches,
// and the changes of a zig-zag in canter are counted once.
func TestZigZagAndForehandAsTheyAreTyped(t *testing.T) {
	for _, text := range []string{"D-G Zig-zag in leg-yield 4 m either side", "D-G 3 leg-yields, 4 m either side"} {
		p := compileLines(t, Options{}, "1 A Enter in working trot", "  C Track left", "2 A Down the centre line", "  "+text, "  C Track left")
		legs, zig := figures(p, "leg-yield"), figures(p, "zig-zag")
		if len(legs) != 3 || len(zig) != 1 || zig[0].Nominal != 4 || legs[0].Bend == legs[0].Hand || len(figures(p, "half-pass")) != 0 {
			t.Errorf("%s: %d leg-yields, zig-zag %+v", text, len(legs), zig)
		}
	}
	for _, text := range []string{"E Turn on the forehand left", "E Half turn on the forehand to the left"} {
		p := compileLines(t, Options{}, "1 C Medium walk left", "2 "+text, "3 H Working trot")
		f := figures(p, "turn on the forehand")
		if len(f) != 1 || f[0].Hand != Left || len(figures(p, "turn on the haunches")) != 0 {
			t.Errorf("%s: %+v", text, f)
		}
	}
	p := compileLines(t, Options{}, "1 A Enter in collected canter left", "  C Track left", "2 A Down the centre line", "  D-G Zig-zag, 3 half-passes, 5 m either side with flying changes", "  C Track left")
	if n := len(figures(p, "flying change")); n != 2 {
		t.Errorf("a zig-zag of 3 half-passes has %d changes", n)
	}
}
