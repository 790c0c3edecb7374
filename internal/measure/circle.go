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
	if f.Spiral {
		r.spiral(b, f)
		return
	}
	arc := roundArc{letter: f.At, a: float64(f.StartM), z: float64(f.EndM), asked: r.askedDiameter(f), nominal: float64(f.Nominal), centre: f.Centre}
	if wholeCircle(f) {
		arc.whole = f
	}
	os, geo, size := r.round(b, arc)
	if size != nil && len(size.parts) > 0 && arc.whole != nil {
		r.roundness(b, f, os, geo)
		r.opening(b, f, geo)
	}
}

// spiral says that a circle which is to change its size has no one size to be measured by.
func (r *ride) spiral(b *book, f *rideplan.Figure) {
	why := "the sheet asks a circle that changes its size; where and how far is the rider's choice, so no size or place is asked of it"
	e := entry{what: "circle diameter", letter: f.At, asked: math.NaN(), nominal: float64(f.Nominal), atM: float64(f.StartM+f.EndM) / 2}
	b.cannot(e, why)
}

// round measures size and place of a round part; the size is nil where there was nothing to
// measure, and has no parts where the recording fits no circle.
func (r *ride) round(b *book, x roundArc) ([]obs, circle, *entry) {
	size := entry{what: "circle diameter" + x.part, kind: "circle diameter", letter: x.letter, asked: x.asked, nominal: x.nominal, atM: (x.a + x.z) / 2}
	place := entry{what: "circle place" + x.part, kind: "circle place", letter: x.letter, atM: size.atM}
	os, covered := r.over(x.a+0.5, x.z-0.5)
	size.at, place.at = during(os), during(os)
	if len(os) < 6 || covered < 0.7 {
		why := "too little of the circle was recorded"
		b.cannot(size, why)
		b.cannot(place, why)
		return os, circle{}, nil
	}
	ps := pointsOf(os)
	h, err := fitHyper(ps)
	if err == nil && x.whole != nil {
		if halves := r.ridden(x.whole, h); len(halves[0]) >= 3 && len(halves[1]) >= 3 {
			os = append(halves[0], halves[1]...)
			ps = pointsOf(os)
			h, err = fitHyper(ps)
		}
	}
	if err != nil {
		b.cannot(size, err.Error())
		b.cannot(place, err.Error())
		return os, h, nil
	}
	geo := h.refine(ps)
	g, ok := geo.sensitivities(ps)
	if !ok {
		b.cannot(size, errNoCircle.Error())
		b.cannot(place, errNoCircle.Error())
		return os, geo, nil
	}
	size.value = 2 * h.radius
	size.parts = append(r.d.of(radial(os, geo, g, 0, 0, 2)), part{fromRiding, math.Pow(x.shapeless(geo.rms, r.d.white, len(os)), 2)})
	b.add(size)
	place.parts = []part{{fromRiding, math.Pow(x.shapeless(geo.rms, r.d.white, len(os))/2, 2)}}
	r.circlePlace(b, place, x.centre, os, geo, g)
	return os, geo, &size
}

// shapeless is the doubt of a diameter, in metres, where the path is no circle: its best circle fix
// by fix is not quite that metre by metre. On part of a circle what is left out at its ends, and
// where it ends, tells far more.
func (x roundArc) shapeless(rms, white float64, n int) float64 {
	excess := math.Max(0, rms-1.2*white)
	if x.z-x.a < 0.75*math.Pi*x.asked {
		return 0.02 + partShape*excess
	}
	return math.Hypot(0.006+0.06*excess, fewFixes*excess/float64(n))
}

// partShape was found by simulation (docs/MEASURES.md): a part of a circle whose path lies so far off
// any circle has a diameter that is as much off, times this.
const partShape = 1.2

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
func (r *ride) circlePlace(b *book, e entry, asked arena.Point, os []obs, c circle, g [][3]float64) {
	d := c.centre.Sub(asked)
	dist := float64(d.Norm())
	dir := arena.Point{X: 1}
	if dist > 1e-9 {
		dir = d.Mul(1 / dist)
	}
	e.parts = append(e.parts, r.d.of(radial(os, c, g, dir.X, dir.Y, 0))...)
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
