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
	c.endOnce(es, path)
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

// endOnce takes what comes after the end of the test for riding on after the salute, unless
// it is half a test or more: on the way out a rider often goes over lines of the test again.
func (c *chain) endOnce(es []epoch, path []node) {
	for k := range path {
		if c.saluted(es, path, k) && 2*c.riddenOver(path[k+1:]) < len(c.stations) && 2*c.riddenOver(path[:k+1]) >= len(c.stations) {
			for i := k + 1; i < len(path); i++ {
				if int(path[i].s) < len(c.stations)-1-entryReach || path[i].layer != onPlan {
					c.finishAt(path, i)
					return
				}
			}
			return
		}
	}
}

func (c *chain) finishAt(path []node, from int) {
	for i := from; i < len(path); i++ {
		path[i].layer, path[i].s = done, int32(len(c.stations)-1)
	}
}

// saluted reports whether the ride has stood at the end of the test for a second at epoch k.
func (c *chain) saluted(es []epoch, path []node, k int) bool {
	if k < 2 {
		return false
	}
	for i := k - 2; i <= k; i++ {
		if path[i].layer != onPlan || int(path[i].s) < len(c.stations)-1-entryReach || math.Hypot(es[i].v.X, es[i].v.Y) > 0.4+2*es[i].vSD {
			return false
		}
	}
	return true
}

// riddenOver counts the stations that a part of the path goes over.
func (c *chain) riddenOver(path []node) int {
	again, last := 0, -1
	for _, n := range path {
		if n.layer != onPlan {
			continue
		}
		if d := int(n.s) - last; last >= 0 && d > 0 && d <= c.reach() {
			again += d
		}
		last = int(n.s)
	}
	return again
}
