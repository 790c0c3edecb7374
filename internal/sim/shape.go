package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// arrival is how far past its letter a line across arrives.
func (t *teller) arrival(f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	if f.To == "" || z-a < 8 {
		return
	}
	u := t.direction((a + z) / 2)
	w := t.direction(math.Min(z+1.5, float64(t.r.plan.Length)))
	if math.Abs(w.Left().Dot(u)) < 0.12 {
		return
	}
	v := 0.0
	for _, x := range t.r.faults.Arrivals {
		if t.r.figure(x.Movement, x.Nth, "half-pass", "leg-yield") == f {
			v = float64(x.Late)
		}
	}
	t.say("arrival", f.To, v)
}

func (t *teller) direction(m float64) arena.Point {
	return t.r.plan.SampleAtM(arena.Metres(m)).Heading.Unit()
}

// angle is the mean angle between body and ridden line over the middle of a figure.
func (t *teller) angle(f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	ease := math.Min(4, (z-a)/4)
	lo, hi := t.cellsIn(a+ease, z-ease)
	cs := t.r.cells[lo:hi]
	if len(cs) < 10 {
		t.say("angle", f.At, math.NaN())
		return
	}
	side := 1.0
	if t.r.plan.SampleAtM(arena.Metres((a+z)/2)).Side == rideplan.Right {
		side = -1
	}
	line := cs[len(cs)-1].p.Sub(cs[0].p).Heading()
	var sum float64
	for _, c := range cs {
		sum += side * arena.Angle(c.head).Diff(line).Deg() / float64(len(cs))
	}
	t.say("angle", f.At, sum)
}

// loops are the depths of the loops of a figure, from the track or from the centre line.
func (t *teller) loops(f *rideplan.Figure) {
	lo, hi := t.cellsIn(float64(f.StartM), float64(f.EndM))
	cs := t.r.cells[lo:hi]
	base := 0.0
	if string(f.Kind) == "loop" && len(cs) > 0 {
		base = cs[0].plan.X
	}
	for i := 0; i < len(cs); {
		side := math.Copysign(1, cs[i].plan.X-base)
		j, far := i, i
		var depth float64
		for j < len(cs) && (math.Copysign(1, cs[j].plan.X-base) == side || cs[j].plan.X == base) {
			if math.Abs(cs[j].plan.X-base) > math.Abs(cs[far].plan.X-base) {
				far = j
			}
			depth = math.Max(depth, math.Abs(cs[j].p.X-base))
			j++
		}
		if math.Abs(cs[far].plan.X-base) > 1 && cs[j-1].m-cs[i].m > 6 {
			t.say("loop size", t.letter(cs[far].m), depth)
		}
		i = max(j, i+1)
	}
}

func (t *teller) letter(m float64) string {
	l, _ := t.r.plan.Board.NearestLetter(t.r.plan.SampleAtM(arena.Metres(m)).Point)
	return l
}

// corner is how near the ridden line comes to the corner of the boards.
func (t *teller) corner(f *rideplan.Figure) {
	m := float64(f.StartM+f.EndM) / 2
	p := t.r.plan.SampleAtM(arena.Metres(m)).Point
	c := arena.Point{X: math.Copysign(float64(t.r.plan.Board.Width)/2, p.X)}
	if p.Y > float64(t.r.plan.Board.Length)/2 {
		c.Y = float64(t.r.plan.Board.Length)
	}
	if d := c.Dist(p); d > 8 || d < 1e-6 {
		return
	}
	lo, hi := t.cellsIn(m-5, m+5)
	best := math.Inf(1)
	for _, x := range t.r.cells[lo:hi] {
		best = math.Min(best, float64(x.p.Dist(c)))
	}
	t.say("corner depth", t.letter(m), best)
}
