package rideplan

import (
	"strings"
	"testing"
)

// A longer pace between two letters ends at the second; the pace before comes again there, and
// the reading says so once.
func TestLongerPaceEndsAtItsLetter(t *testing.T) {
	for _, l := range [][]string{
		{"1 C Working trot left", "2 FXH Change the rein with medium trot between F and X", "3 C Circle right 20 m", "4 A Halt"},
		{"1 C Working trot left", "2 Show 4 to 5 medium strides between H and K", "3 FXH Change the rein", "4 C Circle right 20 m", "5 A Halt"},
		{"1 C Working trot left", "2 HEK Show 3-5 lengthened strides", "3 FXH Change the rein", "4 C Circle right 20 m", "5 A Halt"},
	} {
		p := compileLines(t, Options{}, l...)
		noErrors(t, p)
		longer := 0.0
		for i, s := range p.Samples[1:] {
			if isLonger(s.Variety) {
				longer += float64(s.M - p.Samples[i].M)
			}
		}
		if longer < 8 || longer > 50 {
			t.Errorf("%q: %.0f m in the longer pace", l[1], longer)
		}
		if v := figures(p, "circle")[0].Variety; v != "working trot" {
			t.Errorf("%q: circle in %s", l[1], v)
		}
		text := ""
		for _, m := range p.Movements {
			text += m.Reading + " "
		}
		if n := strings.Count(text, "hen working trot again"); n != 1 {
			t.Errorf("%q: the end is said %d times: %s", l[1], n, text)
		}
	}
}

// A counted number of lengthened strides is a stretch of that many on the line named, planned
// in its middle; the figure spans the line and says that it may come anywhere on it.
func TestCountedStridesOnALine(t *testing.T) {
	p := compileLines(t, Options{}, "1 C Working trot left", "2 HEK Show 3-5 lengthened strides", "3 A Circle left 20 m", "4 C Halt")
	noErrors(t, p)
	f := figures(p, "lengthened strides")
	if len(f) != 1 || !f[0].Between || f[0].Count != 4 || f[0].At != "H" || f[0].To != "K" {
		t.Fatalf("%+v", f)
	}
	longer, mid := 0.0, 0.0
	for i, s := range p.Samples[1:] {
		if d := float64(s.M - p.Samples[i].M); isLonger(s.Variety) {
			longer, mid = longer+d, mid+d*float64(s.M)
		}
	}
	if off := mid/longer - float64(f[0].StartM+f[0].EndM)/2; longer < 8 || longer > 16 || off < -2 || off > 2 {
		t.Errorf("%.1f m longer, %.1f m from the middle", longer, off)
	}
	if v := figures(p, "circle")[0].Variety; v != "working trot" {
		t.Errorf("circle in %s", v)
	}
}
