package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// circle measures size, place and roundness of a circle, volte or half circle: the best
// circle through the rider's path from opening to closing point.
func (r *ride) circle(b *book, f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	size := entry{what: "circle diameter", letter: f.At, asked: r.askedDiameter(f), nominal: float64(f.Nominal), atM: (a + z) / 2}
	place := entry{what: "circle place", letter: f.At, atM: size.atM}
	os, covered := r.over(a+0.5, z-0.5)
	size.at, place.at = during(os), during(os)
	if len(os) < 6 || covered < 0.7 {
		why := "too little of the circle was recorded"
		b.cannot(size, why)
		b.cannot(place, why)
		return
	}
	ps := pointsOf(os)
	h, err := fitHyper(ps)
	if err != nil {
		b.cannot(size, err.Error())
		b.cannot(place, err.Error())
		return
	}
	geo := h.refine(ps)
	g, ok := geo.sensitivities(ps)
	if !ok {
		b.cannot(size, errNoCircle.Error())
		b.cannot(place, errNoCircle.Error())
		return
	}
	size.value = 2 * h.radius
	// a path that is no circle has not quite the same best circle fix by fix as metre by metre
	size.parts = append(r.d.of(radial(os, geo, g, 0, 0, 2)), part{fromRiding, math.Pow(0.006+0.03*math.Max(0, geo.rms-1.2*r.d.white), 2)})
	b.add(size)
	r.circlePlace(b, place, f, os, geo, g)
	if wholeCircle(f) {
		r.roundness(b, f, os, geo)
		r.opening(b, f, os)
	}
}

// wholeCircle reports whether a figure goes all the way round: half of a figure of eight does
// not, nor does a half circle.
func wholeCircle(f *rideplan.Figure) bool {
	return f.Kind != terms.HalfCircle && float64(f.EndM-f.StartM) > 0.85*math.Pi*float64(f.Asked)
}

// askedDiameter is the diameter of a correct ride, by the compiler's word or else by the
// planned line itself.
func (r *ride) askedDiameter(f *rideplan.Figure) float64 {
	if f.Asked > 0 {
		return float64(f.Asked)
	}
	c, err := fitHyper(pointsOf(r.planned(float64(f.StartM), float64(f.EndM))))
	if err != nil {
		return float64(f.Nominal)
	}
	return 2 * c.radius
}

// circlePlace is how far the centre lies from where it was asked. A distance is never
// negative, so the doubt's own share is taken out of it before it is shown.
func (r *ride) circlePlace(b *book, e entry, f *rideplan.Figure, os []obs, c circle, g [][3]float64) {
	d := c.centre.Sub(f.Centre)
	dist := float64(d.Norm())
	dir := arena.Point{X: 1}
	if dist > 1e-9 {
		dir = d.Mul(1 / dist)
	}
	e.parts = r.d.of(radial(os, c, g, dir.X, dir.Y, 0))
	sd, _ := sum(e.parts)
	e.value = math.Sqrt(math.Max(0, dist*dist-2*sd*sd))
	b.add(e)
}

func pointsOf(os []obs) []arena.Point {
	ps := make([]arena.Point, len(os))
	for i, o := range os {
		ps[i] = o.at
	}
	return ps
}

// radial is the weights of x, y and R times their sensitivities, along each point's radius.
func radial(os []obs, c circle, g [][3]float64, x, y, radius float64) []weight {
	ws := make([]weight, len(os))
	for i, o := range os {
		d := o.at.Sub(c.centre)
		n := math.Max(float64(d.Norm()), 1e-9)
		w := x*g[i][0] + y*g[i][1] + radius*g[i][2]
		ws[i] = weight{o.t, o.at, w * d.X / n, w * d.Y / n}
	}
	return ws
}
