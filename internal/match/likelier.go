package match

import (
	"context"
	"math"
)

// A recorder whose slow error is metres can lay one line of the test on another for half a
// minute. To the alignment each half second of that is news, so that going back in the test can
// look cheaper than the drift that it is. Where a path leaves the test's order, the best path that
// hardly may is looked for too, and the two are compared with the slow error followed from epoch
// to epoch: a shift that lasts is paid for once.

const (
	strictly  = 4.0 // times the price of leaving the test's order
	rideAlike = 2.0 // metres per axis per epoch that riding errors are worth, as they are alike over some seconds
)

// inOrder returns the path, or the one that keeps the test's order where that is likelier.
func (c *chain) inOrder(ctx context.Context, es []epoch, path []node, n noise) ([]node, error) {
	if n.WanderSD < vagueWander || !c.outOfOrder(path) {
		return path, nil
	}
	strict := *c
	strict.costs.jump *= strictly
	strict.costs.back *= strictly
	other, _, err := strict.run(ctx, es, nil)
	if err != nil {
		return nil, err
	}
	if c.fair(es, other, n) < c.fair(es, path, n) {
		return other, nil
	}
	return path, nil
}

// vagueWander is the slow error in metres from which one line of a test can pass for another: the
// lines of an arena lie five metres apart and more.
const vagueWander = 0.5

func (c *chain) outOfOrder(path []node) bool {
	last := -1
	for i, n := range path {
		if n.layer != onPlan {
			continue
		}
		if last >= 0 && (n.s < path[last].s-rejoinBack || n.s > path[last].s+int32(c.reach())+rejoinFwd) {
			return true
		}
		last = i
	}
	return false
}

// fair is the price of a path whose places err by a slow error that is followed (Kalman, one for
// each axis) and by riding.
func (c *chain) fair(es []epoch, path []node, n noise) float64 {
	full := n.WanderSD * n.WanderSD
	k := math.Exp(-c.step() / math.Max(float64(n.WanderTau), 1))
	var at [2]float64
	v := full
	cost := c.finish(path[len(path)-1])
	for i, p := range path {
		if i > 0 {
			cost += c.moved(path[i-1], p)
			at[0], at[1], v = k*at[0], k*at[1], k*k*v+(1-k*k)*full
		} else if p.layer == onPlan && p.s > entryReach {
			cost += c.costs.jump
		}
		e := &es[i]
		switch {
		case p.layer == beforeStart || p.layer == done:
			cost += c.costs.before
		case e.blind:
		case p.layer == offPlan:
			cost += c.costs.off
		default:
			st := &c.stations[p.s]
			s := v + rideAlike*rideAlike
			dx, dy := e.at.X-st.at.X-at[0], e.at.Y-st.at.Y-at[1]
			cost += math.Min(placeCost((dx*dx+dy*dy)/(2*s))+c.wayCost(e, st), c.costs.cap)
			g := v / s
			at[0], at[1], v = at[0]+g*dx, at[1]+g*dy, (1-g)*v
		}
	}
	return cost
}

// moved is the price of going from one state to the next.
func (c *chain) moved(a, b node) float64 {
	back := 0.0
	if b.s < a.s {
		back = c.costs.back
	}
	far := b.s < a.s-rejoinBack || b.s > a.s+rejoinFwd
	switch {
	case a.layer == onPlan && b.layer == onPlan && !broken(a, b, c.reach()):
		return c.stepCost(int(a.s), int(b.s-a.s))
	case a.layer == onPlan && b.layer == onPlan:
		return c.costs.jump + back
	case a.layer == onPlan && b.layer == offPlan && a.s == b.s:
		return c.costs.leave
	case a.layer == offPlan && b.layer == onPlan && !far:
		return c.costs.rejoin
	case a.layer == offPlan && b.layer == onPlan:
		return c.costs.jump + back
	case b.layer == offPlan && a.layer != offPlan:
		return c.costs.jump + back + c.costs.leave
	case b.layer == done && a.layer != done && int(a.s) < len(c.stations)-1-entryReach:
		return c.costs.jump
	}
	return 0
}
