package measure

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
)

// carried is how a recorder goes with the horse, at each fix: its unknown place is one on the body
// and turns with it, so that a pocket left of the middle is a smaller circle to the left all the
// way round; and what sits above the rider's hips leans into a bend.
type carried struct {
	ts    []float64
	ahead []arena.Point // direction of travel
	lean  []arena.Point // metres by which what leans as much as it must lies inside the line
}

const (
	gravity = 9.81
	// hips is the height in metres at which the line of the rider is meant (a saddle's, as in the
	// table of places).
	hips = 1.3
)

// carriedOf reads direction and bend of the plan at each fix.
func carriedOf(p *rideplan.Plan, rec *match.Ridden) *carried {
	n := len(rec.Fixes)
	c := &carried{make([]float64, n), make([]arena.Point, n), make([]arena.Point, n)}
	above := math.Max(0, rec.Noise.LeverUp-hips)
	for i, f := range rec.Fixes {
		c.ts[i] = float64(f.T)
		if math.IsNaN(float64(f.PlanM)) {
			c.ahead[i] = f.Heading.Unit()
			continue
		}
		s := p.SampleAtM(f.PlanM)
		c.ahead[i] = s.Heading.Unit()
		v := float64(s.Speed)
		c.lean[i] = c.ahead[i].Left().Mul(above * v * v * s.Curvature / gravity)
	}
	return c
}

// moved is by how much a weighted sum moves when the recorder sits a metre further forward, or a
// metre further left, on the horse; and when it leans as far as the bends ask.
func (c *carried) moved(ws []weight) (forward, left, lean float64) {
	if len(c.ts) == 0 {
		return 0, 0, 0
	}
	i := 0
	if len(ws) > 0 {
		i = sort.SearchFloat64s(c.ts, ws[0].t)
	}
	for _, w := range ws {
		for i+1 < len(c.ts) && c.ts[i] < w.t-1e-9 {
			i++
		}
		i = min(i, len(c.ts)-1)
		d := arena.Point{X: w.wx, Y: w.wy}
		u := c.ahead[i]
		forward, left, lean = forward+d.Dot(u), left+d.Dot(u.Left()), lean+d.Dot(c.lean[i])
	}
	return forward, left, lean
}
