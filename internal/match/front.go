package match

import (
	"math"
	"sort"
)

// front is the moving edge of the alignment: the best cost of every state of one epoch.
type front struct {
	c          *chain
	on, off    []float64
	fromOn     []int32
	fromOff    []int32
	widen      float64 // added to the band at the last epoch, where ends are priced
	priced     []bool  // the epoch's price is already in on
	touchedOn  []int32
	touchedOff []int32
}

func newFront(c *chain) *front {
	n := len(c.stations)
	w := &front{c: c, on: make([]float64, n), off: make([]float64, n), fromOn: make([]int32, n), fromOff: make([]int32, n), priced: make([]bool, n)}
	for i := range n {
		w.on[i], w.off[i] = math.Inf(1), math.Inf(1)
	}
	return w
}

func (w *front) reachOn(s int, cost float64, prev int) {
	if s < 0 || s >= len(w.on) || cost >= w.on[s] {
		return
	}
	if math.IsInf(w.on[s], 1) {
		w.touchedOn = append(w.touchedOn, int32(s))
	}
	w.on[s], w.fromOn[s] = cost, int32(prev)
}

func (w *front) reachOff(s int, cost float64, prev int) {
	if cost >= w.off[s] {
		return
	}
	if math.IsInf(w.off[s], 1) {
		w.touchedOff = append(w.touchedOff, int32(s))
	}
	w.off[s], w.fromOff[s] = cost, int32(prev)
}

// first gives every state its price at the first epoch.
func (w *front) first(e *epoch) []node {
	k := w.c.costs
	for s := range w.on {
		start := k.jump
		if s <= entryReach {
			start = 0
		}
		w.reachOn(s, start, -1)
	}
	return w.collect(e, k.before, math.Inf(1), -1, -1)
}

// next moves the front one epoch on.
func (w *front) next(prev []node, e *epoch) []node {
	k := w.c.costs
	before, over := math.Inf(1), math.Inf(1)
	beforeFrom, overFrom := -1, -1
	best, bestAt := math.Inf(1), -1
	last, reach := len(w.on)-1, w.c.reach()
	for i, n := range prev {
		if n.cost < best {
			best, bestAt = n.cost, i
		}
		s := int(n.s)
		switch n.layer {
		case beforeStart:
			before, beforeFrom = n.cost, i
			for s := 0; s <= min(entryReach, last); s++ {
				w.reachOn(s, n.cost, i)
			}
		case onPlan:
			for j := 0; j <= reach; j++ {
				w.reachOn(s+j, n.cost+w.c.stepCost(s, j), i)
			}
			w.reachOff(s, n.cost+k.leave, i)
			if s >= last-entryReach && n.cost < over {
				over, overFrom = n.cost, i
			}
		case offPlan:
			for j := -rejoinBack; j <= rejoinFwd; j++ {
				w.reachOn(s+j, n.cost+k.rejoin, i)
			}
			w.reachOff(s, n.cost, i)
		case done:
			if n.cost < over {
				over, overFrom = n.cost, i
			}
		}
	}
	w.jumps(best, bestAt)
	if v := best + k.jump; v < over { // broken off
		over, overFrom = v, bestAt
	}
	return w.collect(e, before+k.before, over+k.before, beforeFrom, overFrom)
}

// jumps lets the best state go on anywhere. States that cost more than a jump from the best
// are out of the band, so that a jump from any other state is never the cheaper one.
func (w *front) jumps(best float64, from int) {
	k := w.c.costs
	for s := range w.on {
		w.reachOn(s, best+k.jump, from)
		w.reachOff(s, best+k.jump+k.leave, from)
	}
}

// collect adds the prices of the epoch, keeps the states inside the band in a stable order
// and clears the front.
func (w *front) collect(e *epoch, before, over float64, beforeFrom, overFrom int) []node {
	k := w.c.costs
	best := math.Min(before, over)
	offPrice := k.off
	if e.blind {
		offPrice = 0
	}
	// The cheapest state is found first over distances alone, so that most of the far
	// stations need no full price.
	for _, s := range w.touchedOn {
		if w.on[s] < best {
			w.on[s] += w.c.emission(e, int(s))
			best = math.Min(best, w.on[s])
			w.priced[s] = true
		}
	}
	for _, s := range w.touchedOff {
		best = math.Min(best, w.off[s]+offPrice)
	}
	band := best + k.jump + k.leave + w.widen
	var out []node
	if !math.IsInf(before, 1) {
		out = append(out, node{beforeStart, 0, int32(beforeFrom), before})
	}
	if !math.IsInf(over, 1) {
		out = append(out, node{done, int32(len(w.on) - 1), int32(overFrom), over})
	}
	out = w.collectOn(out, e, band)
	for _, s := range w.touchedOff {
		if v := w.off[s] + offPrice; v <= band {
			out = append(out, node{offPlan, s, w.fromOff[s], v})
		}
		w.off[s] = math.Inf(1)
	}
	w.touchedOff = w.touchedOff[:0]
	sort.Slice(out, func(i, j int) bool {
		if out[i].layer != out[j].layer {
			return out[i].layer < out[j].layer
		}
		return out[i].s < out[j].s
	})
	return out
}

func (w *front) collectOn(out []node, e *epoch, band float64) []node {
	for _, s := range w.touchedOn {
		v := w.on[s]
		if v <= band && !w.priced[s] {
			v += w.c.emission(e, int(s))
		}
		if v <= band {
			out = append(out, node{onPlan, s, w.fromOn[s], v})
		}
		w.on[s], w.priced[s] = math.Inf(1), false
	}
	w.touchedOn = w.touchedOn[:0]
	return out
}
