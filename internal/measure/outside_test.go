package measure_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"sort"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/track"
)

// conditions are the recorders of these rides. The noise is told to nobody but the class.
var conditions = []recorder{
	{class: "rtk", worn: "body", factor: 1, hz: 10}, {class: "uwb", worn: "pocket", factor: 1, hz: 10, heading: true},
	{class: "rtk", worn: "helmet", factor: 2, hz: 5}, {class: "sport", worn: "body", factor: 1, hz: 10},
	{class: "uwb", worn: "saddle", factor: 0.5, hz: 25, heading: true}, {class: "survey", worn: "body", factor: 1, hz: 20, heading: true},
	{class: "sport", worn: "helmet", factor: 2, hz: 10, jumps: true, heading: true}, {class: "phone", worn: "pocket", factor: 1, hz: 1},
	{class: "uwb", worn: "saddle", factor: 2, hz: 10, jumps: true}, {class: "rtk", worn: "helmet", factor: 1, hz: 10},
	{class: "survey", worn: "saddle", factor: 2, hz: 2, heading: true}, {class: "rtk", worn: "body", factor: 0.5, hz: 1},
}

// plainName takes the letter or number off a measure's name.
func plainName(what string) string {
	for what != "" {
		if _, ok := measure.ToleranceOf(what); ok {
			return what
		}
		i := strings.LastIndexByte(what, ' ')
		if i < 0 {
			return what
		}
		what = what[:i]
	}
	return what
}

// signless are the measures of which only the size is compared: docs/MEASURES.md gives no side.
var signless = map[string]bool{"evenness": true, "rein-back straightness": true, "angle": true, "halt approach": true}

// lined are the measures whose truth is taken over the stretch that they name.
var lined = map[string]bool{"centre line offset": true, "centre line drift": true, "line offset": true, "line drift": true, "speed": true,
	"turn overshoot": true, "halt approach": true}

// found is a measure beside its truth.
type found struct {
	measure.Measure
	name       string
	number     int
	truth, val float64
	known      bool
}

func (f found) z() float64 { return (f.val - f.truth) / *f.Sigma }

func (f found) holds() bool {
	least := strings.Contains(f.LimitedBy, "at least this long") && f.truth > f.val
	return math.Abs(f.z()) <= 1.96 || least
}

// wrong is a verdict that the truth clearly contradicts: by more than a tenth of the tolerance.
func (f found) wrong() bool {
	if !f.known || f.Verdict == measure.CannotTell || f.Asked == nil {
		return false
	}
	t, _ := measure.ToleranceOf(f.name)
	off, tol := f.truth-*f.Asked, *f.Tolerance
	if signless[f.name] && f.name != "angle" {
		off = math.Abs(off)
	}
	if f.Verdict == measure.OK {
		return t.High != "" && off > 1.1*tol || t.Low != "" && off < -1.1*tol
	}
	if f.val < *f.Asked {
		off = -off
	}
	return off < 0.9*tol
}

// review measures one ride and puts the truths beside the measures.
func (r *done) review(t *testing.T, c recorder, seed uint64) ([]found, *match.Ridden) {
	t.Helper()
	p := rideplan.CompileText("outside.sheet", r.sheet(), rideplan.Options{})
	for _, q := range p.Problems {
		if strings.EqualFold(fmt.Sprint(q.Severity), "error") {
			t.Fatalf("%s\n%s", q.Message, r.sheet())
		}
	}
	data, err := r.record(c, seed)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := track.Import(bytes.NewReader(data), track.ImportOptions{File: "outside.csv"})
	if err != nil {
		t.Fatal(err)
	}
	ridden, err := match.Align(context.Background(), p, rec, match.Options{Class: c.class, Recorder: c.worn})
	if err != nil {
		t.Fatalf("%s: %v", r.lines[0], err)
	}
	facts := r.truths(p)
	var out []found
	for _, mv := range measure.Ride(p, ridden, measure.Options{}) {
		for _, m := range mv.Measures {
			out = append(out, r.beside(m, mv.Number, facts, 1/c.hz))
		}
	}
	return out, ridden
}

