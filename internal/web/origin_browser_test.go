package web

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ringcraft/internal/arena"
	"ringcraft/internal/logbook"
)

// lit is what a page shows of one number.
type lit struct {
	N      int       `json:"n"`
	What   string    `json:"what"`
	Line   string    `json:"line"`  // path of what is lit
	Asked  string    `json:"asked"` // path of what the plan asks there
	Value  string    `json:"value"` // the slider in words
	Shown  string    `json:"shown"` // the status for a screen reader
	Done   string    `json:"done"`
	Beside string    `json:"beside"` // the number on the drawing
	Frame  []float64 `json:"frame"`  // k, ox, oy, w, l of the drawing
}

const litEach = `[...document.querySelectorAll("button.number")].map((b) => {
	window.ringcraftScrubber.go(0);
	b.click();
	const path = (name) => document.querySelector(".lit-" + name).getAttribute("d"), text = (sel) => document.querySelector(sel).textContent;
	const f = document.querySelector("[data-scrub-drawing] svg").dataset;
	return { n: Number(b.dataset.n), what: b.dataset.what, line: path("line"), asked: path("asked"), value: document.querySelector("[data-scrub-range]").getAttribute("aria-valuetext"),
		shown: text('[data-out="shown"]'), done: text('[data-out="done"]'), beside: text(".lit-words"), frame: [f.k, f.ox, f.oy, f.w, f.l].map(Number) };
})`

// TestNumberLightsWhatItIsMadeOf presses every number of a ride and compares what is lit on the line
// with the interval that the measure carries: the points of the ride between its first and last
// second and no others, a cross where it is one place. The plan's own place stands beside it.
func TestNumberLightsWhatItIsMadeOf(t *testing.T) {
	b := demoYard(t)
	rev, err := b.ReviewOf(ctx, "demo-quillon-1")
	if err != nil {
		t.Fatal(err)
	}
	c, srv := tab(t, site(t, b), 1280)
	do(t, c, chromedp.Navigate(srv.URL+"/rides/demo-quillon-1"), chromedp.WaitVisible("[data-scrub-range]"))
	all := ask[[]lit](t, c, litEach)
	if len(all) < 25 {
		t.Fatalf("only %d numbers", len(all))
	}
	points, arcs, shorter := 0, 0, 0
	for _, l := range all {
		m := measureOf(t, rev, l.N, l.What)
		ridden := riddenBetween(rev.Line, *m.FromS, *m.ToS)
		name := fmt.Sprintf("movement %d, %s, %.1f to %.1f s", l.N, l.What, *m.FromS, *m.ToS)
		ps := l.points(t, l.Line)
		if strings.Contains(l.Line, "m0") { // a cross
			points++
			if d := ridden[len(ridden)/2].Dist(ps[0]); float64(d) > 0.6 {
				t.Errorf("%s: the cross is %.2f m off", name, float64(d))
			}
			if at := rev.Plan.SampleAtM(arena.Metres(*m.AtM)).Point; math.Abs(float64(at.Dist(l.points(t, l.Asked)[1]))) > 0.1 {
				t.Errorf("%s: the ring is not where it was asked", name)
			}
		} else {
			arcs++
			ps = ps[:len(ps)-4] // the bars at its ends
			if d0, d1 := ridden[0].Dist(ps[0]), ridden[len(ridden)-1].Dist(ps[len(ps)-1]); d0 > 0.1 || d1 > 0.1 {
				t.Errorf("%s: lit from and to %.2f and %.2f m beside its ends", name, float64(d0), float64(d1))
			}
			if len(ps) != len(ridden) {
				t.Errorf("%s: %d points are lit, %d lie in the interval", name, len(ps), len(ridden))
			}
			if mv := rev.Doc.Movements[l.N-1]; *m.ToS-*m.FromS < 0.8*(*mv.EndS-*mv.StartS) {
				shorter++
			}
			if l.Asked == "" {
				t.Errorf("%s: nothing shows what was asked there", name)
			}
		}
		from, to := clockOf(hundredths(*m.FromS)), clockOf(hundredths(*m.ToS))
		for _, words := range []string{l.Done, l.Shown, l.Value} {
			if !strings.Contains(words, from) || !strings.Contains(words, to) {
				t.Errorf("%s: %q says not when", name, words)
			}
		}
		if !strings.HasPrefix(strings.ToLower(l.Shown), strings.ToLower(l.What)) || l.Beside == "" {
			t.Errorf("%s: status %q, on the drawing %q", name, l.Shown, l.Beside)
		}
	}
	if points == 0 || arcs < 15 || shorter < arcs/2 {
		t.Errorf("%d places, %d stretches, %d of them well inside their movement", points, arcs, shorter)
	}
	lookAt(t, c, "number.png")

	// The keyboard: reaching a number lights it, leaving it for the next lights that one, and the slider shows the whole again.
	ask[bool](t, c, `(document.querySelector("button.number").focus(), true)`)
	do(t, c, chromedp.KeyEvent(kb.Tab))
	until(t, c, `(() => { const b = document.activeElement; return b.matches("button.number") && window.ringcraftScrubber.chosen.what === b.dataset.what && document.querySelector(".lit-line").getAttribute("d") !== ""; })()`)
	do(t, c, chromedp.Focus("[data-scrub-range]"), chromedp.KeyEvent(kb.ArrowRight))
	until(t, c, `document.querySelector(".lit-line").getAttribute("d") === "" && !document.querySelector(".rc-drawing.focus") && !document.querySelector("button.number[aria-current]")`)
}

var coordinates = regexp.MustCompile(`[ML](-?[\d.]+) (-?[\d.]+)`)

// points are the corners of a path in the arena frame.
func (l lit) points(t *testing.T, path string) []arena.Point {
	t.Helper()
	var out []arena.Point
	k, ox, oy, w, length := l.Frame[0]/100, l.Frame[1], l.Frame[2], l.Frame[3], l.Frame[4]
	for _, m := range coordinates.FindAllStringSubmatch(path, -1) {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		out = append(out, arena.Point{X: (x-ox)/k - w/2, Y: length - (y-oy)/k})
	}
	if strings.Contains(path, "m0") { // of a cross the middle: its first arm begins 2.4 left and above it
		out[0] = out[0].Add(arena.Point{X: 2.4 / k, Y: -2.4 / k})
	}
	return out
}

func measureOf(t *testing.T, rev *logbook.Review, n int, what string) logbook.Measure {
	t.Helper()
	for _, m := range rev.Doc.Movements[n-1].Measures {
		if m.What == what {
			if mv := rev.Doc.Movements[n-1]; m.FromS == nil { // put together from several places: the movement's
				m.FromS, m.ToS = mv.StartS, mv.EndS
			}
			return m
		}
	}
	t.Fatalf("no measure %q in movement %d", what, n)
	return logbook.Measure{}
}

// riddenBetween are the places of the ride from one second to another, both ends included.
func riddenBetween(line []logbook.RiddenPoint, from, to float64) []arena.Point {
	at := func(t float64) arena.Point {
		for i := 1; i < len(line); i++ {
			if line[i].T >= t {
				a, b := line[i-1], line[i]
				return arena.Point{X: a.X, Y: a.Y}.Lerp(arena.Point{X: b.X, Y: b.Y}, (t-a.T)/(b.T-a.T))
			}
		}
		return arena.Point{}
	}
	from, to = hundredths(from), hundredths(to)
	out := []arena.Point{at(from)}
	for _, q := range line {
		if q.T >= from && q.T <= to {
			out = append(out, arena.Point{X: q.X, Y: q.Y})
		}
	}
	return append(out, at(to))
}
