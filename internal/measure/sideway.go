package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// bowEnds is the share of a way to the side left out at either end of it when its bow is measured:
// there the horse is still turning; the bow is carried on to the ends.
const bowEnds = 0.08

// shapeOfBow is the share of a bow by which one that is no parabola, or that ends elsewhere than
// planned, differs from the fitted one.
const shapeOfBow = 0.12

// shapeOfEnd is by how much, as a share of the bow, a way whose bow is no parabola ends elsewhere than
// the parabola, where a twelfth of it at either end is left out: of half a wave it is 0.07.
const shapeOfEnd = 0.1

// endsOfBow is by how much, as a share of what the line runs off the plan, the bow depends on where it
// is taken to begin and to end: one that arrives early goes straight on for the rest.
const endsOfBow = 0.15

// roundedOff is how much of a bow, in metres, the rounding of a change of hand at its beginning makes
// or hides.
const roundedOff = 0.1

// arrival is how far past its letter a line across arrives: where the ridden line, bowed as it is,
// meets the line that it leads to. Where it is rounded onto that line is left out and carried on.
func (r *ride) arrival(b *book, f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	if f.To == "" || z-a < 8 {
		return
	}
	_, u, _ := r.dirs((a + z) / 2)
	w := r.leadsTo(z)
	n := w.Left()
	if n.Dot(u) < 0 {
		n = n.Mul(-1)
	}
	if n.Dot(u) < 0.12 { // goes along the line it leads to
		return
	}
	e := entry{what: "arrival", letter: f.To, atM: z}
	lo, hi := a+bowEnds*(z-a), z-bowEnds*(z-a)
	from, target := r.plan.SampleAtM(f.StartM).Point, r.plan.SampleAtM(f.EndM).Point
	os, covered := r.over(lo, hi)
	if r.d.wander < wanderAtEnd { // a coarse recorder does not show where the turning begins
		near := target.Sub(r.plan.SampleAtM(arena.Metres(hi)).Point).Dot(n)
		long, _ := r.over(lo, z+lateWay*(z-a)) // one that arrives late is ridden to beside what comes after it
		os = shortOf(long, target, n, near)
	}
	e.at = during(os)
	planned, _ := sidewayOf(r.planned(lo, hi), from, u)
	c, ok := sidewayOf(os, from, u)
	if !ok || covered < 0.7 {
		b.cannot(e, "too little of the line was recorded")
		return
	}
	want, _, planEnd := planned.meets(target, w, n)
	got, far, end := c.meets(target, w, n)
	e.value = got - want
	_, ws := c.left(end)
	for i := range ws {
		ws[i].wx, ws[i].wy = far*ws[i].wx, far*ws[i].wy
	}
	e.parts = append(r.d.of(ws), part{fromRiding, math.Pow(0.014*(z-a), 2) + math.Pow(far*shapeOfEnd*c.bow(c.half), 2)})
	b.add(e)
	r.bow(b, f, c, end/2, planned.bow(planEnd/2))
	lo, hi = a+0.2*(z-a), z-0.2*(z-a)
	if os, covered := r.over(lo, hi); len(os) >= 6 && covered >= 0.7 {
		r.steepness(b, f, os, r.planned(lo, hi), w, n)
	}
}

// wanderAtEnd is the slow error in metres up to which a recorder shows where that is.
const wanderAtEnd = 0.2

// lateWay is by what share of its length a way may arrive late and be seen whole.
const lateWay = 0.35

// shortOf are the fixes before the way comes so near, along n, to a line through a target, on the mean of half a
// second either side: from there on the horse is turning onto it.
func shortOf(os []obs, target, n arena.Point, near float64) []obs {
	const seconds = 0.5
	lo, hi, sum := 0, 0, 0.0
	gap := func(i int) float64 { return target.Sub(os[i].at).Dot(n) }
	for i, o := range os {
		for hi < len(os) && os[hi].t <= o.t+seconds {
			sum += gap(hi)
			hi++
		}
		for os[lo].t < o.t-seconds {
			sum -= gap(lo)
			lo++
		}
		if sum/float64(hi-lo) < near {
			return os[:i]
		}
	}
	return os
}

// leadsTo is the direction of the line that a figure leads to at metre z; where a circle begins
// there, of its tangent.
func (r *ride) leadsTo(z float64) arena.Point {
	const on = 1.5
	_, w, k := r.dirs(math.Min(z+on, float64(r.plan.Length)))
	return (w.Heading() - arena.Angle(k*on)).Unit()
}

