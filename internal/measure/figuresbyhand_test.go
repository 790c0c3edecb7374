package measure

import (
	"math"
	"testing"

	"ringcraft/internal/arena"
)

// handLine is a line drawn by straights and arcs, without the plan and without the simulator.
type handLine []arena.Point

func (l *handLine) to(x, y float64) *handLine {
	from := (*l)[len(*l)-1]
	goal := arena.Point{X: x, Y: y}
	n := int(float64(goal.Dist(from)) / 0.05)
	for i := 1; i <= n; i++ {
		*l = append(*l, from.Lerp(goal, float64(i)/float64(n)))
	}
	return l
}

// arc goes about a centre by so many degrees, left positive.
func (l *handLine) arc(x, y, degrees float64) *handLine {
	c := arena.Point{X: x, Y: y}
	from := (*l)[len(*l)-1].Sub(c)
	r, a := float64(from.Norm()), float64(from.Heading())
	n := int(math.Abs(degrees) * math.Pi / 180 * r / 0.05)
	for i := 1; i <= n; i++ {
		*l = append(*l, c.Add(arena.Angle(a+degrees*math.Pi/180*float64(i)/float64(n)).Unit().Mul(r)))
	}
	return l
}

// round goes towards a corner and out of it on an arc of radius r that touches both ways.
func (l *handLine) round(x, y, nextX, nextY, r float64) *handLine {
	corner, from := arena.Point{X: x, Y: y}, (*l)[len(*l)-1]
	in, out := corner.Sub(from).Heading(), arena.Point{X: nextX, Y: nextY}.Sub(corner).Heading()
	turn := float64(out.Diff(in))
	back := in.Unit().Mul(r * math.Tan(math.Abs(turn)/2))
	start := corner.Sub(back)
	c := start.Add(in.Unit().Left().Mul(math.Copysign(r, turn)))
	return l.to(start.X, start.Y).arc(c.X, c.Y, turn*180/math.Pi)
}

// ridden puts an even speed and a standing at the end on a line.
func (l handLine) ridden(speed float64) handRide {
	h := handRide{t: []float64{0}, p: []arena.Point{l[0]}}
	for i := 1; i < len(l); i++ {
		h.t, h.p = append(h.t, h.t[i-1]+float64(l[i].Dist(l[i-1]))/speed), append(h.p, l[i])
	}
	last := len(h.t) - 1
	h.t, h.p = append(h.t, h.t[last]+6), append(h.p, h.p[last])
	return h
}

const handSheet = `name: Sedge Moor 3
arena: 20 x 60
1  A    Enter in collected trot
   C    Track left
2  A    Down the centre line
   D-G  Zig-zag, 3 half-passes left, right, left, 5 m either side
   C    Track right
3  B    Circle right 20 m
   B    Change through the circle
4  A    Down the centre line
   X    Halt, salute
`

// TestFiguresByHand draws a zig-zag that goes 6.1 m to the left and 4.9 m to the right, and a
// change through the circle of a 10.0 m and a 7.4 m half circle that meet 0.8 m past the middle.
// What must come back is read off the drawn line itself.
func TestFiguresByHand(t *testing.T) {
	l := handLine{{}}
	l.to(0, 55.2).arc(-4, 55.2, 90).to(-5.2, 59.2).arc(-5.2, 55.2, 90).to(-9.2, 4.8).arc(-5.2, 4.8, 90).to(-3, 0.8).arc(-3, 3.8, 90).to(0, 6)
	zig := len(l)
	l.round(-6.1, 19.5, 4.9, 42, 3).round(4.9, 42, 0, 54, 3).to(0, 54)
	zag := len(l)
	l.to(0, 55.2).arc(4, 55.2, -90).to(5.2, 59.2).arc(5.2, 55.2, -90).to(9.2, 30).arc(0, 30, -360)
	l.arc(4.2, 30, -180).arc(-4.5, 30, 180).to(-8.2, 30).arc(0.5, 30, 180)
	l.to(9.2, 55.2).arc(5.2, 55.2, 90).to(-5.2, 59.2).arc(-5.2, 55.2, 90).to(-9.2, 4.8).arc(-5.2, 4.8, 90).to(-3, 0.8).arc(-3, 3.8, 90).to(0, 30)
	left, leftAt := topByHand(l[zig:zag], -1)
	right, rightAt := topByHand(l[zig:zag], 1)
	if math.Abs(left-6.1) > 0.35 || math.Abs(right-4.9) > 0.35 {
		t.Fatalf("drawn wrongly: %.2f m to the left, %.2f m to the right", left, right)
	}
	p := compiled(t, handSheet)
	h := l.ridden(3.2)
	for _, n := range []struct {
		rate, white float64
		class       string
	}{{10, 0.01, "survey"}, {10, 0.05, "rtk"}, {5, 0.1, ""}} {
		set := measuredByHand(t, p, h.csv(n.rate, n.white, 0, 5), n.class)
		for _, w := range []struct {
			movement int
			what     string
			truth    float64
			fault    string
		}{
			{2, "turning point left", left, "too far to the side"}, {2, "turning point right", right, OK},
			{2, "turning point place left", leftAt - 18, OK}, {2, "turning point place right", rightAt - 42, OK},
			{2, "sides difference", left - right, "further to the left"},
			{3, "circle diameter first half", 10, "too large"}, {3, "circle diameter second half", 7.4, "too small"},
			{3, "circle halves difference", 2.6, "first one larger"}, {3, "circle change place", 0.8, "past the middle"},
		} {
			m := find(set.Of(w.movement), w.what)
			if m == nil || m.Value == nil {
				t.Errorf("%+v: no %s", n, w.what)
				continue
			}
			t.Logf("%+v: %s %.3f ± %.3f, drawn %.3f: %s", n, w.what, *m.Value, *m.Sigma, w.truth, m.Verdict)
			if off := math.Abs(*m.Value - w.truth); off > 3**m.Sigma+0.02 {
				t.Errorf("%+v: %s %.3f ± %.3f, drawn %.3f", n, w.what, *m.Value, *m.Sigma, w.truth)
			}
			if m.Verdict != w.fault && m.Verdict != CannotTell {
				t.Errorf("%+v: %s is %q, want %q", n, w.what, m.Verdict, w.fault)
			}
		}
	}
}

// topByHand is how far a line goes to one side, and the middle between where it is a metre nearer
// before and after.
func topByHand(l handLine, side float64) (far, at float64) {
	top := 0
	for i := range l {
		if side*l[i].X > side*l[top].X {
			top = i
		}
	}
	far = side * l[top].X
	a, z := top, top
	for side*l[a].X > far-1 {
		a--
	}
	for side*l[z].X > far-1 {
		z++
	}
	return far, (l[a].Y + l[z].Y) / 2
}