// beside finds the truth of a measure: the nearest in time of its name.
func (r *done) beside(m measure.Measure, number int, facts []*fact, grid float64) found {
	f := found{Measure: m, name: plainName(m.What), number: number}
	if m.Value == nil {
		return f
	}
	f.val = *m.Value
	if signless[f.name] {
		f.val = math.Abs(f.val)
	}
	if lined[f.name] {
		f.truth, f.known = r.lineTruth(f.name, m, grid)
		return f
	}
	near := 5.0
	if strings.HasPrefix(f.name, "circle") || strings.HasPrefix(f.name, "loop") {
		near = 9
	}
	for _, x := range facts {
		if x.what != f.name || m.AtS == nil && x.number != number {
			continue
		}
		off := 0.0
		if m.AtS != nil {
			off = math.Abs(x.t - *m.AtS)
		}
		if off < near {
			near, f.truth, f.known = off, x.truth, true
			if x.half && m.FromS != nil { // where half a circle ends and the way back begins is not sharp
				f.truth = r.sizeOver(*m.FromS, *m.ToS)
			}
		}
	}
	if signless[f.name] {
		f.truth = math.Abs(f.truth)
	}
	return f
}

func (r *done) sizeOver(from, to float64) float64 {
	var ps []pt
	for i, t := range r.t {
		if t >= from && t <= to {
			ps = append(ps, pt{X: r.x[i], Y: r.y[i]})
		}
	}
	_, radius := roundest(ps)
	return 2 * radius
}

// rideOutside rides sheet i of a list under condition c.
func rideOutside(i int, sheets []sheetRidden, c int, round uint64) (*done, uint64) {
	s := sheets[i]
	seed := uint64(1000*i+c) + 100000*round + s.seed
	d := newDrawn("Ride by another hand "+s.name, s.length, seed)
	s.ride(d)
	return d.finish(), seed
}

// tallied is one row of the table.
type tallied struct {
	asked, valued, known, holds, judged, checked, wrong int
	zz                                                  float64
	sigmas                                              []float64
}

func (t *tallied) add(f found) {
	t.asked++
	if f.Value == nil {
		return
	}
	t.valued++
	if f.Verdict != measure.CannotTell {
		t.judged++
	}
	if !f.known {
		return
	}
	t.known++
	t.sigmas = append(t.sigmas, *f.Sigma)
	if f.holds() {
		t.holds++
	}
	t.zz += math.Min(f.z()*f.z(), 16)
	if f.Verdict != measure.CannotTell {
		t.checked++
		if f.wrong() {
			t.wrong++
		}
	}
}

func share(a, b int) string {
	if b == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f", 100*float64(a)/float64(b))
}

func printTallies(t *testing.T, rows map[string]*tallied) {
	t.Helper()
	var names []string
	for n := range rows {
		names = append(names, n)
	}
	sort.Strings(names)
	var b strings.Builder
	b.WriteString("\n| measure | asked | with a value % | truth known | 95 % interval holds % | with a verdict % | verdicts wrong % | usual doubt | error over doubt |\n|---|---|---|---|---|---|---|---|---|\n")
	for _, n := range names {
		r := rows[n]
		if r.known == 0 {
			continue
		}
		sort.Float64s(r.sigmas)
		fmt.Fprintf(&b, "| %s | %d | %s | %d | %s | %s | %s | %.2g | %.2f |\n", n, r.asked, share(r.valued, r.asked), r.known, share(r.holds, r.known),
			share(r.judged, r.asked), share(r.wrong, r.checked), r.sigmas[len(r.sigmas)/2], math.Sqrt(r.zz/float64(r.known)))
	}
	t.Log(b.String())
}

