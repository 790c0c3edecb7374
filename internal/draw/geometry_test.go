package draw

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

func genLine(t *rapid.T) []Pt {
	n := rapid.IntRange(2, 40).Draw(t, "n")
	l := make([]Pt, n)
	for i := range l {
		l[i] = Pt{rapid.Float64Range(0, 100).Draw(t, "x"), rapid.Float64Range(0, 100).Draw(t, "y")}
	}
	return l
}

func lengthOf(l []Pt) float64 {
	sum := 0.0
	for i := 1; i < len(l); i++ {
		sum += dist(l[i-1], l[i])
	}
	return sum
}

// Brute-force twin of dashes: walk the line in small steps and ask whether each is on.
func TestDashesCoverWhatThePatternSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := genLine(t)
		pattern := []float64{}
		for i := 2 * rapid.IntRange(1, 4).Draw(t, "beats"); i > 0; i-- {
			pattern = append(pattern, rapid.Float64Range(0.3, 9).Draw(t, "dash"))
		}
		period := 0.0
		for _, d := range pattern {
			period += d
		}
		want, total := 0.0, lengthOf(l)
		for full := 0.0; full < total; full += period {
			at := full
			for i, d := range pattern {
				if i%2 == 0 {
					want += math.Max(0, math.Min(at+d, total)-math.Min(at, total))
				}
				at += d
			}
		}
		got := 0.0
		for _, d := range dashes(l, pattern) {
			got += lengthOf(d)
		}
		if math.Abs(got-want) > 1e-6*(1+total) {
			t.Fatalf("dashes cover %.6f, want %.6f of %.6f", got, want, total)
		}
	})
}

func TestSimplifyStaysNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, tol := genLine(t), rapid.Float64Range(0, 30).Draw(t, "tol")
		s := simplify(l, tol)
		if s[0] != l[0] || s[len(s)-1] != l[len(l)-1] {
			t.Fatal("an end moved")
		}
		for _, p := range l {
			best := math.Inf(1)
			for i := 1; i < len(s); i++ {
				best = math.Min(best, offLine(p, s[i-1], s[i]))
			}
			if best > tol+1e-9 {
				t.Fatalf("a point lies %.3f off, tolerance %.3f", best, tol)
			}
		}
	})
}

func TestFrameMapsTheArena(t *testing.T) {
	f := newFrame(arena.Standard60, 0, 0, 90)
	a, c, b := f.pt(arena.Point{}), f.pt(arena.Point{Y: 60}), f.pt(arena.Point{X: 10, Y: 30})
	if !(a.Y > c.Y) || a.X != c.X {
		t.Errorf("A %v is not below C %v", a, c)
	}
	if !(b.X > a.X) {
		t.Errorf("B %v is not to the right", b)
	}
	if got := dist(a, c) / f.k; math.Abs(got-60) > 1e-9 {
		t.Errorf("A to C is %.3f m", got)
	}
}

// Lines ridden once stay where they are; the same line ridden again is moved by a lane and
// stays inside the boards; no move jumps.
func TestLanes(t *testing.T) {
	h := newHand("twice round", arena.Standard60)
	h.at = arena.Pose{Point: arena.Point{X: 9.2, Y: 4}, Heading: arena.Degrees(90)}
	h.movement(1, "", "round")
	for lap := 0; lap < 2; lap++ {
		for side := 0; side < 2; side++ {
			h.ride(arena.Line(h.at.Point, h.at.Point.Add(h.at.Heading.Unit().Mul(52))))
			h.arc(3.2, 90)
			h.ride(arena.Line(h.at.Point, h.at.Point.Add(h.at.Heading.Unit().Mul(12))))
			h.arc(3.2, 90)
		}
	}
	p := h.done()
	moves := lanes(p.Samples, p.Board)
	half := float64(p.Length) / 2
	for i, s := range p.Samples {
		m := float64(moves[i].Norm())
		if float64(s.M) < half-4 && m > 1e-9 {
			t.Fatalf("first lap moved %.2f m at %.1f m", m, float64(s.M))
		}
		if float64(s.M) > half+10 && math.Abs(m-laneWidth) > 0.12 {
			t.Fatalf("second lap moved %.2f m at %.1f m, want %.2f", m, float64(s.M), laneWidth)
		}
		if q := s.Point.Add(moves[i]); !p.Board.Contains(q, 0.5) {
			t.Fatalf("moved outside the track to %v", q)
		}
		if i > 0 && float64(moves[i].Sub(moves[i-1]).Norm()) > 0.2 {
			t.Fatalf("the move jumps at %.1f m", float64(s.M))
		}
	}
}

func TestLanesLeaveASingleLineAlone(t *testing.T) {
	h := newHand("once", arena.Small40)
	h.movement(1, "", "centre line and round")
	h.to(0, 34)
	h.arc(5, 90)
	h.arc(4, 90)
	h.to(-9, 6)
	p := h.done()
	for i, m := range lanes(p.Samples, p.Board) {
		if m.Norm() > 1e-9 {
			t.Fatalf("sample %d moved by %v", i, m)
		}
	}
}

