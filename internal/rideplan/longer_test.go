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
		if longer < 10 || longer > 50 {
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