// TestRidesByAnotherHand measures a few rides of the second writer; with RINGCRAFT_OUTSIDE=N it rides
// all sheets of RINGCRAFT_SHEETS (the first twelve, "held" or "rare") N times under every condition and prints the table.
func TestRidesByAnotherHand(t *testing.T) {
	n, err := strconv.Atoi(os.Getenv("RINGCRAFT_OUTSIDE"))
	full := err == nil && n > 0
	sheets, some := firstSheets, 8
	if os.Getenv("RINGCRAFT_SHEETS") == "held" {
		sheets = heldSheets
	}
	if os.Getenv("RINGCRAFT_SHEETS") == "rare" {
		sheets = rareSheets
	}
	if full {
		some = len(sheets) * len(conditions) * n
	}
	rows, all, spans := map[string]*tallied{}, &tallied{}, &spanTally{}
	for k := range some {
		i, c, round := k%len(sheets), k/len(sheets)%len(conditions), uint64(k/(len(sheets)*len(conditions)))
		if !full {
			c = []int{0, 1, 3, 4, 5, 9, 0, 5}[k]
		}
		r, seed := rideOutside(i, sheets, c, round)
		list, ridden := r.review(t, conditions[c], seed)
		spans.add(r, ridden)
		for _, f := range list {
			if rows[f.name] == nil {
				rows[f.name] = &tallied{}
			}
			rows[f.name].add(f)
			all.add(f)
			if f.known && f.name == os.Getenv("RINGCRAFT_SHOW") {
				t.Logf("show sheet %s, recorder %d (%s %g Hz), movement %d %s: %.3f, give or take %.3f, true %.3f (%.1f): %s; %s", sheets[i].name, c, conditions[c].class, conditions[c].hz, f.number, f.What, f.val, *f.Sigma, f.truth, f.z(), f.Verdict, f.LimitedBy)
			}
			if f.known && (math.Abs(f.z()) > 3.5 && !f.holds() || f.wrong()) && os.Getenv("RINGCRAFT_WRONG") != "" {
				t.Logf("sheet %s, recorder %d (%+v), movement %d %s: %.3f, give or take %.3f, true %.3f (%.1f): %s; wrong %t; %s", sheets[i].name, c, conditions[c], f.number, f.What, f.val, *f.Sigma, f.truth, f.z(), f.Verdict, f.wrong(), f.LimitedBy)
			}
		}
	}
	if full {
		printTallies(t, rows)
	}
	t.Logf("%d rides, %d numbers with a known truth: %s %% inside, %s %% of %d verdicts wrong; %s", some, all.known, share(all.holds, all.known), share(all.wrong, all.checked), all.checked, spans)
	if all.known < 20*some || float64(all.holds) < 0.88*float64(all.known) {
		t.Errorf("95 %% intervals hold the truth in %s %% of %d numbers", share(all.holds, all.known), all.known)
	}
	if float64(all.wrong) > 0.02*float64(all.checked) {
		t.Errorf("%d of %d verdicts are wrong", all.wrong, all.checked)
	}
	if spans.near2 < spans.all*95/100 {
		t.Errorf("spans: %s", spans)
	}
}

// spanTally counts where movements begin.
type spanTally struct{ all, near1, near2 int }

func (s *spanTally) String() string {
	return fmt.Sprintf("%d starts of movements, %s %% within 1 s, %s %% within 2 s", s.all, share(s.near1, s.all), share(s.near2, s.all))
}

// add compares the start of each movement with when the ride passed where the plan begins it.
func (s *spanTally) add(r *done, ridden *match.Ridden) {
	p := rideplan.CompileText("outside.sheet", r.sheet(), rideplan.Options{})
	for _, x := range r.spans[1:] {
		s.all++
		mv := p.MovementByNumber(x.number)
		if mv == nil {
			continue
		}
		q := p.SampleAtM(mv.StartM).Point
		best, i := math.Inf(1), x.i
		for k := max(0, x.i-400); k < min(len(r.pts), x.i+400); k++ {
			if d := float64(r.pts[k].Dist(q)) + 0.1*math.Abs(r.s[k]-r.s[x.i]); d < best {
				best, i = d, k
			}
		}
		for _, y := range ridden.Spans {
			if y.Movement == x.number {
				if off := math.Abs(float64(y.Start) - r.timeAt(i)); off < 2 {
					s.near2++
					if off < 1 {
						s.near1++
					}
				}
			}
		}
	}
}
