package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// corners measures how far the ride stays from the corners of the boards that the movement
// goes through.
func (r *ride) corners(b *book) {
	for _, m := range r.cornersOf(b.movement) {
		r.corner(b, m)
	}
}

// cornersOf returns the middles of the corners of the arena that the plan rides within a
// movement: tight turns of about a right angle near a corner, outside round figures.
func (r *ride) cornersOf(mv *rideplan.Movement) []float64 {
	const tight = 0.1 // 1/m
	ss := r.plan.Samples
	var out []float64
	for i := 0; i < len(ss); i++ {
		if ss[i].M < mv.StartM || ss[i].M > mv.EndM || math.Abs(ss[i].Curvature) < tight {
			continue
		}
		j := i
		var turn float64
		for j+1 < len(ss) && ss[j+1].M <= mv.EndM && math.Abs(ss[j+1].Curvature) >= tight {
			turn += ss[j+1].Heading.Diff(ss[j].Heading).Deg()
			j++
		}
		m := float64(ss[i].M+ss[j].M) / 2
		if t := math.Abs(turn); t > 70 && t < 110 && r.toCorner(m) < 6 && !inRound(mv, m) {
			out = append(out, m)
		}
		i = j
	}
	return out
}

// cornerPoint is the corner of the boards nearest to metre m of the plan.
func (r *ride) cornerPoint(m float64) arena.Point {
	p := r.plan.SampleAtM(metres(m)).Point
	c := arena.Point{X: math.Copysign(float64(r.plan.Board.Width)/2, p.X)}
	if l := float64(r.plan.Board.Length); p.Y > l/2 {
		c.Y = l
	}
	return c
}

func (r *ride) toCorner(m float64) float64 {
	return float64(r.cornerPoint(m).Dist(r.plan.SampleAtM(metres(m)).Point))
}

func inRound(mv *rideplan.Movement, m float64) bool {
	for _, f := range mv.Figures {
		switch f.Kind {
		case terms.Circle, terms.Volte, terms.HalfCircle, terms.Serpentine, terms.Loop, terms.FigureEight, terms.ChangeInCircle:
			if m > float64(f.StartM) && m < float64(f.EndM) {
				return true
			}
		}
	}
	return false
}

// corner is the distance from the corner of the boards to the nearest point of the ride.
func (r *ride) corner(b *book, m float64) {
	out := r.cornerPoint(m).Sub(r.plan.SampleAtM(metres(m)).Point)
	d := float64(out.Norm())
	e := entry{what: "corner depth", letter: r.nearLetter(m), asked: d, atM: m}
	off, ws, os, ok := r.peak(m, 3, out.Mul(1/d))
	e.at = during(os)
	if !ok {
		b.cannot(e, "too little of the corner was recorded")
		return
	}
	e.value = d - off
	for i := range ws {
		ws[i].wx, ws[i].wy = -ws[i].wx, -ws[i].wy
	}
	e.parts = append(r.d.of(ws), part{fromRiding, 0.05 * 0.05})
	b.add(e)
}
