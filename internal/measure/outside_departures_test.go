package measure_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/track"
)

// plainly rides a short sheet without faults, but for what a scenario does at its places.
type plainly struct {
	scale                                         float64
	before                                        func(d *drawn) // until the ride stands before A, or comes to it
	atC, insteadOfE, afterB, afterB2, afterSalute func(d *drawn)
}

func (s plainly) ride(d *drawn) {
	do := func(f func(d *drawn)) {
		if f != nil {
			f(d)
		}
	}
	d.scale = 1
	if s.scale > 0 {
		d.scale = s.scale
	}
	if s.before != nil {
		s.before(d)
	} else {
		d.begin("working trot", 0)
	}
	d.box("A", "Enter in working trot")
	d.to(0, 20)
	d.dir = up
	d.more("X", "Halt, salute. Proceed in working trot")
	d.halt("X", 5)
	d.to(0, 33)
	d.more("C", "Track left")
	do(s.atC)
	d.rein = left
	d.fillet(pt{Y: 39.2}, math.Pi, 3.5)
	d.on("E", "Circle left 20 m")
	if s.insteadOfE != nil {
		s.insteadOfE(d)
	} else {
		d.arc(left, 2*math.Pi, 9.2, 0, 0, pt{})
	}
	d.on("A", "Medium walk")
	d.pace("medium walk", 1, 0)
	d.corner = 3.4
	d.changeRein("F", "H")
	d.on("C", "Working trot")
	d.pace("working trot", 1, 0)
	d.on("B", "Circle right 20 m")
	d.arc(right, 2*math.Pi, 9.2, 0, 0, pt{})
	do(s.afterB)
	do(s.afterB2)
	d.centreLine("A")
	d.to(0, 34)
	d.dir = up
	d.more("G", "Halt, salute")
	d.halt("G", 5)
	d.resume("medium walk")
	if s.afterSalute != nil {
		s.afterSalute(d)
	} else {
		d.to(0.01, 37)
	}
}

// outsideThenIn walks and trots about outside before it comes in at A.
func outsideThenIn(d *drawn) {
	d.put(pt{X: -14, Y: 10}, 0, math.NaN())
	d.dir = up
	d.pace("medium walk", 1, 0).sudden = true
	d.to(-14, 45)
	d.arc(right, math.Pi, 2.5, 0, 0, pt{})
	d.to(-9, -4)
	d.pace("working trot", 1, 0).unasked = true
	d.to(-9, -6)
	d.arc(left, up, 4, 0, 0, pt{})
	d.to(-4, d.pos().Y)
	d.fillet(pt{Y: d.pos().Y}, up, 3.5)
	d.to(0, 0)
}

// roundsInside warms up on the track, leaves over A, turns and comes in.
func roundsInside(d *drawn) {
	d.put(pt{Y: inset}, 0, math.NaN())
	d.dir, d.rein = 0, left
	d.pace("working trot", 1, 0).sudden = true
	for _, l := range []string{"E", "B", "E"} {
		d.follow(l)
	}
	d.followTo(pt{X: -5.2})
	d.dir = 0
	d.fillet(pt{Y: d.pos().Y}, down, 3)
	d.to(0, -8)
	d.arc(left, math.Pi, 2.5, 0, 0, pt{})
	d.to(d.pos().X, -3)
	d.to(0, 0)
	d.dir = up
}

// walkAbout leaves the last halt by the track; long goes on for two minutes, partly in trot.
func walkAbout(long bool) func(d *drawn) {
	return func(d *drawn) {
		d.rein = left
		d.to(0, 35)
		d.fillet(pt{Y: 39.2}, math.Pi, 3)
		d.follow("E")
		d.follow("B")
		d.follow("E")
		if long {
			d.pace("working trot", 1, 0).unasked = true
			d.follow("B")
			d.follow("E")
			d.followTo(pt{X: -5})
		}
	}
}

