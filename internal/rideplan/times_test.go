package rideplan

import (
	"math"
	"path/filepath"
	"sort"
	"testing"
)

// Predicted against published times, the table of docs/TIMES.md. The bound on the median is
// the aim for sheets nobody fitted to; the outlines are a weak check.
func TestTimes(t *testing.T) {
	var errs []float64
	for _, path := range sheetFiles(t) {
		p := compileFile(t, path, Options{})
		if p.PublishedS == 0 {
			continue
		}
		e := 100 * (float64(p.Total)/float64(p.PublishedS) - 1)
		t.Logf("%-40s published %3.0f s, predicted %5.1f s, %+.1f %%", filepath.Base(path), float64(p.PublishedS), float64(p.Total), e)
		errs = append(errs, math.Abs(e))
	}
	sort.Float64s(errs)
	if len(errs) < 4 {
		t.Fatalf("%d sheets with a time", len(errs))
	}
	if m := (errs[(len(errs)-1)/2] + errs[len(errs)/2]) / 2; m > 8 {
		t.Errorf("median error %.1f %%", m)
	}
}

// Pressure: needs over has, preparation before the demand, every demand with a source.
func TestDemands(t *testing.T) {
	for _, path := range sheetFiles(t) {
		p := compileFile(t, path, Options{})
		last := math.Inf(1)
		for _, d := range p.PressurePoints() {
			if d.Pressure > last || d.Source == "" || d.Has <= 0 || d.PrepareM > d.AtM+1e-6 || d.Letter == "" {
				t.Errorf("%s: movement %d: %+v", filepath.Base(path), d.Movement, d.Demand)
			}
			last = d.Pressure
			if want := math.Min(maxPressure, float64(d.Needs/d.Has)); math.Abs(want-d.Pressure) > 1e-9 {
				t.Errorf("pressure %.3f, want %.3f", d.Pressure, want)
			}
		}
		for _, m := range p.Movements {
			for _, a := range m.Accuracy {
				if a.Source == "" || a.Unit == "" || a.Tolerance < 0 {
					t.Errorf("%s: accuracy %+v", filepath.Base(path), a)
				}
			}
		}
	}
}

// A short way between two demands is tighter than a long one.
func TestPressureRisesWithHaste(t *testing.T) {
	press := func(second string) float64 {
		p := compileLines(t, Options{}, "1 A Working trot left", "2 F Circle left 10 m", "3 "+second+" Halt", "4 C Working trot")
		for _, d := range p.PressurePoints() {
			if d.Movement == 3 && d.What == "halt" {
				return d.Pressure
			}
		}
		t.Fatal("no halt")
		return 0
	}
	if a, b := press("P"), press("M"); a <= b {
		t.Errorf("halt at P %.2f, at M %.2f", a, b)
	}
}

// A sequence that always follows is a habit; another order breaks one and still compiles.
func TestHabits(t *testing.T) {
	l := lines("1 A Working trot left", "2 F-B Shoulder-in left", "3 C Circle left 20 m", "4 E Volte left 8 m", "5 F-B Shoulder-in left", "6 C Circle left 20 m",
		"7 A Circle left 15 m", "8 E Volte left 8 m", "9 A Circle left 15 m", "10 A Down the centre line", " X Halt, salute")
	p := CompileText("t", l, Options{})
	noErrors(t, p)
	found := false
	for _, h := range p.Habits() {
		found = found || h.What == "shoulder-in" && h.Follows == "circle 20 m" && len(h.Places) == 2
	}
	if !found {
		t.Errorf("no habit of shoulder-in and circle: %v", p.Habits())
	}
	r, ok := Reorder(parse(l), Options{})
	if !ok || len(r.Broken) == 0 || len(r.Reasons) == 0 {
		t.Fatalf("no other order: %+v", r)
	}
	q := Compile(r.File, Options{})
	noErrors(t, q)
	if len(q.Habits()) >= len(p.Habits()) || len(q.Movements) != len(p.Movements) {
		t.Errorf("the other order has %d habits, the sheet %d", len(q.Habits()), len(p.Habits()))
	}
}

// Same input, same bytes.
func TestCompileIsDeterministic(t *testing.T) {
	for _, path := range sheetFiles(t) {
		if a, b := compileFile(t, path, Options{}).Text(), compileFile(t, path, Options{}).Text(); a != b {
			t.Errorf("%s compiles differently the second time", path)
		}
	}
}

// Data: every entry names its source.
func TestDataHasSources(t *testing.T) {
	for k, v := range timing {
		if v.Source == "" || v.Value <= 0 {
			t.Errorf("timing %s: %+v", k, v)
		}
	}
	for _, l := range levels {
		if l.Source == "" || l.Corner <= 0 {
			t.Errorf("level %s: %+v", l.Name, l)
		}
	}
	for _, n := range needs {
		if n.Source == "" || n.Strides == 0 && n.Seconds == 0 {
			t.Errorf("need %+v", n)
		}
	}
}
