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

// A corner is read over so many metres either side of its nearest point: less where the recorder is
// fine enough for it, so that the shape of the corner matters less. What it leaves is in metres.
const (
	cornerReach, cornerShape = 3.0, 0.06
	closeReach, closeShape   = 1.8, 0.02
	// wanderAtCorner is the slow error up to which a ride cannot seem to pass outside the boards' corner,
	// where the distance from it would grow again.
	wanderAtCorner = 0.5
)

// corner is the distance from the corner of the boards to the nearest point of the ride: a parabola
// over the distances around that point, less what the same curve makes of the plan. With a coarse
// recorder the distance is that along the plan's own way to the corner.
func (r *ride) corner(b *book, m float64) {
	point := r.cornerPoint(m)
	e := entry{what: "corner depth", letter: r.nearLetter(m), asked: r.plannedDepth(m, point), atM: m}
	out := point.Sub(r.plan.SampleAtM(metres(m)).Point)
	deeper, ws, os, ok := r.peak(m, cornerReach, out.Mul(1/float64(out.Norm())))
	e.at = during(os)
	if !ok {
		b.cannot(e, "too little of the corner was recorded")
		return
	}
	off, shape := -deeper, cornerShape
	ws = joined(ws, -1, nil, 0)
	if o, near, c, fits := r.nearest(m, closeReach, point); fits && r.d.wander < wanderAtCorner && 1.5*r.d.white/math.Sqrt(float64(len(near))) < fineMiddle {
		off, os, ws, shape = o, near, towards(near, c, point), closeShape
	}
	e.value, e.at = e.asked+off, during(os)
	e.parts = append(r.d.of(ws), part{fromRiding, shape * shape})
	b.add(e)
}

// towards makes weights on the distances from a point into weights on the fixes.
func towards(os []obs, c []float64, point arena.Point) []weight {
	ws := make([]weight, len(os))
	for i, o := range os {
		d := o.at.Sub(point)
		d = d.Mul(c[i] / math.Max(float64(d.Norm()), 1e-9))
		ws[i] = weight{o.t, o.at, d.X, d.Y}
	}
	return ws
}

// nearest is by how much the ride keeps further from a point near a metre of the plan than the plan
// does, read over some metres around where it is nearest, with the weight of each fix.
func (r *ride) nearest(m, reach float64, point arena.Point) (off float64, os []obs, c []float64, ok bool) {
	nearness := func(o obs) float64 { return -float64(o.at.Dist(point)) }
	want, _, _, known := parabola(r.planned(m-reach, m+reach), m, reach, nearness)
	for range 3 { // it may be nearest elsewhere than planned
		near, covered := r.over(m-reach, m+reach)
		if len(near) < 5 || covered < 0.7 || !known {
			return off, os, c, ok
		}
		got, vertex, k, fits := parabola(near, m, reach, nearness)
		if !fits {
			return off, os, c, ok
		}
		off, os, c, ok = want-got, near, k, true
		if math.Abs(vertex) < 0.15 {
			break
		}
		m += clamp(vertex, -0.5, 0.5) * reach
	}
	return off, os, c, ok
}

// plannedDepth is how near the plan comes to a point around one of its metres: with a turn soon after
// the corner its nearest is not the middle of the bend.
func (r *ride) plannedDepth(m float64, point arena.Point) float64 {
	depth := math.Inf(1)
	for _, o := range r.planned(m-cornerReach, m+cornerReach) {
		depth = math.Min(depth, float64(o.at.Dist(point)))
	}
	return depth
}
