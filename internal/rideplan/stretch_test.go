package rideplan

import (
	"math"
	"testing"

	"ringcraft/internal/arena"
)

// Piaffe of n steps lasts as long as n steps do: the passage before and after it is given up
// and taken up outside (stride of 1.00 to 1.10 s, two steps a stride: the facts of the paces).
func TestPiaffeLastsItsSteps(t *testing.T) {
	p := compileLines(t, Options{}, "1 H Passage left", "2 E Piaffe 12 steps", "  E-K Passage", "3 A Halt")
	noErrors(t, p)
	f := figures(p, "piaffe")[0]
	if d := float64(f.EndS - f.StartS); math.Abs(d-12*value("piaffe_step_s")) > 0.15 {
		t.Errorf("12 steps in %.2f s", d)
	}
}

// A longer pace said of a line is ridden on that line and ends with it.
func TestPaceSaidOfALine(t *testing.T) {
	for _, l := range []string{"MXK Change the rein, medium trot", "MXK Change the rein and show some medium trot strides", "MXK Change the rein, lengthen strides"} {
		p := compileLines(t, Options{}, "1 C Working trot right", "2 "+l, "3 A Circle left 20 m", "4 C Halt")
		noErrors(t, p)
		n := 0
		for _, f := range p.MovementByNumber(2).Figures {
			if k := f.Kind; (k == "medium pace" || k == "lengthened strides") && f.At == "M" && f.To == "K" {
				n++
			}
		}
		if v := figures(p, "circle")[0].Variety; n != 1 || v != "working trot" {
			t.Errorf("%s: %d longer stretches, circle in %s", l, n, v)
		}
	}
}

// Piaffe asked at the letter of a turn is ridden after the turn, and the letter lies behind.
func TestPiaffeAfterATurn(t *testing.T) {
	p := compileLines(t, Options{}, "1 M Passage right", "2 B Turn right", "  X Turn right", "  X Piaffe 12 steps", "  XG Passage", "  G Halt, salute")
	noErrors(t, p)
	f := figures(p, "piaffe")[0]
	if math.Abs(f.Place.X) > 0.05 || f.Place.Y < 32 || p.Length > 90 {
		t.Errorf("%v; the line has %.0f m", f, float64(p.Length))
	}
}

// A halt is straight: after a diagonal and a turn on the track, after half-pass along the body,
// and the ride goes on from it without a turn on the spot.
func TestHaltsAreStraight(t *testing.T) {
	for _, l := range [][]string{
		{"1 C Working trot right", "2 MXK Change the rein", "3 K Halt", "4 A Working trot", "5 C Halt"},
		{"1 A Enter in working trot", "2 C Track left", "3 C Halt", "4 E Working trot", "5 A Halt"},
		{"1 A Collected trot left", "2 F-X Half-pass left", "  X-M Half-pass right", "3 M Halt", "4 C Collected trot", "5 A Halt"},
	} {
		p := compileLines(t, Options{}, l...)
		noErrors(t, p)
		f := figures(p, "halt")[0]
		h := p.SampleAt((f.StartS + f.EndS) / 2).Heading
		if along := math.Max(math.Abs(h.Unit().X), math.Abs(h.Unit().Y)); along < 0.999 {
			t.Errorf("%v: halted at %.0f degrees", l, h.Deg())
		}
	}
}

// "To X" inside a route ends the pace there, and what follows it happens there.
func TestPaceForPartOfARoute(t *testing.T) {
	p := compileLines(t, Options{}, "1 A Working trot right", "2 K-X-M Medium trot to X, then working trot", "3 C Halt")
	noErrors(t, p)
	f, x := figures(p, "medium pace")[0], figures(p, "transition")[1]
	if f.To != "X" || math.Abs(float64(f.EndM-x.StartM)) > 0.5 || x.Place.Dist(arena.Point{Y: 30}) > 0.5 {
		t.Errorf("%v; %v", f, x)
	}
}

// Steps of another pace without a number are a few, and the pace before goes on.
func TestAFewSteps(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Working trot right", "2 MXK Change the rein, over X a few steps of medium walk", "3 A Halt")
	noErrors(t, p)
	walk := 0.0
	for i, s := range p.Samples[1:] {
		if s.Variety == "medium walk" {
			walk += float64(s.M - p.Samples[i].M)
		}
	}
	if walk < 2 || walk > 6 {
		t.Errorf("%.1f m of walk", walk)
	}
}

// A turn onto the quarter line is made where that line is, between the letters named.
func TestTurnOntoTheQuarterLine(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Working trot left", "2 Between A & F Turn left onto the three-quarter line", "3 C Halt")
	noErrors(t, p)
	on := 0.0
	for i, s := range p.Samples[1:] {
		if math.Abs(s.X-5) < 0.1 {
			on += float64(s.M - p.Samples[i].M)
		}
	}
	if on < 40 {
		t.Errorf("%.0f m on the quarter line", on)
	}
}

// Steps of walk at each crossing of a serpentine come at every crossing.
func TestStepsAtEachCrossing(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Working trot left", "2 A Serpentine of 3 loops, each time crossing the centre line 4 walk steps", "3 B Halt")
	noErrors(t, p)
	n := 0
	for _, f := range figures(p, "transition") {
		if f.Variety == "medium walk" {
			n++
			if math.Abs(f.Place.X) > 0.1 || math.Abs(f.Place.Y-float64(20*n)) > 1 {
				t.Errorf("walk at %v", f.Place)
			}
		}
	}
	if n != 2 {
		t.Errorf("%d times walk", n)
	}
}

// Lateral work begun at the middle of a short side without an end is ridden along the side after the corner.
func TestLateralFromTheShortSide(t *testing.T) {
	p := compileLines(t, Options{}, "1 A Collected trot left", "2 C Shoulder-in left", "3 A Halt")
	noErrors(t, p)
	f := figures(p, "shoulder-in")[0]
	if f.At != "H" || f.To != "K" || math.Abs(float64(f.EndM-f.StartM)-48) > 0.5 {
		t.Errorf("%v", f)
	}
}
