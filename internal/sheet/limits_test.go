package sheet

import (
	"strings"
	"testing"
)

// TestHaltHasAnEnd: a slip of the finger in the seconds of a halt is said, not held for months.
func TestHaltHasAnEnd(t *testing.T) {
	for text, wrong := range map[string]bool{
		"Halt 4 seconds": false, "Halt 600 seconds": false, "Halt 601 seconds": true, "Halt 9999999 seconds": true, "Halt 9999999": true,
	} {
		ps := Parse("x", []byte("name: x\narena: 20 x 40\n1 A Enter in working trot\n  X "+text+", salute\n2 C Track left\n")).Problems
		said := false
		for _, p := range ps {
			said = said || p.Severity == Error && strings.Contains(p.Message, "up to 600") && p.Line == 4
		}
		if said != wrong {
			t.Errorf("%q: %v", text, ps)
		}
	}
}

// TestHaltsTogetherHaveAnEnd: nor is a timeline filled by many halts.
func TestHaltsTogetherHaveAnEnd(t *testing.T) {
	f := Parse("x", []byte("name: x\narena: 20 x 40\n1 A Enter in working trot\n"+strings.Repeat(" X Halt 600 seconds. Proceed in working trot\n", 3000)))
	total := 0.0
	for _, m := range f.Movements {
		for _, p := range m.Parts {
			for _, a := range p.Acts {
				total += a.Seconds
			}
		}
	}
	if total > 3600 || !HasErrors(f.Problems) {
		t.Errorf("%g seconds of halts, %d problems", total, len(f.Problems))
	}
}
