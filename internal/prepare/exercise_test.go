package prepare

import (
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

func TestMirror(t *testing.T) {
	for _, c := range [][2]string{
		{"HXF | Change the rein", "MXK | Change the rein"},
		{"Between K and A | Working canter left", "Between F and A | Working canter right"},
		{"E | Half circle left 10 m to X", "B | Half circle right 10 m to X"},
		{"DX | Shoulder-in left", "DX | Shoulder-in right"},
	} {
		if got := mirror(c[0]); got != c[1] {
			t.Errorf("mirror(%q) = %q, want %q", c[0], got, c[1])
		}
		if got := mirror(mirror(c[0])); got != c[0] {
			t.Errorf("twice mirrored: %q", got)
		}
	}
}

// Every exercise has all that a trainer needs to read, and every name in it exists.
func TestExercisesAreComplete(t *testing.T) {
	all := Exercises()
	if len(all) < 60 {
		t.Fatalf("%d exercises, want at least 60", len(all))
	}
	known := map[terms.Fault]bool{}
	for _, f := range terms.FaultIDs() {
		known[f] = true
	}
	causes := map[string]bool{}
	for _, c := range diagnose.CauseNames() {
		causes[c] = true
	}
	seen := map[string]bool{}
	for _, e := range all {
		if seen[e.ID] {
			t.Errorf("%s twice", e.ID)
		}
		seen[e.ID] = true
		if e.ID == "" || e.Title == "" || e.Purpose == "" || e.Feel == "" || e.See == "" || len(e.UsualFaults) == 0 || len(e.Paces) == 0 || len(e.Sheet) < 3 {
			t.Errorf("%s: something is empty", e.ID)
		}
		if e.Load < 1 || e.Load > 5 || e.Minutes < 3 || e.Minutes > 8 || e.MinAge < 3 || !containsFold(Levels, e.Level) {
			t.Errorf("%s: load %d minutes %g age %g level %q", e.ID, e.Load, e.Minutes, e.MinAge, e.Level)
		}
		for _, f := range e.Serves.Faults {
			if !known[f] {
				t.Errorf("%s: unknown fault %q", e.ID, f)
			}
		}
		for _, c := range e.Serves.Causes {
			if !causes[c] {
				t.Errorf("%s: unknown cause %q", e.ID, c)
			}
		}
		for _, n := range e.Needs {
			if !containsFold(forbidden, n) {
				t.Errorf("%s: needs %q, which no horse can be kept from", e.ID, n)
			}
		}
		checkVersions(t, e)
	}
	for c := range causes {
		if n := servedBy(c); n < 2 {
			t.Errorf("cause %q has %d exercises", c, n)
		}
	}
}

func checkVersions(t *testing.T, e Exercise) {
	if e.Easier != "" {
		if x, ok := ExerciseByID(e.Easier); !ok || LevelOf(x.Level) > LevelOf(e.Level) {
			t.Errorf("%s: easier version %q is missing or not easier", e.ID, e.Easier)
		}
	}
	if e.Harder != "" {
		if x, ok := ExerciseByID(e.Harder); !ok || LevelOf(x.Level) < LevelOf(e.Level) {
			t.Errorf("%s: harder version %q is missing or not harder", e.ID, e.Harder)
		}
	}
	if easierThan(e, e) {
		t.Errorf("%s: easier than itself", e.ID)
	}
}

func servedBy(cause string) int {
	n := 0
	for _, e := range Exercises() {
		for _, c := range e.Serves.Causes {
			if c == cause {
				n++
			}
		}
	}
	return n
}

// Every instance, on each rein, in both arenas, with every parameter, is understood by the
// sheet language without a problem worth a warning.
func TestEveryExerciseParses(t *testing.T) {
	for _, e := range Exercises() {
		for _, c := range e.Choices() {
			text := e.SheetText(c)
			f := sheet.Parse(e.ID, []byte(text))
			for _, p := range f.Problems {
				if p.Severity != sheet.Note {
					t.Errorf("%s %v: %v\n%s", e.ID, c, p, text)
				}
			}
			if strings.Contains(text, "{") {
				t.Errorf("%s: parameter left: %s", e.ID, text)
			}
		}
	}
}

// Every instance compiles to a line without an error, starts at A and stays in the arena.
func TestEveryExerciseCompiles(t *testing.T) {
	for _, e := range Exercises() {
		for _, c := range e.Choices() {
			text := e.SheetText(c)
			p := rideplan.CompileText(e.ID, text, rideplan.Options{})
			for _, problem := range p.Problems {
				if problem.Severity == sheet.Error {
					t.Errorf("%s %v: %v\n%s", e.ID, c, problem, text)
				}
			}
			if p.Total < 20 || len(p.Movements) != len(strings.Split(strings.TrimSpace(text), "\n"))-2 {
				t.Errorf("%s %v: %.0f s, %d movements", e.ID, c, p.Total, len(p.Movements))
			}
		}
	}
}
