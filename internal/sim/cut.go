package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

func (r *rider) leftOut(n int) bool {
	for _, k := range r.faults.LeftOut {
		if k == n {
			return true
		}
	}
	return false
}

// cutOut takes the movements left out off the line; the rider goes straight from where one
// begins to where it ends.
func (r *rider) cutOut() {
	for _, n := range r.faults.LeftOut {
		mv := r.plan.MovementByNumber(n)
		if mv == nil {
			continue
		}
		var out []cell
		for _, c := range r.cells {
			if c.m > float64(mv.StartM)+1e-6 && c.m < float64(mv.EndM)-1e-6 {
				continue
			}
			out = append(out, c)
		}
		r.cells = bridge(out)
	}
}

// bridge fills jumps in the line with straight riding off the plan.
func bridge(cs []cell) []cell {
	var out []cell
	for i, c := range cs {
		if i > 0 {
			b := cs[i-1]
			if d := float64(c.p.Dist(b.p)); d > 0.6 {
				n := int(d / step)
				for k := 1; k < n; k++ {
					q := b
					q.p, q.off, q.dwell = b.p.Lerp(c.p, float64(k)/float64(n)), true, 0
					q.head = float64(c.p.Sub(b.p).Heading())
					out = append(out, q)
				}
				c.off = true
			}
		}
		out = append(out, c)
	}
	return out
}

// excursions adds wrong turns and retries.
func (r *rider) excursions() {
	for _, e := range r.faults.WrongTurns {
		r.insert(float64(e.AtM), r.wrongTurn(e))
	}
	for _, e := range r.faults.Retries {
		r.insert(float64(e.AtM), r.smallCircle(e))
	}
}

func (r *rider) insert(m float64, pts []arena.Point) {
	var out []cell
	done := false
	for i, c := range r.cells {
		out = append(out, c)
		if done || c.m < m {
			continue
		}
		done = true
		for k, p := range pts {
			q := c
			q.p, q.off, q.dwell, q.slow = p, true, 0, 0
			if k > 0 {
				q.head = float64(p.Sub(pts[k-1]).Heading())
			}
			out = append(out, q)
		}
		back := c
		back.off, back.dwell = true, 0
		out = append(out, back)
		_ = i
	}
	r.cells = out
}

// smallCircle rides once round a circle and comes back to where it began.
func (r *rider) smallCircle(e Excursion) []arena.Point {
	s := r.plan.SampleAtM(e.AtM)
	rad := float64(e.Radius)
	n := s.Heading.Unit().Left()
	if !e.Left {
		n = n.Mul(-1)
	}
	c := s.Point.Add(n.Mul(rad))
	from := float64(s.Point.Sub(c).Heading())
	sign := 1.0
	if !e.Left {
		sign = -1
	}
	k := int(2 * math.Pi * rad / step)
	var out []arena.Point
	for i := 1; i < k; i++ {
		out = append(out, c.Add(arena.Angle(from+sign*2*math.Pi*float64(i)/float64(k)).Unit().Mul(rad)))
	}
	return out
}

// wrongTurn rides off to the side on an arc, turns about and comes straight back.
func (r *rider) wrongTurn(e Excursion) []arena.Point {
	s := r.plan.SampleAtM(e.AtM)
	side := s.Heading.Unit().Left()
	if !e.Left {
		side = side.Mul(-1)
	}
	far := s.Point.Add(side.Mul(float64(e.Radius))).Add(s.Heading.Unit().Mul(3))
	var out []arena.Point
	n := int(float64(far.Dist(s.Point)) / step)
	for k := 1; k <= n; k++ {
		out = append(out, s.Point.Lerp(far, float64(k)/float64(n)))
	}
	wide := s.Heading.Unit().Mul(2)
	for k := n; k >= 1; k-- {
		f := float64(k) / float64(n)
		out = append(out, s.Point.Lerp(far, f).Add(wide.Mul(math.Sin(math.Pi*f))))
	}
	return out
}

// prelude is riding about before the test: up and down outside A.
func (r *rider) prelude(tr *Truth) {
	left := float64(r.faults.Before)
	if left <= 0 {
		return
	}
	first := r.cells[0].p
	away := first.Sub(arena.Point{Y: 4})
	const v = 3.0
	var pts []arena.Point
	for d := 0.0; d < left*v-4; d += step { // circles of 8 m outside the boards
		a := d / 4
		pts = append(pts, away.Add(arena.Point{X: 4 - 4*math.Cos(a), Y: -4 * math.Sin(a)}))
	}
	if len(pts) == 0 {
		return
	}
	last := pts[len(pts)-1]
	n := int(float64(last.Dist(first)) / step)
	for k := 1; k < n; k++ {
		pts = append(pts, last.Lerp(first, float64(k)/float64(n)))
	}
	for i, p := range pts {
		h := arena.Angle(math.Pi / 2)
		if i > 0 {
			h = p.Sub(pts[i-1]).Heading()
		}
		tr.Samples = append(tr.Samples, Sample{gait.Seconds(float64(i) * step / v), p, h, math.NaN(), 0})
	}
}

// epilogue rides on after the last salute: forward in walk, then away to the left.
func (r *rider) epilogue(tr *Truth, t float64) {
	left := float64(r.faults.After)
	if left <= 0 {
		return
	}
	last := tr.Samples[len(tr.Samples)-1]
	p, h := last.Point, float64(last.Heading)
	const v, dt = 1.7, 0.1
	for s := dt; s < left; s += dt {
		if s > 4 {
			h += 0.35 * dt
		}
		p = p.Add(arena.Angle(h).Unit().Mul(v * dt))
		tr.Samples = append(tr.Samples, Sample{gait.Seconds(t + s), p, arena.Angle(h), math.NaN(), 0})
	}
}
