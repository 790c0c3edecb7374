package match

import (
	"context"
	"math"
)

// The alignment is a hidden Markov chain over half-second epochs, solved exactly (Viterbi).
// A rider is, at every epoch, before the test, on the plan at a station, off the plan having
// left it at a station, or done. All costs are negative log likelihoods and none is negative.
type chain struct {
	stations []station
	sigma    float64 // metres per axis between the recording and a rider on the plan
	costs    costs
	dt       float64 // seconds from epoch to epoch; 0 is epochStep
}

// step is the time from epoch to epoch, and reach how many stations forward one may go.
func (c *chain) step() float64 {
	if c.dt > 0 {
		return c.dt
	}
	return epochStep
}

func (c *chain) reach() int { return int(maxStep * c.step() / epochStep) }

// costs are the prices of what is not forward riding on the plan, per event or per epoch.
type costs struct {
	jump   float64 // going on at any other station: left out
	back   float64 // besides, when that is an earlier one: ridden again is seldomer than left out
	leave  float64 // leaving the plan
	rejoin float64 // coming back to it near where it was left
	off    float64 // an epoch off the plan
	before float64 // an epoch before the start or after the end
	cap    float64 // highest price of one position that does not fit: an outlier costs no more
}

func usualCosts() costs {
	return costs{jump: 18, back: 8, leave: 8, rejoin: 3, off: 5, before: 3.2, cap: 40}
}

const (
	maxStep    = 10 // stations forward in one epoch: 10 m/s
	rejoinBack = 4  // stations back that count as near where the plan was left
	rejoinFwd  = 12
	entryReach = 8 // stations from the start or the end at which one may begin or be done for free
)

type layer uint8

const (
	beforeStart layer = iota
	onPlan
	offPlan
	done
)

// node is one reached state of one epoch, with the best way to it.
type node struct {
	layer layer
	s     int32
	prev  int32 // index into the nodes of the epoch before, -1 at the first
	cost  float64
}

// emission is the price of seeing e from a rider on the plan at station s.
func (c *chain) emission(e *epoch, s int) float64 {
	if e.blind {
		return 0
	}
	st := &c.stations[s]
	dx, dy := e.at.X-st.at.X, e.at.Y-st.at.Y
	return math.Min(placeCost((dx*dx+dy*dy)/(2*c.sigma*c.sigma))+c.wayCost(e, st), c.costs.cap)
}

// wayCost compares direction and speed.
func (c *chain) wayCost(e *epoch, st *station) float64 {
	speed := math.Hypot(e.v.X, e.v.Y)
	if st.speed > 0 && !st.turning {
		return headingCost(e, st, speed) + speedCost(e, st, speed)
	}
	return speedCost(e, st, speed)
}

// placeCost has long tails: a circle ridden much too small is still that circle.
func placeCost(z float64) float64 {
	const tail = 3
	return tail * math.Log1p(z/tail)
}

// headingCost compares the direction of travel, von Mises with 20 degrees besides the doubt
// of the velocity itself; a rider who hardly moves shows no direction.
func headingCost(e *epoch, st *station, speed float64) float64 {
	if speed < 0.4 {
		return 0
	}
	const ride = 20 * math.Pi / 180
	doubt := e.vSD / speed
	k := 1 / (ride*ride + doubt*doubt)
	cos := (e.v.X*math.Cos(st.dir) + e.v.Y*math.Sin(st.dir)) / speed
	return k * (1 - cos)
}

// speedCost tells a halt from a walk and a walk from a trot, hardly more.
func speedCost(e *epoch, st *station, speed float64) float64 {
	want := st.speed
	if st.still > 0 && speed < want {
		return 0
	}
	sd := 0.3 + 0.3*want + e.vSD
	z := (speed - want) / sd
	return math.Min(z*z/2, 2.5)
}

// stepCost prices k stations forward in one epoch. Standing is free where the plan stands.
func (c *chain) stepCost(s, k int) float64 {
	st := &c.stations[s]
	if k == 0 && st.still > 0 {
		return 0
	}
	want := st.speed * c.step()
	z := (float64(k)*stationStep - want) / (0.3 + 0.35*want)
	if k == 0 { // a rider who stops stays stopped: each epoch of it says little
		return math.Min(z*z/2, 1)
	}
	return math.Min(z*z/2, 4)
}

// run solves the chain and returns the best state of every epoch and the total cost.
//
// The band is exact. A state whose cost exceeds the epoch's best by more than the dearest
// single move that reaches every state (jump back, or jump back and leave) cannot lie on a best path:
// whatever it does next, the best state can do by that one move for no more. Only such
// states are dropped; the states before the start and after the end, which that move does
// not reach, never are, and at the last epoch the dearest end is added to the band.
func (c *chain) run(ctx context.Context, es []epoch, progress func(float64)) ([]node, float64, error) {
	cols := make([][]mark, len(es))
	var edge []node
	w := newFront(c)
	for t := range es {
		if t%64 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, 0, err
			}
			if progress != nil {
				progress(float64(t) / float64(len(es)))
			}
		}
		if t == len(es)-1 {
			w.widen = 2 * c.costs.jump
		}
		if t == 0 {
			edge = w.first(&es[0])
		} else {
			edge = w.next(edge, &es[t])
		}
		cols[t] = marksOf(edge)
	}
	path, cost := c.back(cols, edge)
	return path, cost, nil
}

// finish is the price of the recording ending in this state.
func (c *chain) finish(n node) float64 {
	last := len(c.stations) - 1
	switch {
	case n.layer == beforeStart:
		return 2 * c.costs.jump
	case n.layer == done, n.layer == onPlan && int(n.s) >= last-entryReach:
		return 0
	}
	return c.costs.jump // broken off
}

// mark is what the way back needs of a node, a third of its size: there are thousands an epoch.
type mark struct {
	where uint32 // layer in the top two bits, station below
	prev  int32
}

const layerBit = 30

func marksOf(ns []node) []mark {
	out := make([]mark, len(ns))
	for i, n := range ns {
		out[i] = mark{uint32(n.layer)<<layerBit | uint32(n.s), n.prev}
	}
	return out
}

// node is a mark without its cost.
func (m mark) node() node {
	return node{layer: layer(m.where >> layerBit), s: int32(m.where & (1<<layerBit - 1)), prev: m.prev}
}

// back follows the best way from the last column, whose nodes are given, to the first. The costs of its nodes are
// not kept.
func (c *chain) back(cols [][]mark, last []node) ([]node, float64) {
	best, cost := -1, math.Inf(1)
	for i, n := range last {
		if v := n.cost + c.finish(n); v < cost {
			best, cost = i, v
		}
	}
	path := make([]node, len(cols))
	for t := len(cols) - 1; t >= 0; t-- {
		path[t] = cols[t][best].node()
		best = int(path[t].prev)
	}
	return path, cost
}
