package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// bend is a corner that the plan rides, from metre to metre.
type bend struct{ a, z float64 }

// cornersOf lists the corners of the arena ridden within a movement, those of circles and
// other round figures left out.
func (r *rider) cornersOf(mv *rideplan.Movement) []bend {
	ss := r.plan.Samples
	var out []bend
	for i := 0; i < len(ss); i++ {
		if ss[i].M < mv.StartM || ss[i].M > mv.EndM || math.Abs(ss[i].Curvature) < 0.1 {
			continue
		}
		j := i
		var turn float64
		for j+1 < len(ss) && ss[j+1].M <= mv.EndM && math.Abs(ss[j+1].Curvature) >= 0.1 {
			turn += float64(ss[j+1].Heading.Diff(ss[j].Heading))
			j++
		}
		b := bend{float64(ss[i].M), float64(ss[j].M)}
		if t := math.Abs(turn) * 180 / math.Pi; t > 70 && t < 110 && r.nearCorner((b.a+b.z)/2) && !inRound(mv, (b.a+b.z)/2) {
			out = append(out, b)
		}
		i = j
	}
	return out
}

func (r *rider) nearCorner(m float64) bool {
	p := r.plan.SampleAtM(arena.Metres(m)).Point
	w, l := float64(r.plan.Board.Width)/2, float64(r.plan.Board.Length)
	return math.Hypot(w-math.Abs(p.X), math.Min(p.Y, l-p.Y)) < 6
}

// inRound reports whether a metre lies in a round figure of the movement.
func inRound(mv *rideplan.Movement, m float64) bool {
	for _, f := range mv.Figures {
		switch string(f.Kind) {
		case "circle", "volte", "half circle", "serpentine", "loop", "figure of eight", "change through the circle":
			if m > float64(f.StartM) && m < float64(f.EndM) {
				return true
			}
		}
	}
	return false
}

// corners cuts every corner of the plan by moving its middle inwards.
func (r *rider) corners() {
	cut := float64(r.faults.CornerCut)
	if cut == 0 {
		return
	}
	const lead = 3
	for k := range r.plan.Movements {
		for _, b := range r.cornersOf(&r.plan.Movements[k]) {
			a, z := b.a-lead, b.z+lead
			in := r.inward(b)
			for i := range r.cells {
				if c := &r.cells[i]; c.m > a && c.m < z {
					s := math.Sin(math.Pi * (c.m - a) / (z - a))
					c.p = c.p.Add(in.Mul(cut * s * s))
				}
			}
		}
	}
}

// inward is the unit direction from a corner's middle to the inside of its turn.
func (r *rider) inward(b bend) arena.Point {
	mid := r.at(arena.Metres((b.a + b.z) / 2))
	d := r.at(arena.Metres(b.a)).Lerp(r.at(arena.Metres(b.z)), 0.5).Sub(mid)
	if n := float64(d.Norm()); n > 1e-9 {
		return d.Mul(1 / n)
	}
	return arena.Point{}
}

// corners says how near the ridden line comes to the corner of the boards.
func (t *teller) corners(mv *rideplan.Movement) {
	for _, b := range t.r.cornersOf(mv) {
		m := (b.a + b.z) / 2
		p := t.r.plan.SampleAtM(arena.Metres(m)).Point
		c := arena.Point{X: math.Copysign(float64(t.r.plan.Board.Width)/2, p.X)}
		if p.Y > float64(t.r.plan.Board.Length)/2 {
			c.Y = float64(t.r.plan.Board.Length)
		}
		lo, hi := t.cellsIn(m-5, m+5)
		best := math.Inf(1)
		for _, x := range t.r.cells[lo:hi] {
			best = math.Min(best, float64(x.p.Dist(c)))
		}
		t.say("corner depth", t.letter(m), best)
	}
}
