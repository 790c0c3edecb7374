package remarks

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// commentary is one file of the invented corpus with its hand-made labels.
type commentary struct {
	name   string
	plan   *rideplan.Plan
	cues   []Cue
	labels []label0
}

type label0 struct {
	atS       float64
	phase     string
	movements []int // empty: belongs to none
	faults    []terms.Fault
	text      string
}

func corpus(t testing.TB, pattern string) []commentary {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", "corpus", pattern+".labels.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no corpus %s: %v", pattern, err)
	}
	sort.Strings(files)
	var out []commentary
	for _, f := range files {
		out = append(out, readCommentary(t, f))
	}
	return out
}

func readCommentary(t testing.TB, labels string) commentary {
	t.Helper()
	c := commentary{name: strings.TrimSuffix(filepath.Base(labels), ".labels.csv")}
	sheetName := ""
	for _, r := range readRows(t, labels) {
		sheetName = r[0]
		l := label0{phase: r[2], text: r[5]}
		l.atS, _ = strconv.ParseFloat(r[1], 64)
		for _, m := range strings.FieldsFunc(r[3], func(r rune) bool { return r == ' ' || r == ',' }) {
			n, err := strconv.Atoi(m)
			if err != nil {
				t.Fatal(err)
			}
			l.movements = append(l.movements, n)
		}
		l.faults = faultList(t, r[4])
		c.labels = append(c.labels, l)
	}
	c.plan = corpusPlan(t, sheetName)
	for _, ext := range []string{".vtt", ".srt", ".txt"} {
		data, err := os.ReadFile(filepath.Join("testdata", "corpus", c.name+ext))
		if err != nil {
			continue
		}
		var problems []sheet.Problem
		c.cues, problems = Read(c.name+ext, data)
		if sheet.HasErrors(problems) {
			t.Fatal(problems)
		}
	}
	if len(c.cues) != len(c.labels) {
		t.Fatalf("%s: %d cues, %d labels", c.name, len(c.cues), len(c.labels))
	}
	return c
}

// readRows reads a table of the corpus without its heading.
func readRows(t testing.TB, file string) [][]string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return recs[1:]
}

// faultList reads faults parted by semicolons; one that is not in the vocabulary fails.
func faultList(t testing.TB, cell string) []terms.Fault {
	t.Helper()
	var out []terms.Fault
	for _, w := range strings.Split(cell, ";") {
		if w == "" {
			continue
		}
		if _, ok := terms.FaultByID(terms.Fault(w)); !ok {
			t.Fatalf("no fault %q", w)
		}
		out = append(out, terms.Fault(w))
	}
	return out
}

// tally is what placing got right.
type tally struct {
	inMovement, right, withinOne int // remarks of the test that belong to a movement
	none, noneLeft               int // remarks of the test that belong to none, rightly left out
	outside, outsideLeft         int // remarks outside the tests, rightly left out
	tp, fp, fn                   int // faults, over all remarks
	doubtful, doubtfulWrong      int
	sureWrong                    int
	phases, phaseRight           int // all remarks by the phase they were spoken in
}

func (a *tally) add(b tally) {
	a.inMovement, a.right, a.withinOne = a.inMovement+b.inMovement, a.right+b.right, a.withinOne+b.withinOne
	a.none, a.noneLeft = a.none+b.none, a.noneLeft+b.noneLeft
	a.outside, a.outsideLeft = a.outside+b.outside, a.outsideLeft+b.outsideLeft
	a.phases, a.phaseRight = a.phases+b.phases, a.phaseRight+b.phaseRight
	a.tp, a.fp, a.fn = a.tp+b.tp, a.fp+b.fp, a.fn+b.fn
	a.doubtful, a.doubtfulWrong, a.sureWrong = a.doubtful+b.doubtful, a.doubtfulWrong+b.doubtfulWrong, a.sureWrong+b.sureWrong
}

func pct(a, b int) float64 {
	if b == 0 {
		return 100
	}
	return 100 * float64(a) / float64(b)
}

