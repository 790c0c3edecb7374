package prepare

import (
	"slices"
	"strings"

	"ringcraft/internal/terms"
)

// RemedyFor is the exercise to begin with for a fault in a movement of these kinds: one that serves
// the fault, for such a kind when there is one (the movement's first kind before others), the easiest
// first. ok is false when none serves it.
func RemedyFor(fault terms.Fault, kinds []terms.Kind) (best Exercise, ok bool) {
	rank := func(e Exercise) int {
		r := 10*LevelOf(e.Level) + e.Load
		switch {
		case !sharesKind(e.Serves.Kinds, kinds):
			r += 1000
		case e.Serves.Kinds[0] != kinds[0]:
			r += 500
		}
		return r
	}
	for _, e := range Exercises() {
		if e.Loosening || fault == "" || !slices.Contains(e.Serves.Faults, fault) {
			continue
		}
		if !ok || rank(e) < rank(best) {
			best, ok = e, true
		}
	}
	return best, ok
}

// PlainTitle is the title as it is with the usual figures.
func (e Exercise) PlainTitle() string { return strings.TrimSpace(e.fill(e.Title, Choice{})) }
