package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// bendChange is where a change through a circle, or from circle to circle, passes from one bend
// to the other: over the middle of the circle, or where the two circles touch.
type bendChange struct {
	m    float64
	at   arena.Point
	u, n arena.Point // the way of travel there; square to it, from the first circle to the second
}

// circleChange measures a change of rein through a circle (two half circles that meet over its
// middle) or from one circle to the next.
func (r *ride) circleChange(b *book, f *rideplan.Figure) {
	c, ok := r.bendChange(f)
	if !ok {
		return
	}
	if f.Asked > 0 {
		first := r.part(b, f, " first half", float64(f.StartM), c.m)
		second := r.part(b, f, " second half", c.m, float64(f.EndM))
		r.halvesDifference(b, f, first, second)
	} else {
		r.newCircle(b, f, c)
	}
	r.changePlace(b, f, c)
}

// bendChange finds the change of bend of the plan.
func (r *ride) bendChange(f *rideplan.Figure) (bendChange, bool) {
	last := 0.0
	lastM := 0.0
	for _, s := range r.plan.Samples {
		m := float64(s.M)
		if m < float64(f.StartM)-2 || m > float64(f.EndM) || math.Abs(s.Curvature) < 0.02 {
			continue
		}
		if last*s.Curvature < 0 {
			c := bendChange{m: (lastM + m) / 2}
			c.at, c.u, _ = r.dirs(c.m)
			c.n = c.u.Left().Mul(-math.Copysign(1, last))
			return c, true
		}
		last, lastM = s.Curvature, m
	}
	return bendChange{}, false
}

// roundArc is a round part of a figure: what its measures are called, from where to where it is
// planned, and what is asked.
type roundArc struct {
	letter, part   string
	a, z           float64
	asked, nominal float64
	centre         arena.Point
}

// part measures one half circle of a change by the same means as any half circle.
func (r *ride) part(b *book, f *rideplan.Figure, part string, a, z float64) *entry {
	arc, ok := r.plannedArc(a, z)
	if !ok {
		return nil
	}
	arc.part, arc.nominal = part, float64(f.Nominal)
	_, _, e := r.round(b, arc)
	return e
}

// plannedArc is the round part of the plan between two metres.
func (r *ride) plannedArc(a, z float64) (roundArc, bool) {
	ps := pointsOf(r.planned(a+0.5, z-0.5))
	c, err := fitHyper(ps)
	if err != nil {
		return roundArc{}, false
	}
	c = c.refine(ps)
	return roundArc{a: a, z: z, asked: 2 * c.radius, centre: c.centre}, true
}

// halvesDifference compares the two half circles, the first less the second.
func (r *ride) halvesDifference(b *book, f *rideplan.Figure, first, second *entry) {
	if first == nil || second == nil || len(first.parts) == 0 || len(second.parts) == 0 {
		return
	}
	e := entry{what: "circle halves difference", letter: f.At, asked: first.asked - second.asked, value: first.value - second.value, atM: float64(f.StartM+f.EndM) / 2}
	e.at = when{first.at.from, first.at.to, second.at.to, first.at.known && second.at.known}
	e.parts = append(append([]part(nil), first.parts...), second.parts...) // both are sizes: no place, so hardly an error in common
	b.add(e)
}

// newCircle measures the circle that a change from circle to circle leads to: its size, and how
// far past the change it was begun.
func (r *ride) newCircle(b *book, f *rideplan.Figure, c bendChange) {
	arc, ok := r.plannedArc(c.m, float64(f.EndM))
	if !ok || float64(f.EndM)-c.m < 0.4*math.Pi*arc.asked {
		return
	}
	arc.part, arc.nominal = " new circle", float64(f.Nominal)
	os, geo, size := r.round(b, arc)
	if size == nil || len(size.parts) == 0 {
		return
	}
	e := entry{what: "circle opening new circle", kind: "circle opening", at: during(os), atM: c.m}
	ps := pointsOf(os)
	g, ok := geo.sensitivities(ps)
	if !ok {
		b.cannot(e, errNoCircle.Error())
		return
	}
	e.value = geo.centre.Sub(arc.centre).Dot(c.u)
	e.parts = append(r.d.of(radial(os, geo, g, c.u.X, c.u.Y, 0)), roundPart(geo))
	b.add(e)
}

// overMiddle is how far either side of the change of bend the ride is read, in metres.
const overMiddle = 3.0

// changePlace is how far past the middle, or past where two circles touch, the ridden line goes
// over the line between the centres: positive towards the second circle.
func (r *ride) changePlace(b *book, f *rideplan.Figure, c bendChange) {
	e := entry{what: "circle change place", letter: f.At, atM: c.m}
	os, covered := r.over(c.m-overMiddle, c.m+overMiddle)
	e.at = during(os)
	if len(os) < 7 || covered < 0.7 {
		b.cannot(e, "too little of the change was recorded")
		return
	}
	var a m3
	var g [3]float64
	rows := make([][3]float64, len(os))
	for i, o := range os {
		x := o.at.Sub(c.at).Dot(c.u) / overMiddle
		rows[i] = [3]float64{1, x, x * math.Abs(x)} // one bend before, the other after
		for j := range 3 {
			for k := range 3 {
				a[j][k] += rows[i][j] * rows[i][k]
			}
			g[j] += rows[i][j] * o.at.Sub(c.at).Dot(c.n)
		}
	}
	inv, ok := a.inverse()
	if !ok {
		b.cannot(e, "too little of the change was recorded")
		return
	}
	x := inv.mul(g)
	e.value = x[0]
	ws := make([]weight, len(os))
	var rms float64
	for i, o := range os {
		by := inv[0][0]*rows[i][0] + inv[0][1]*rows[i][1] + inv[0][2]*rows[i][2]
		slope := (x[1] + 2*x[2]*math.Abs(rows[i][1])) / overMiddle
		d := c.n.Sub(c.u.Mul(slope)).Mul(by)
		ws[i] = weight{o.t, o.at, d.X, d.Y}
		miss := o.at.Sub(c.at).Dot(c.n) - x[0] - x[1]*rows[i][1] - x[2]*rows[i][2]
		rms += miss * miss / float64(max(1, len(os)-3))
	}
	e.parts = append(r.d.of(ws), part{fromRiding, 0.04*0.04 + math.Max(0, rms-1.4*r.d.white*r.d.white)})
	b.add(e)
}