func (a tally) String() string {
	p, r := pct(a.tp, a.tp+a.fp), pct(a.tp, a.tp+a.fn)
	f1 := 0.0
	if p+r > 0 {
		f1 = 2 * p * r / (p + r)
	}
	return fmt.Sprintf("movement %.1f %% within one %.1f %% (of %d); left unplaced: in the test %d of %d, outside %d of %d; faults precision %.1f recall %.1f F1 %.1f; doubtful %d (%d wrong), sure but wrong %d; phase %.1f %%",
		pct(a.right, a.inMovement), pct(a.withinOne, a.inMovement), a.inMovement, a.noneLeft, a.none, a.outsideLeft, a.outside, p, r, f1, a.doubtful, a.doubtfulWrong, a.sureWrong, pct(a.phaseRight, a.phases))
}

// grade compares placed remarks with the labels. tell, when not nil, gets each mistake.
func grade(c commentary, p Placed, tell func(string, ...any)) tally {
	type key struct{ at, text string }
	of := map[key]Remark{}
	k := func(at float64, text string) key { return key{fmt.Sprintf("%.2f", at), text} }
	for _, list := range [][]Remark{p.Elsewhere, p.Remarks, p.Again} {
		for _, r := range list {
			of[k(r.AtS, r.Text)] = r
		}
	}
	order := map[int]int{}
	for i, m := range c.plan.Movements {
		order[m.Number] = i
	}
	var a tally
	for i, l := range c.labels {
		r, ok := of[k(c.cues[i].StartS, c.cues[i].Text)]
		if !ok {
			tell("%s: remark lost: %q", c.name, l.text)
			continue
		}
		a.phases++
		if r.Phase == l.phase {
			a.phaseRight++
		} else if tell != nil {
			tell("%s %.0f s: %q heard in phase %q, was %q", c.name, l.atS, l.text, r.Phase, l.phase)
		}
		inTest := l.phase == Test || l.phase == TestAgain
		switch {
		case len(l.movements) > 0:
			a.inMovement++
			d := 99
			for _, m := range l.movements {
				if r.Movement != 0 {
					d = min(d, abs(order[r.Movement]-order[m]))
				}
			}
			if d == 0 {
				a.right++
			}
			if d <= 1 {
				a.withinOne++
			}
			if r.Doubtful {
				a.doubtful++
				if d != 0 {
					a.doubtfulWrong++
				}
			} else if d != 0 {
				a.sureWrong++
			}
			if d != 0 && tell != nil {
				tell("%s %.0f s: %q placed %d, belongs to %v (%.2f; %s)", c.name, l.atS, l.text, r.Movement, l.movements, r.Confidence, r.Why)
			}
		case inTest:
			a.none++
			if r.Movement == 0 {
				a.noneLeft++
			} else if tell != nil {
				tell("%s %.0f s: %q placed %d, belongs to none (%.2f; %s)", c.name, l.atS, l.text, r.Movement, r.Confidence, r.Why)
			}
		default:
			a.outside++
			if r.Movement == 0 {
				a.outsideLeft++
			} else if tell != nil {
				tell("%s %.0f s: %q placed %d, was outside the test (%s)", c.name, l.atS, l.text, r.Movement, r.Why)
			}
		}
		a.faultsOf(l, r, c.name, tell)
	}
	return a
}

func (a *tally) faultsOf(l label0, r Remark, name string, tell func(string, ...any)) {
	want := map[terms.Fault]bool{}
	for _, f := range l.faults {
		want[f] = true
	}
	bad := false
	for _, f := range r.Faults {
		if want[f] {
			a.tp++
			delete(want, f)
		} else {
			a.fp++
			bad = true
		}
	}
	a.fn += len(want)
	if (bad || len(want) > 0) && tell != nil {
		tell("%s %.0f s: %q faults %q, want %q (placed %d)", name, l.atS, l.text, r.Faults, l.faults, r.Movement)
	}
}
