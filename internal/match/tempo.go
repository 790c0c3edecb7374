package match

import (
	"context"
	"math"
	"sort"
)

// solve aligns once at the plan's speeds, and again at the rider's own where these are far
// from the plan's: a slow trot would else be taken for a walk elsewhere in the test.
func (c *chain) solve(ctx context.Context, es []epoch, progress func(float64)) ([]node, error) {
	path, _, err := c.run(ctx, es, progress)
	if err != nil {
		return nil, err
	}
	if k := c.pacing(es, path); math.Abs(math.Log(k)) > farPacing {
		for i := range c.stations {
			c.stations[i].speed *= k
		}
		if path, _, err = c.run(ctx, es, progress); err != nil {
			return nil, err
		}
	}
	return path, nil
}

// farPacing is on a log scale: a quarter faster or a fifth slower than the plan.
const farPacing = 0.22

// pacing is the rider's speed over the plan's, the median of all epochs under way; 1 when
// too few are, and never beyond what a horse can do.
func (c *chain) pacing(es []epoch, path []node) float64 {
	var ks []float64
	for i, n := range path {
		v := math.Hypot(es[i].v.X, es[i].v.Y)
		if st := &c.stations[n.s]; n.layer == onPlan && st.still == 0 && st.speed > 0.5 && v > 0.3 {
			ks = append(ks, v/st.speed)
		}
	}
	if len(ks) < 20 || 3*len(ks) < len(path) { // most of it is off the plan: its speed says nothing
		return 1
	}
	sort.Float64s(ks)
	return math.Max(0.2, math.Min(2, ks[len(ks)/2]))
}
