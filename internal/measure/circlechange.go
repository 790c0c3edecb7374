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
	whole          *rideplan.Figure // where it goes all the way round: its ends are those of the ride, not of the plan
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
	e.parts = append(r.d.of(radial(os, geo, g, c.u.X, c.u.Y, 0)), r.roundPart(geo, geo, len(os)))
	b.add(e)
}

// How far either side of the line between the centres, in metres along the way of travel, the ride is
// read by a curve of the third degree: less where the recorder is fine enough for it, so that an odd
// shape of the change matters less.
const (
	overMiddle  = 3.5
	closeMiddle = 2.2
	fineMiddle  = 0.03 // metres of doubt from jitter up to which a recorder is fine enough
)

// changePlace is how far past the middle, or past where two circles touch, the ridden line goes
// over the line between the centres: positive towards the second circle.
func (r *ride) changePlace(b *book, f *rideplan.Figure, c bendChange) {
	e := entry{what: "circle change place", letter: f.At, atM: c.m}
	os, covered := r.over(c.m-overMiddle-2, c.m+overMiddle+2)
	reach := overMiddle
	if 1.5*r.d.white/math.Sqrt(math.Max(1, float64(len(os))*2*closeMiddle/(2*overMiddle+4))) < fineMiddle {
		reach = closeMiddle
	}
	x, y, near := make([]float64, len(os)), make([]float64, len(os)), []int(nil)
	for i, o := range os {
		x[i], y[i] = o.at.Sub(c.at).Dot(c.n), o.at.Sub(c.at).Dot(c.u)
		if math.Abs(y[i]) <= reach {
			near = append(near, i)
		}
	}
	e.at = during(os)
	why := "too little of the change was recorded"
	if len(near) < 6 || covered < 0.7 || y[near[0]] > -reach/2 || y[near[len(near)-1]] < reach/2 {
		b.cannot(e, why)
		return
	}
	co, sol, ok := powers(near, x, y, 0, reach, 3)
	if !ok {
		b.cannot(e, why)
		return
	}
	e.value = co[0]
	ws := make([]weight, len(near))
	var rms float64
	for k, i := range near {
		u := y[i] / reach
		slope := (co[1] + 2*co[2]*u + 3*co[3]*u*u) / reach
		d := c.n.Sub(c.u.Mul(slope)).Mul(sol.At(0, k))
		ws[k] = weight{os[i].t, os[i].at, d.X, d.Y}
		rms += math.Pow(x[i]-horner(co, u), 2) / float64(max(1, len(near)-4))
	}
	e.parts = append(r.d.of(ws), part{fromRiding, 0.04*0.04 + math.Max(0, rms-1.4*r.d.white*r.d.white)})
	b.add(e)
}
