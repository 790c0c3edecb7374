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

// circleShape is roundness, and where a circle was begun and ended.
func (t *teller) circleShape(f *rideplan.Figure, c arena.Point, rad float64) {
	lo, hi := t.cellsIn(float64(f.StartM), float64(f.EndM))
	cs := t.r.cells[lo:hi]
	var re, im, w float64
	for i := 1; i < len(cs); i++ {
		k := float64(cs[i].p.Dist(cs[i-1].p))
		d := cs[i].p.Sub(c)
		sin, cos := math.Sincos(2 * float64(d.Heading()))
		out := float64(d.Norm()) - rad
		re, im, w = re+k*out*cos, im+k*out*sin, w+k
	}
	t.say("circle roundness", f.At, 4*math.Hypot(2*re/w, 2*im/w))
	u := t.direction(float64(f.StartM) + 0.1)
	for i, part := range [][]cell{cs[:len(cs)/2], cs[len(cs)/2:]} {
		c, _ := bestCircle(part, f)
		t.say([2]string{"circle opening", "circle closing"}[i], f.At, c.Sub(f.Centre).Dot(u))
	}
}

// overshoot is how far the first 5 m of a line lie outside it after a turn.
func (t *teller) overshoot(f *rideplan.Figure, start float64) {
	k := 0.0
	for d := 0.2; d <= 3; d += 0.2 {
		if c := t.r.plan.SampleAtM(arena.Metres(start - d)).Curvature; math.Abs(c) > math.Abs(k) {
			k = c
		}
	}
	if math.Abs(k) < 0.05 || start < 3 {
		return
	}
	out := t.direction(start + 1).Left().Mul(-math.Copysign(1, k))
	base := t.r.plan.SampleAtM(arena.Metres(start + 1)).Point
	lo, hi := t.cellsIn(start, start+5)
	var v, w float64
	for i := lo + 1; i < hi; i++ {
		d := float64(t.r.cells[i].p.Dist(t.r.cells[i-1].p))
		v, w = v+d*t.r.cells[i].p.Sub(base).Dot(out), w+d
	}
	t.say("turn overshoot", f.At, v/w)
}
