package rideplan

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/testkit"
)

// sheetFiles lists every sheet file of the project, the wordings among them.
func sheetFiles(t testing.TB) []string {
	t.Helper()
	root := testkit.Root(t)
	var out []string
	for _, p := range []string{"sheets/*.sheet", "sheets/*/*.sheet", "internal/rideplan/testdata/wordings/*.sheet"} {
		m, err := filepath.Glob(filepath.Join(root, p))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, m...)
	}
	sort.Strings(out)
	if len(out) < 12 {
		t.Fatalf("only %d sheets found", len(out))
	}
	return out
}

func compileFile(t testing.TB, path string, o Options) *Plan {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return CompileText(filepath.Base(path), string(b), o)
}

func at(inset float64) Options { return Options{Inset: &inset} }

// lines joins the lines of a sheet under a 20 x 60 header.
func lines(l ...string) string {
	return "name: t\narena: 20 x 60\n" + strings.Join(l, "\n") + "\n"
}

func compileLines(t testing.TB, o Options, l ...string) *Plan {
	t.Helper()
	return CompileText("t", lines(l...), o)
}

// noErrors fails on any problem of severity error.
func noErrors(t testing.TB, p *Plan) {
	t.Helper()
	for _, q := range p.Problems {
		if q.Severity == sheet.Error {
			t.Errorf("%s", q)
		}
	}
}

// checkLine checks the promises of the line: numbered as in docs/SHEET-LANGUAGE.md.
func checkLine(t testing.TB, name string, p *Plan) {
	t.Helper()
	r := &recorder{}
	checkInto(r, p)
	if r.first != "" {
		t.Errorf("%s: %s", name, r.first)
	}
}

// recorder keeps the first broken promise.
type recorder struct{ first string }

func (r *recorder) Errorf(format string, args ...any) {
	if r.first == "" {
		r.first = fmt.Sprintf(format, args...)
	}
}

func checkInto(t *recorder, p *Plan) {
	if len(p.Samples) == 0 {
		return
	}
	for i := 1; i < len(p.Path); i++ { // 1. no jump over 1 mm, 2. none in heading
		e, g := p.Path[i-1].End(), p.Path[i]
		if d := e.Point.Dist(g.Start); d > 1e-3 {
			t.Errorf("the line jumps %.4f m at %v", d, g.Start)
		}
		if h := math.Abs(g.Heading.Diff(e.Heading).Deg()); h > 0.01 && p.Path[i-1].Length > 0 { // a halt may turn
			t.Errorf("the heading jumps %.3f degrees at %v", h, g.Start)
		}
	}
	for i, s := range p.Samples { // 3. inside the boards
		if !p.Board.Contains(s.Point, -1e-5) {
			t.Errorf("outside the boards at %v, %.1f m", s.Point, s.M)
			break
		}
		if i == 0 {
			continue
		}
		checkStep(t, p.Samples[i-1], s, sheet.HasErrors(p.Problems))
	}
	checkSpans(t, p)
}

// checkStep: 4. samples at most 0.25 m apart, 5. time strictly rising, and the distance
// between two samples never more than the metres between them. Turns are wider than a metre
// of radius unless the sheet has an error.
func checkStep(t *recorder, a, b Sample, sharp bool) {
	d := float64(a.Point.Dist(b.Point))
	if d > 0.25+1e-9 || d > float64(b.M-a.M)+1e-3 {
		t.Errorf("step of %.4f m for %.4f m at %.2f m", d, b.M-a.M, b.M)
	}
	if b.T <= a.T {
		t.Errorf("time does not rise at %.3f s", b.T)
	}
	if h := math.Abs(b.Heading.Diff(a.Heading).Deg()); b.M-a.M > 1e-6 && h > float64(b.M-a.M)*60+0.1 && !sharp {
		t.Errorf("heading turns %.1f degrees in %.3f m at %.2f m", h, b.M-a.M, b.M)
	}
}

// checkSpans: 6. the boxes partition the line in order, 7. times add up.
func checkSpans(t *recorder, p *Plan) {
	var at gait.Seconds
	var m arena.Metres
	for _, v := range p.Movements {
		if math.Abs(float64(v.StartS-at)) > 1e-6 || math.Abs(float64(v.StartM-m)) > 1e-6 || v.EndS < v.StartS-1e-9 {
			t.Errorf("movement %d runs %.3f-%.3f s, %.3f-%.3f m after one that ends at %.3f s, %.3f m", v.Number, v.StartS, v.EndS, v.StartM, v.EndM, at, m)
		}
		at, m = v.EndS, v.EndM
		for _, f := range v.Figures {
			if f.EndS < f.StartS || f.EndM < f.StartM-1e-9 || f.EndS > p.Total+1e-6 {
				t.Errorf("%s of movement %d runs %.2f-%.2f s, %.2f-%.2f m", f.Kind, v.Number, f.StartS, f.EndS, f.StartM, f.EndM)
			}
		}
	}
	last := p.Samples[len(p.Samples)-1]
	if math.Abs(float64(at-p.Total)) > 1e-6 || math.Abs(float64(last.T-p.Total)) > 1e-6 {
		t.Errorf("boxes end at %.3f s, samples at %.3f s, total %.3f s", at, last.T, p.Total)
	}
}

// figures returns the figures of the kind over the whole plan.
func figures(p *Plan, kind string) []Figure {
	var out []Figure
	for _, m := range p.Movements {
		for _, f := range m.Figures {
			if string(f.Kind) == kind {
				out = append(out, f)
			}
		}
	}
	return out
}

func parse(text string) *sheet.File { return sheet.Parse("t", []byte(text)) }