// The body mark points to the side on which the forehand is, and its ribs to the outside of
// the bend.
func TestBodyMark(t *testing.T) {
	for _, c := range []struct {
		side, bend     rideplan.Hand
		headX, middleX float64 // sign on paper for a horse going from A to C
	}{
		{rideplan.Left, rideplan.NoHand, -1, 0},
		{rideplan.Right, rideplan.NoHand, 1, 0},
		{rideplan.Left, rideplan.Left, -1, 1},
		{rideplan.Right, rideplan.Right, 1, -1},
	} {
		p := &rideplan.Plan{Board: arena.Standard60, Samples: []rideplan.Sample{{Heading: arena.Degrees(90), Angle: arena.Degrees(30), Side: c.side, Bend: c.bend, Variety: gait.CollectedTrot}}}
		pl := newPlotter(newFrame(p.Board, 0, 0, 90), p, Options{})
		bar := pl.body(0)
		tail, mid, head := bar[0], bar[len(bar)/2], bar[len(bar)-1]
		if got := head.X - tail.X; got*c.headX <= 0 || head.Y >= tail.Y {
			t.Errorf("%s: head at %v, tail at %v", c.side, head, tail)
		}
		off := mid.X - (head.X+tail.X)/2
		if c.middleX == 0 && math.Abs(off) > 1e-9 || off*c.middleX < 0 || (c.middleX != 0 && off == 0) {
			t.Errorf("%s bent %q: ribs %.2f mm to the side", c.side, c.bend, off)
		}
		length := dist(tail, head) / pl.k
		if want := math.Max(bodyLength, 3.4/pl.k); math.Abs(length-want) > 0.01 {
			t.Errorf("body is %.2f m long, want %.2f", length, want)
		}
	}
}

// Blocks of the strip end at the second of their demand and begin Needs before it.
func TestStripTimes(t *testing.T) {
	p := willow()
	s := Strip(p, StripOptions{Width: 180})
	ax := timeAxis{t1: float64(p.Total), x0: 7, x1: 177}
	var demands []rideplan.Demand
	for _, m := range p.Movements {
		demands = append(demands, m.Demands...)
	}
	i := 0
	var walk func(items []Item)
	walk = func(items []Item) {
		for _, it := range items {
			g, ok := it.(*Group)
			if !ok {
				continue
			}
			if g.Class == "demand" {
				b := g.Items[0].(Path).Lines[0]
				d := demands[i]
				if math.Abs(b[1].X-ax.x(float64(d.At))) > 1e-9 || math.Abs(b[0].X-ax.x(float64(d.At-d.Needs))) > 1e-9 {
					t.Errorf("block %d stands from %.2f to %.2f mm", i, b[0].X, b[1].X)
				}
				i++
			}
			walk(g.Items)
		}
	}
	walk(s.Items)
	if i != len(demands) {
		t.Errorf("%d blocks for %d demands", i, len(demands))
	}
}

// What is broken or empty must not break a drawing.
func TestEmptyPlans(t *testing.T) {
	nan := math.NaN()
	ridden := &Overlay{Label: "ridden", Points: []OverlayPoint{{Point: arena.Point{X: nan}}, {Point: arena.Point{X: 1, Y: 2}, HalfWidth: nan}, {Point: arena.Point{X: 1, Y: 3}, HalfWidth: 1e9}}}
	for _, p := range []*rideplan.Plan{{}, {Board: arena.Small40}, {Movements: []rideplan.Movement{{Number: 1}}}} {
		for _, s := range []*Scene{Plan(p, Options{Legend: true, Ridden: ridden}), Plan(p, Options{Movement: 9}), Strip(p, StripOptions{}), Multiples(p, MultiplesOptions{}), StagesScene(p, MultiplesOptions{}), Signature(p, 46),
			Over(p, "speed", "m/s", []Series{{Values: []Value{{nan, nan, nan}}}}, StripOptions{}), Trend("t", "", nil, 0)} {
			svg, pdf, _ := render(t, s)
			if len(svg) == 0 || len(pdf) == 0 {
				t.Error("no output")
			}
			for _, bad := range []string{"NaN", "Inf"} {
				if containsBytes(svg, bad) {
					t.Errorf("%s in the SVG", bad)
				}
			}
		}
	}
}

func containsBytes(b []byte, s string) bool {
	for i := 0; i+len(s) <= len(b); i++ {
		if string(b[i:i+len(s)]) == s {
			return true
		}
	}
	return false
}

// A lying arena is the standing one turned by a quarter: every distance is kept, left stays
// left, A lies at the left and the side of B, from where it is seen, at the bottom.
func TestLyingArenaIsTurned(t *testing.T) {
	f := newLyingFrame(arena.Standard60, 0, 0, 120)
	a, c, b := f.pt(arena.Point{}), f.pt(arena.Point{Y: 60}), f.pt(arena.Point{X: 10, Y: 30})
	if a.Y != c.Y || !(a.X < c.X) || !(b.Y > a.Y) {
		t.Errorf("A %v, C %v, B %v", a, c, b)
	}
	rapid.Check(t, func(t *rapid.T) {
		gen := func(name string) arena.Point {
			return arena.Point{X: rapid.Float64Range(-10, 10).Draw(t, name+" x"), Y: rapid.Float64Range(0, 60).Draw(t, name+" y")}
		}
		p, q := gen("p"), gen("q")
		if got, want := dist(f.pt(p), f.pt(q))/f.k, math.Hypot(p.X-q.X, p.Y-q.Y); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%g m on paper, %g m in the arena", got, want)
		}
		h := arena.Degrees(rapid.Float64Range(-180, 180).Draw(t, "heading"))
		d, left := f.dir(h), f.dir(h+arena.Degrees(90))
		if dist(left, Pt{d.Y, -d.X}) > 1e-9 {
			t.Fatalf("left of %v is %v", d, left)
		}
	})
	lo, hi := f.corners()
	if s := Plan(willow(), Options{Lying: true, Width: 120}); s.H > 70 || hi.X <= lo.X {
		t.Errorf("the picture is %.0f mm high", s.H)
	}
}
