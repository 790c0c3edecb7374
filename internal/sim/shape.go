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
	if len(t.r.faults.ZigZags) > 0 && t.r.secondOfTwo(f) {
		v = math.NaN()
	}
	t.say("arrival", f.To, v)
	t.bow(f)
	t.steepness(f)
}

func (t *teller) direction(m float64) arena.Point {
	return t.r.plan.SampleAtM(arena.Metres(m)).Heading.Unit()
}

// angle is the mean angle between body and ridden line over the middle of a figure.
func (t *teller) angle(f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	ease := math.Min(4, (z-a)/4)
	t.meanAngle(f, a+ease, z-ease)
}

// meanAngle is the mean angle between body and ridden line between two metres of a figure.
func (t *teller) meanAngle(f *rideplan.Figure, a, z float64) {
	lo, hi := t.cellsIn(a, z)
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
	least, most, n := math.Inf(1), math.Inf(-1), 0
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
			off := depth - math.Abs(cs[far].plan.X-base)
			least, most = math.Min(least, off), math.Max(most, off)
			n++
		}
		i = max(j, i+1)
	}
	if string(f.Kind) == "serpentine" && n > 1 {
		t.say("loop difference", f.At, most-least)
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

// bow is how far the middle of a sideways movement lies off the straight between its ends.
func (t *teller) bow(f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	lo, hi := t.cellsIn(a+0.08*(z-a), z-0.08*(z-a))
	cs := t.r.cells[lo:hi]
	if len(cs) < 10 {
		return
	}
	mid, half := (cs[0].m+cs[len(cs)-1].m)/2, (cs[len(cs)-1].m-cs[0].m)/2
	var n [3][4]float64
	for i := range cs {
		x := (cs[i].m - mid) / half
		y := cs[i].p.Sub(cs[i].plan.Point).Dot(t.r.leftAt(&cs[i]))
		row := [3]float64{1, x, x * x}
		for j := range 3 {
			for k := range 3 {
				n[j][k] += row[j] * row[k]
			}
			n[j][3] += row[j] * y
		}
	}
	toEnds := (z - a) / (2 * half)
	t.say("evenness", f.At, -solve3(n)[2]*toEnds*toEnds)
}

// approach is how far the ridden line drifts sideways over the last 6 m before a halt.
func (t *teller) approach(f *rideplan.Figure, i int) {
	cs := t.r.cells
	u := cs[i].plan.Heading.Unit()
	way := func(k int) float64 { return cs[i].p.Sub(cs[k].p).Dot(u) }
	lo := i
	for lo > 0 && way(lo-1) < 6.5 && way(lo-1) > -0.5 && math.Abs(float64(cs[lo-1].plan.Heading.Diff(cs[i].plan.Heading))) < 0.02 {
		lo--
	}
	var w, sx, sxx, sy, sxy float64
	for k := lo + 1; k <= i; k++ {
		d := float64(cs[k].p.Dist(cs[k-1].p))
		x, y := -way(k), cs[k].p.Sub(cs[k].plan.Point).Dot(u.Left())
		w, sx, sxx, sy, sxy = w+d, sx+d*x, sxx+d*x*x, sy+d*y, sxy+d*x*y
	}
	if w < 2.5 {
		t.say("halt approach", f.At, math.NaN())
		return
	}
	t.say("halt approach", f.At, 6*(sxy-sx*sy/w)/(sxx-sx*sx/w))
}

func (t *teller) meanSpeed(a, z float64) float64 {
	return (z - a) / (t.timeAt(z) - t.timeAt(a)) * t.longer(a, z)
}

// longer is the length of the ridden line over that of the planned one.
func (t *teller) longer(a, z float64) float64 {
	lo, hi := t.cellsIn(a, z)
	cs := t.r.cells
	if hi-lo < 3 {
		return 1
	}
	var d float64
	for i := lo + 1; i < hi; i++ {
		d += float64(cs[i].p.Dist(cs[i-1].p))
	}
	return d / (cs[hi-1].m - cs[lo].m)
}

// timeAt is when the ride passes metre m of the plan.
func (t *teller) timeAt(m float64) float64 {
	_, hi := t.cellsIn(0, m)
	i := max(1, min(hi, len(t.at)-1))
	cs := t.r.cells
	d := cs[i].m - cs[i-1].m
	if d < 1e-9 {
		return t.at[i]
	}
	return t.leave[i-1] + (m-cs[i-1].m)/d*(t.at[i]-t.leave[i-1])
}