// bow is how far the middle of a sideways movement lies off the straight between its ends, which are where it
// leaves its letter and where it meets the line that it leads to, twice half metres apart.
func (r *ride) bow(b *book, f *rideplan.Figure, c sideway, half, planned float64) {
	e := entry{what: "evenness", letter: f.At, at: during(c.os), atM: float64(f.StartM+f.EndM) / 2}
	v, ws := c.sum([3]float64{0, 0, -square(half / c.half)})
	e.value = v - planned
	aslant, _ := c.sum([3]float64{0, half / c.half, 0}) // metres by which the line runs off the plan from its middle to its end
	rounded := 0.0
	if r.comesBack(f) {
		rounded = roundedOff
	}
	e.parts = append(r.d.of(ws), part{fromRiding, ofWobble(wobbleOfBow) + square(shapeOfBow*e.value) + square(endsOfBow*aslant) + square(rounded)})
	b.add(e)
}

// sideway is how a way to the side goes: the parabola of least squares through some fixes, metres to the
// left of a straight over x, which is -1 at the first of them and 1 at the last. The plan's own way is taken
// by the same, since its ends are rounded too.
type sideway struct {
	os        []obs
	from, u   arena.Point // where the straight begins, and where it goes
	mid, half float64     // metres along it
	inv       m3
}

// sidewayOf is false where there are too few fixes, or too short a way, for a parabola.
func sidewayOf(os []obs, from, u arena.Point) (c sideway, ok bool) {
	if len(os) < 6 {
		return c, false
	}
	c = sideway{os: os, from: from, u: u}
	first, last := c.along(os[0]), c.along(os[len(os)-1])
	c.mid, c.half = (first+last)/2, (last-first)/2
	if c.half < 3 {
		return c, false
	}
	var a m3
	for _, o := range os {
		row := c.row(o)
		for j := range 3 {
			for k := range 3 {
				a[j][k] += row[j] * row[k]
			}
		}
	}
	c.inv, ok = a.inverse()
	return c, ok
}

func (c sideway) along(o obs) float64 { return o.at.Sub(c.from).Dot(c.u) }

func (c sideway) row(o obs) [3]float64 {
	x := c.to(c.along(o))
	return [3]float64{1, x, x * x}
}

// to is x at some metres along the straight.
func (c sideway) to(s float64) float64 { return (s - c.mid) / c.half }

// sum is a weighted sum of the parabola's three coefficients, and how much each fix weighs in it.
func (c sideway) sum(of [3]float64) (v float64, ws []weight) {
	ws = make([]weight, len(c.os))
	var k [3]float64
	for j := range 3 {
		for i := range 3 {
			k[j] += of[i] * c.inv[i][j]
		}
	}
	l := c.u.Left()
	for i, o := range c.os {
		row := c.row(o)
		by := k[0]*row[0] + k[1]*row[1] + k[2]*row[2]
		v += by * o.at.Sub(c.from).Dot(l)
		ws[i] = weight{o.t, o.at, by * l.X, by * l.Y}
	}
	return v, ws
}

// left is how far to the left of the straight the parabola lies some metres along it.
func (c sideway) left(s float64) (float64, []weight) {
	x := c.to(s)
	return c.sum([3]float64{1, x, x * x})
}

// bow is how far the parabola leaves, to the right, a chord of it that is twice half metres long.
func (c sideway) bow(half float64) float64 {
	v, _ := c.sum([3]float64{0, 0, -square(half / c.half)})
	return v
}

// meets is how far along w past a target the parabola comes to the line through it, n being across that;
// how many metres so a metre to the left there makes, and how far along the straight it is.
func (c sideway) meets(target, w, n arena.Point) (past, far, s float64) {
	l := c.u.Left()
	k0, _ := c.sum([3]float64{1, 0, 0})
	k1, _ := c.sum([3]float64{0, 1, 0})
	k2, _ := c.sum([3]float64{0, 0, 1})
	lo, hi := c.mid, c.mid+2*c.half // a parabola that bends away may never meet it
	s = math.Min(hi, target.Sub(c.from).Dot(c.u))
	for range 8 {
		x := c.to(s)
		p := c.from.Add(c.u.Mul(s)).Add(l.Mul(k0 + k1*x + k2*x*x)).Sub(target)
		v := c.u.Add(l.Mul((k1 + 2*k2*x) / c.half))
		past, far = p.Dot(w), (l.Dot(w)*v.Dot(n)-l.Dot(n)*v.Dot(w))/v.Dot(n)
		s = math.Max(lo, math.Min(hi, s-math.Max(-2, math.Min(2, p.Dot(n)/v.Dot(n)))))
	}
	return past, far, s
}

// comesBack reports whether a way to the side begins where one to the other side ends.
func (r *ride) comesBack(f *rideplan.Figure) bool {
	for i := range r.plan.Movements {
		for k := range r.plan.Movements[i].Figures {
			if g := &r.plan.Movements[i].Figures[k]; sideways(g.Kind) && r.otherWayAfter(g) == f {
				return true
			}
		}
	}
	return false
}
