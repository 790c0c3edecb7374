package rideplan

import (
	"math"

	"ringcraft/internal/arena"
)

// perimeter is the track: the rectangle that the rider's body follows inside the boards.
// Metres along it, u, count from A on the left rein (A F B M C H E K A).
type perimeter struct {
	hw, y0, y1 float64
}

func newPerimeter(b *arena.Board, inset float64) perimeter {
	return perimeter{float64(b.Width)/2 - inset, inset, float64(b.Length) - inset}
}

func (t perimeter) total() float64 { return 4*t.hw + 2*(t.y1-t.y0) }

func (t perimeter) corners() [4]float64 {
	h := t.y1 - t.y0
	return [4]float64{t.hw, t.hw + h, 3*t.hw + h, 3*t.hw + 2*h}
}

// point returns the place u metres along the track from A on the left rein.
func (t perimeter) point(u float64) arena.Point {
	u = math.Mod(math.Mod(u, t.total())+t.total(), t.total())
	c := t.corners()
	switch {
	case u <= c[0]:
		return arena.Point{X: u, Y: t.y0}
	case u <= c[1]:
		return arena.Point{X: t.hw, Y: t.y0 + u - c[0]}
	case u <= c[2]:
		return arena.Point{X: t.hw - (u - c[1]), Y: t.y1}
	case u <= c[3]:
		return arena.Point{X: -t.hw, Y: t.y1 - (u - c[2])}
	}
	return arena.Point{X: -t.hw + (u - c[3]), Y: t.y0}
}

// metre returns u of the point of the track nearest to p.
func (t perimeter) metre(p arena.Point) float64 {
	c := t.corners()
	x := math.Max(-t.hw, math.Min(t.hw, p.X))
	y := math.Max(t.y0, math.Min(t.y1, p.Y))
	south, north, east, west := math.Abs(p.Y-t.y0), math.Abs(p.Y-t.y1), math.Abs(p.X-t.hw), math.Abs(p.X+t.hw)
	switch math.Min(math.Min(south, north), math.Min(east, west)) {
	case east:
		return c[0] + y - t.y0
	case west:
		return c[2] + t.y1 - y
	case north:
		return c[1] + t.hw - x
	}
	if x >= 0 {
		return x
	}
	return c[3] + x + t.hw
}

// isOn reports whether p lies on the track.
func (t perimeter) isOn(p arena.Point) bool { return p.Dist(t.point(t.metre(p))) < 0.05 }

// heading returns the direction of the track at u on the rein; at a corner that of the side
// being entered.
func (t perimeter) heading(u float64, rein Hand) arena.Angle {
	u = math.Mod(math.Mod(u, t.total())+t.total(), t.total())
	eps := 1e-6
	if rein == Right {
		eps = -eps
	}
	c := t.corners()
	u = math.Mod(u+eps+t.total(), t.total())
	h := 0.0
	switch {
	case u < c[0] || u >= c[3]:
	case u < c[1]:
		h = 90
	case u < c[2]:
		h = 180
	default:
		h = 270
	}
	if rein == Right {
		h += 180
	}
	return arena.Degrees(h).Norm()
}

// inward returns the direction from the boards into the arena at u.
func (t perimeter) inward(u float64) arena.Angle {
	return (t.heading(u, Left) + arena.Degrees(90)).Norm()
}

// between returns the metres from u to v on the rein.
func (t perimeter) between(u, v float64, rein Hand) float64 {
	d := v - u
	if rein == Right {
		d = -d
	}
	d = math.Mod(d, t.total())
	if d < 0 {
		d += t.total()
	}
	return d
}

// ahead returns u moved d metres on the rein.
func (t perimeter) ahead(u, d float64, rein Hand) float64 {
	if rein == Right {
		return u - d
	}
	return u + d
}

// stops returns the points of the track from u over d metres on the rein: its corners, then
// the end.
func (t perimeter) stops(u, d float64, rein Hand) []arena.Point {
	type stop struct{ d, u float64 }
	var cs []stop
	for _, c := range t.corners() {
		if x := t.between(u, c, rein); x > 1e-9 && x < d-1e-9 {
			cs = append(cs, stop{x, c})
		}
		if x := t.between(u, c, rein) + t.total(); x < d-1e-9 {
			cs = append(cs, stop{x, c})
		}
	}
	for i := range cs { // at most eight
		for j := i + 1; j < len(cs); j++ {
			if cs[j].d < cs[i].d {
				cs[i], cs[j] = cs[j], cs[i]
			}
		}
	}
	var out []arena.Point
	for _, c := range cs {
		out = append(out, t.point(c.u))
	}
	return append(out, t.point(t.ahead(u, d, rein)))
}

// hit returns where the ray from p along h meets the track.
func (t perimeter) hit(p arena.Point, h arena.Angle) arena.Point {
	d := h.Unit()
	best := math.Inf(1)
	try := func(k float64) {
		if k = math.Max(k, 0); k < best { // 0: already at these boards, facing out
			best = k
		}
	}
	if math.Abs(d.X) > 1e-9 {
		try((math.Copysign(t.hw, d.X) - p.X) / d.X)
	}
	if math.Abs(d.Y) > 1e-9 {
		y := t.y0
		if d.Y > 0 {
			y = t.y1
		}
		try((y - p.Y) / d.Y)
	}
	if math.IsInf(best, 1) {
		return p
	}
	return p.Add(d.Mul(best))
}
