package rideplan

import "testing"

// Wordings met on sheets typed by others, ridden out; common practice, no source.

// Single changes named after the diagonal are all ridden on it, evenly.
func TestSingleChangesOnADiagonal(t *testing.T) {
	p := compileLines(t, Options{}, "1 A Collected canter right", "2 KXM Change the rein with 3 single flying changes", "3 C Halt")
	noErrors(t, p)
	f := figures(p, "flying change")
	if len(f) != 3 {
		t.Fatalf("%d changes", len(f))
	}
	a, b := float64(f[1].StartM-f[0].StartM), float64(f[2].StartM-f[1].StartM)
	if a < 10 || b < 10 || a/b > 1.1 || b/a > 1.1 {
		t.Errorf("apart by %.1f and %.1f m", a, b)
	}
}

// The three-quarter line is turned onto at its end, with room for what follows.
func TestTurnUpTheThreeQuarterLine(t *testing.T) {
	for _, l := range []string{"Between A & F turn left up the 3/4 line, leg-yield right to R", "Between A and F turn left onto the three-quarter line, leg-yield right to R"} {
		p := compileLines(t, Options{}, "1 C Working trot left", "2 "+l, "3 C Circle left 20 m", "4 A Halt")
		noErrors(t, p)
		if f := figures(p, "leg-yield"); len(f) != 1 || f[0].To != "R" || f[0].Hand != Right {
			t.Errorf("%q: %v", l, f)
		}
	}
}

// "Twice" rides the circle twice, and "before returning to B" is before the end of one.
func TestCircleTwiceAndBefore(t *testing.T) {
	p := compileLines(t, Options{}, "1 A Working trot left", "2 B Circle left 20 m twice", "3 C Halt")
	if f := figures(p, "circle"); len(f) != 2 {
		t.Errorf("%d circles", len(f))
	}
	p = compileLines(t, Options{}, "1 A Working trot left", "2 B Circle left 20 m, and before returning to B working canter left", "3 E Circle left 20 m", "4 A Working trot", "5 C Halt")
	noErrors(t, p)
	f := figures(p, "circle")
	if len(f) != 2 {
		t.Fatalf("%d circles", len(f))
	}
	for _, x := range figures(p, "transition") {
		if x.Variety != "working canter" {
			continue
		}
		if d := float64(f[0].EndM - x.StartM); d < 1 || d > 5 {
			t.Errorf("canter %.1f m before the end of the circle", d)
		}
		return
	}
	t.Error("no canter")
}
