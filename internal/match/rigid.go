package match

import (
	"math"

	"ringcraft/internal/arena"
)

// pair is a point of the recording and where it belongs in the arena.
type pair struct {
	from, to arena.Point
	weight   float64
	t, m     float64 // when, and how far along the plan, where a ride places itself
}

// rigid is a rotation (after a mirroring of x when mirrored) and a shift; scale is 1.
type rigid struct {
	cos, sin float64
	shift    arena.Point
	mirrored bool
}

func identity() rigid { return rigid{cos: 1} }

func (r rigid) turn(p arena.Point) arena.Point {
	if r.mirrored {
		p.X = -p.X
	}
	return arena.Point{X: r.cos*p.X - r.sin*p.Y, Y: r.sin*p.X + r.cos*p.Y}
}

func (r rigid) apply(p arena.Point) arena.Point { return r.turn(p).Add(r.shift) }

func (r rigid) angle() arena.Angle { return arena.Angle(math.Atan2(r.sin, r.cos)) }

// heading turns a direction of the recording into the arena frame.
func (r rigid) heading(h float64) arena.Angle {
	if r.mirrored {
		h = math.Pi - h
	}
	return (arena.Angle(h) + r.angle()).Norm()
}

// fitRigid returns the least-squares rotation and shift, in closed form with scale 1
// (Horn 1987 and Umeyama 1991 in the plane), and the weighted sum of squares left. It needs
// two pairs that differ; fewer give the shift alone.
func fitRigid(ps []pair, mirrored bool) (rigid, float64) {
	var w float64
	var a, b arena.Point
	flip := rigid{cos: 1, mirrored: mirrored}
	for _, p := range ps {
		w += p.weight
		a = a.Add(flip.turn(p.from).Mul(p.weight))
		b = b.Add(p.to.Mul(p.weight))
	}
	a, b = a.Mul(1/w), b.Mul(1/w)
	var dot, cross float64
	for _, p := range ps {
		u, v := flip.turn(p.from).Sub(a), p.to.Sub(b)
		dot += p.weight * u.Dot(v)
		cross += p.weight * u.Cross(v)
	}
	r := rigid{cos: 1, mirrored: mirrored}
	if n := math.Hypot(dot, cross); n > 0 {
		r.cos, r.sin = dot/n, cross/n
	}
	r.shift = b.Sub(rigid{cos: r.cos, sin: r.sin}.turn(a))
	var ss float64
	for _, p := range ps {
		d := float64(r.apply(p.from).Dist(p.to))
		ss += p.weight * d * d
	}
	return r, ss
}
