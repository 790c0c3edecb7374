package match

import "math"

// front is the moving edge of the alignment: the best cost of every state of one epoch and
// where it came from.
type front struct {
	c       *chain
	on, off []float64
	fromOn  []int32
	fromOff []int32
	reach   int
	moves   []float64 // stepCost of every station and number of stations forward
	low     []float64 // cheapest state so far at each station or before it
	lowFrom []int32
	spare   [2][]node // columns, by turns: the next is made while the last is read
	widen   float64   // added to the band at the last epoch, where ends are priced
}

func newFront(c *chain) *front {
	n := len(c.stations)
	w := &front{c: c, on: make([]float64, n), off: make([]float64, n), fromOn: make([]int32, n), fromOff: make([]int32, n), reach: c.reach()}
	w.low, w.lowFrom = make([]float64, n), make([]int32, n)
	w.moves = make([]float64, n*(w.reach+1))
	for s := range n {
		for k := 0; k <= w.reach; k++ {
			w.moves[s*(w.reach+1)+k] = c.stepCost(s, k)
		}
	}
	return w
}

// reset gives every state the price of a jump: from the best state of the epoch before, back or on,
// or from the best of those that lie before it on the plan.
func (w *front) reset(best float64, from int, prev []node) {
	k := w.c.costs
	for s := range w.low {
		w.low[s] = math.Inf(1)
	}
	for i := range prev {
		if n := &prev[i]; n.cost < w.low[n.s] {
			w.low[n.s], w.lowFrom[n.s] = n.cost, int32(i)
		}
	}
	for s := range w.on {
		if s > 0 && w.low[s-1] <= w.low[s] {
			w.low[s], w.lowFrom[s] = w.low[s-1], w.lowFrom[s-1]
		}
		v, at := best+k.jump+k.back, int32(from)
		if on := w.low[s] + k.jump; on < v {
			v, at = on, w.lowFrom[s]
		}
		w.on[s], w.fromOn[s] = v, at
		w.off[s], w.fromOff[s] = v+k.leave, at
	}
}

func (w *front) reachOn(s int, cost float64, prev int) {
	if s >= 0 && s < len(w.on) && cost < w.on[s] {
		w.on[s], w.fromOn[s] = cost, int32(prev)
	}
}

// first gives every state its price at the first epoch.
func (w *front) first(e *epoch) []node {
	for s := range w.off {
		w.on[s], w.fromOn[s] = w.c.costs.jump, -1
		w.off[s] = math.Inf(1)
	}
	for s := 0; s <= min(entryReach, len(w.on)-1); s++ {
		w.on[s] = 0
	}
	return w.collect(e, edgeState{w.c.costs.before, -1}, edgeState{math.Inf(1), -1})
}

// edgeState is the state before the start or after the end.
type edgeState struct {
	cost float64
	from int
}

// next moves the front one epoch on.
func (w *front) next(prev []node, e *epoch) []node {
	k := w.c.costs
	best, bestAt := math.Inf(1), -1
	for i := range prev {
		if prev[i].cost < best {
			best, bestAt = prev[i].cost, i
		}
	}
	w.reset(best, bestAt, prev)
	before, over := edgeState{math.Inf(1), -1}, edgeState{best + k.jump, bestAt} // broken off
	last := len(w.on) - 1
	for i := range prev {
		n := &prev[i]
		s := int(n.s)
		switch n.layer {
		case beforeStart:
			before = edgeState{n.cost, i}
			for s := 0; s <= min(entryReach, last); s++ {
				w.reachOn(s, n.cost, i)
			}
		case onPlan:
			w.ride(s, n.cost, i)
			if s >= last-entryReach && n.cost < over.cost {
				over = edgeState{n.cost, i}
			}
		case offPlan:
			for j := -rejoinBack; j <= rejoinFwd; j++ {
				w.reachOn(s+j, n.cost+k.rejoin, i)
			}
			if n.cost < w.off[s] {
				w.off[s], w.fromOff[s] = n.cost, int32(i)
			}
		case done:
			if n.cost < over.cost {
				over = edgeState{n.cost, i}
			}
		}
	}
	before.cost += k.before
	over.cost += k.before
	return w.collect(e, before, over)
}

// ride lets a rider on the plan go on along it, or leave it.
func (w *front) ride(s int, cost float64, i int) {
	moves := w.moves[s*(w.reach+1) : (s+1)*(w.reach+1)]
	for j := 0; j <= w.reach && s+j < len(w.on); j++ {
		if v := cost + moves[j]; v < w.on[s+j] {
			w.on[s+j], w.fromOn[s+j] = v, int32(i)
		}
	}
	if v := cost + w.c.costs.leave; v < w.off[s] {
		w.off[s], w.fromOff[s] = v, int32(i)
	}
}

// collect adds the prices of the epoch and keeps the states inside the band, in the order of
// layer and station.
func (w *front) collect(e *epoch, before, over edgeState) []node {
	k := w.c.costs
	offPrice := k.off
	if e.blind {
		offPrice = 0
	}
	best := math.Min(before.cost, over.cost)
	for s, v := range w.on {
		// prices only rise: a state above the band now stays above it
		if v <= best+k.jump+k.back+k.leave+w.widen {
			v += w.c.emission(e, s)
			w.on[s] = v
			best = math.Min(best, v)
		} else {
			w.on[s] = math.Inf(1)
		}
		best = math.Min(best, w.off[s]+offPrice)
	}
	band := best + k.jump + k.back + k.leave + w.widen
	out := w.spare[1][:0]
	if !math.IsInf(before.cost, 1) {
		out = append(out, node{beforeStart, 0, int32(before.from), before.cost})
	}
	for s, v := range w.on {
		if v <= band {
			out = append(out, node{onPlan, int32(s), w.fromOn[s], v})
		}
	}
	for s, v := range w.off {
		if v += offPrice; v <= band {
			out = append(out, node{offPlan, int32(s), w.fromOff[s], v})
		}
	}
	if !math.IsInf(over.cost, 1) {
		out = append(out, node{done, int32(len(w.on) - 1), int32(over.from), over.cost})
	}
	w.spare[0], w.spare[1] = out, w.spare[0]
	return out
}
