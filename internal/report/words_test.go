package report

import (
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
)

// The sheet's own words are called in the sheet's order, each once: letters stay with their
// wording where another part of the box has none, or holds a semicolon of its own.
func TestCallKeepsTheSheetsWords(t *testing.T) {
	text := "arena: 20 x 60\n1 A Enter in collected trot\n  X Halt; salute\n  Proceed in collected trot\n2 C Track left\n" +
		"3 E-X Half circle left 10 m; then straight\n  G Halt\n4 Transitions\n"
	p := rideplan.CompileText("t", text, rideplan.Options{})
	want := []string{"A Enter in collected trot; X Halt; salute; Proceed in collected trot", "C Track left",
		"E-X Half circle left 10 m; then straight; G Halt", "Transitions"}
	for i, w := range want {
		if got := CallWords(&p.Movements[i]); got != w {
			t.Errorf("box %d: %q, want %q", i+1, got, w)
		}
	}
	said := ""
	for _, c := range Caller(p, CallOptions{}).Calls {
		said += " " + c.Words
	}
	for _, w := range want {
		if strings.Count(said, w) != 1 {
			t.Errorf("%q is called %d times", w, strings.Count(said, w))
		}
	}
}
