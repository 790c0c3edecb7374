package diagnose

import (
	"slices"
	"testing"

	"ringcraft/internal/measure"
	"ringcraft/internal/terms"
)

// Verdicts of zig-zags, changes of circle and turns on the forehand are faults of the vocabulary
// with a cause that can bring them; one shape is charged once.
func TestFigureVerdictsAreFaults(t *testing.T) {
	for _, c := range []struct {
		ms     []measure.Measure
		want   terms.Fault
		losses int
	}{
		{[]measure.Measure{m("turning point left", 6.6, 0.1, 4.8, 0.75, "m", "too far to the side"), m("sides difference", 1.9, 0.1, 0, 1, "m", "further to the left")}, "turned too far out", 1},
		{[]measure.Measure{m("turning point right 2", 3.1, 0.1, 4.8, 0.75, "m", "not far enough to the side")}, "not sideways enough", 1},
		{[]measure.Measure{m("turning point place left", 4.4, 0.2, 0, 2, "m", "turned late")}, "late at the letter", 1},
		{[]measure.Measure{m("sides difference", -2.4, 0.2, 0, 1, "m", "further to the right")}, "uneven sides", 1},
		{[]measure.Measure{m("circle diameter first half", 10.4, 0.1, 9.2, 0.4, "m", "too large"), m("circle diameter second half", 9.3, 0.1, 9.2, 0.4, "m", measure.OK),
			m("circle change place", 1.2, 0.1, 0, 0.8, "m", "past the middle")}, "circle too large", 1},
		{[]measure.Measure{m("circle change place", -1.9, 0.1, 0, 0.8, "m", "before the middle")}, "change not over the middle", 1},
		{[]measure.Measure{m("circle halves difference", 1.9, 0.1, 0, 0.8, "m", "first one larger")}, "uneven loops", 1},
		{[]measure.Measure{m("turn angle", -180, 2, 180, 15, "deg", "turned the wrong way")}, "error of course", 1},
		{[]measure.Measure{m("turn size", 2.6, 0.2, 1.1, 0.6, "m", "too large")}, "turn too large", 1},
	} {
		d := Diagnose(Input{Plan: smallPlan(), Measures: measure.Set{{Number: 2, Measures: c.ms}}})
		var got []terms.Fault
		for _, l := range d.Ledger[1].Lost {
			if l.Fault != "" {
				got = append(got, l.Fault)
			}
		}
		if !slices.Contains(got, c.want) || len(got) != c.losses {
			t.Errorf("%s: %v, want %q", c.ms[0].What, got, c.want)
		}
		if _, ok := terms.FaultByID(c.want); !ok {
			t.Errorf("%q is not in the vocabulary", c.want)
		}
	}
	for _, f := range []terms.Fault{"uneven sides", "turned too far out", "change not over the middle"} {
		made := false
		for _, c := range causesFile.Causes {
			made = made || c.Makes[f] > 0
		}
		if !made {
			t.Errorf("no cause makes %q", f)
		}
	}
}