// TestDeparturesByAnotherHand rides one sheet as it is and otherwise: starts of movements lie within
// two seconds of the truth, and what was done otherwise is said.
func TestDeparturesByAnotherHand(t *testing.T) {
	wrongTurn := func(d *drawn) {
		d.rein = right
		d.fillet(pt{Y: 39.2}, 0, 4)
		d.follow("B")
		d.halt("B", 4)
		d.arc(right, math.Pi, 4, 0, 0, pt{})
		d.to(1.2, 34)
		d.to(0, 35.5)
		d.dir = up
	}
	again := func(d *drawn) {
		d.to(side9, d.pos().Y)
		d.dir = down
		d.spans = append(d.spans, spanAt{d.number, d.last()}) // either is the movement
		d.arc(right, 2*math.Pi, 9.2, 0, 0, pt{})
	}
	stopAtF := func(d *drawn) {
		d.follow("F")
		d.halt("F", 9)
	}
	none := func(d *drawn) {}
	for _, c := range []struct {
		name  string
		how   plainly
		said  string // kind of departure and movement
		blank int    // movement that is not ridden
	}{
		{"as it is", plainly{}, "", 0},
		{"slowly", plainly{scale: 0.72}, "", 0},
		{"fast", plainly{scale: 1.3}, "", 0},
		{"a circle left out", plainly{insteadOfE: none}, "left out 2", 2},
		{"a circle ridden twice", plainly{afterB: again}, "ridden again 6", 0},
		{"a stop of nine seconds", plainly{afterB2: stopAtF}, "stopped 6", 0},
		{"a wrong turn at C, back after the bell", plainly{atC: wrongTurn}, "", 0},
		{"about outside before A", plainly{before: outsideThenIn}, "", 0},
		{"two rounds inside before", plainly{before: roundsInside}, "", 0},
		{"walks on after the salute", plainly{afterSalute: walkAbout(false)}, "", 0},
		{"walks and trots on for two minutes", plainly{afterSalute: walkAbout(true)}, "", 0},
	} {
		for _, class := range []string{"rtk", "sport"} {
			d := newDrawn("Departure", 40, 9)
			c.how.ride(d)
			checkDeparture(t, c.name+", "+class, d.finish(), recorder{class: class, worn: "body", factor: 1, hz: 10}, c.said, c.blank)
		}
	}
}

func checkDeparture(t *testing.T, name string, r *done, c recorder, said string, blank int) {
	t.Helper()
	data, err := r.record(c, 3)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := track.Import(bytes.NewReader(data), track.ImportOptions{File: "outside.csv"})
	if err != nil {
		t.Fatal(err)
	}
	p := rideplan.CompileText("outside.sheet", r.sheet(), rideplan.Options{})
	ridden, err := match.Align(context.Background(), p, rec, match.Options{Class: c.class})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	starts := map[int]float64{}
	for _, s := range ridden.Spans {
		starts[s.Movement] = float64(s.Start)
	}
	near, when := map[int]bool{blank: true}, map[int]float64{}
	for _, x := range r.spans {
		got, ok := starts[x.number]
		when[x.number] = r.timeAt(r.nearest(p.SampleAtM(p.MovementByNumber(x.number).StartM).Point, x.i))
		near[x.number] = near[x.number] || ok && math.Abs(got-when[x.number]) <= 2
	}
	for n := 1; n <= len(p.Movements); n++ {
		if !near[n] {
			t.Errorf("%s: movement %d begins at %.1f s, ridden at %.1f s", name, n, starts[n], when[n])
		}
	}
	var words []string
	for _, x := range ridden.Departures {
		words = append(words, fmt.Sprintf("%s %d", x.Kind, x.Movement))
	}
	if said != "" && !strings.Contains(strings.Join(words, "; "), said) {
		t.Errorf("%s: %q is not among the departures %q", name, said, words)
	}
}

// nearest is the point of the path near i that comes nearest to a place.
func (r *done) nearest(q pt, i int) int {
	best, at := math.Inf(1), i
	for k := max(0, i-300); k < min(len(r.pts), i+200); k++ {
		if d := float64(r.pts[k].Dist(q)) + 0.1*math.Abs(r.s[k]-r.s[i]); d < best {
			best, at = d, k
		}
	}
	return at
}
