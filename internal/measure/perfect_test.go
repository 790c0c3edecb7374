package measure

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/sim"
	"ringcraft/internal/testkit"
)

// sheetFiles lists every sheet of the project.
func sheetFiles(t *testing.T) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(filepath.Join(testkit.Root(t), "sheets"), func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(p, ".sheet") {
			out = append(out, p)
		}
		return err
	})
	if err != nil || len(out) == 0 {
		t.Fatalf("no sheets found: %v", err)
	}
	return out
}

// TestPerfectRide rides every sheet exactly as planned: every measure must be what is asked,
// within its doubt, without a fault and without a departure.
func TestPerfectRide(t *testing.T) {
	measured := 0
	for _, file := range sheetFiles(t) {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(file)
		p := rideplan.CompileText(name, string(text), rideplan.Options{})
		if sheet.HasErrors(p.Problems) || len(p.Samples) < 100 {
			t.Logf("%s does not compile; left to the compiler's tests", name)
			continue
		}
		tr := sim.Ride(p, sim.Faults{}, 1)
		r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.02, Heading: true, HeadingSDDeg: 1}, "rtk", 1)
		if r == nil {
			t.Fatalf("%s: refused", name)
		}
		for _, d := range r.Departures {
			t.Errorf("%s: %s in movement %d at %.1f s: %s", name, d.Kind, d.Movement, float64(d.Start), d.Reason)
		}
		for _, m := range Ride(p, r, Options{}) {
			measured += len(m.Measures)
			checkPerfect(t, name, m)
		}
	}
	if measured < 200 {
		t.Errorf("only %d measures in all sheets", measured)
	}
}

func checkPerfect(t *testing.T, name string, m Movement) {
	t.Helper()
	seen := map[string]bool{}
	for _, x := range m.Measures {
		if seen[x.What] {
			t.Errorf("%s movement %d: %s is given twice", name, m.Number, x.What)
		}
		seen[x.What] = true
		if x.Value == nil {
			if x.Verdict != CannotTell || x.LimitedBy == "" {
				t.Errorf("%s movement %d %s: no value, but %q because %q", name, m.Number, x.What, x.Verdict, x.LimitedBy)
			}
			continue
		}
		if x.Verdict != OK && x.Verdict != CannotTell {
			t.Errorf("%s movement %d %s: %s (%.3f ± %.3f, asked %.3f) in a perfect ride", name, m.Number, x.What, x.Verdict, *x.Value, *x.Sigma, *x.Asked)
		}
		if x.Asked == nil {
			continue // the sheet asks nothing of it
		}
		if plain(x.What) == "halt duration" && *x.Value > *x.Asked {
			continue // longer than asked is no fault: the plan adds the salute
		}
		if off := math.Abs(*x.Value - *x.Asked); off > 3.5**x.Sigma {
			t.Errorf("%s movement %d %s: %.3f ± %.3f, asked %.3f", name, m.Number, x.What, *x.Value, *x.Sigma, *x.Asked)
		}
	}
}
