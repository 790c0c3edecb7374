package prepare

import (
	"math"
	"slices"
	"sort"
)

// priced is a linear upper bound of the gain: for any prices pi >= 0,
// gain(u) <= base + sum of pi_l*u_l, with base = sum of max over y of value*phi(y) - pi*y
// (each need's concave gain lies under its tangent). Load has a price too: mu >= 0 for the
// whole of it, so that base grows by mu and an option's share of the load is taken off. The
// most that the items from i on can still bring within a time and a number of blocks is in
// rest.
type priced struct {
	pi   []float64
	mu   float64
	base float64
	gain [][]float64 // per item and option: its dose at these prices, less its load
	rest []float64   // (item, time, blocks), see at
	p    *problem
}

func (b *priced) at(i, time, blocks int) float64 {
	return b.rest[(i*(b.p.room()+1)+time)*(b.p.blocks+1)+blocks]
}

// room is the time including the pause given back; no more than all the work with the
// pauses of as many blocks as there may be.
func (p *problem) room() int { return min(p.time+p.pause, p.work+p.blocks*p.pause) }

// price builds the bound for prices pi and mu by dynamic programming from the last item back.
func (p *problem) price(pi []float64, mu float64) *priced {
	b := &priced{pi: pi, mu: mu, base: mu, p: p, gain: make([][]float64, len(p.items))}
	for l, v := range p.values {
		y := p.argmax(l, pi[l])
		b.base += v*p.phi(y) - pi[l]*y + pi[l]*p.had(l)
	}
	room := p.room()
	b.rest = make([]float64, (len(p.items)+1)*(room+1)*(p.blocks+1))
	for i := len(p.items) - 1; i >= 0; i-- {
		b.gain[i] = make([]float64, len(p.items[i].options))
		for k, o := range p.items[i].options {
			b.gain[i][k] = -mu * p.loadShare(o)
			for j, l := range o.which {
				b.gain[i][k] += pi[l] * o.dose[j]
			}
		}
		b.fillRow(i, room)
	}
	return b
}

func (b *priced) fillRow(i, room int) {
	p := b.p
	for t := 0; t <= room; t++ {
		for k := 0; k <= p.blocks; k++ {
			best := b.at(i+1, t, k)
			if k > 0 {
				for o, opt := range p.items[i].options {
					if cost := opt.time + p.pause; cost <= t {
						best = max(best, b.gain[i][o]+b.at(i+1, t-cost, k-1))
					}
				}
			}
			b.rest[(i*(room+1)+t)*(p.blocks+1)+k] = best
		}
	}
}

// had is the dose already had of need l.
func (p *problem) had(l int) float64 {
	if p.start == nil {
		return 0
	}
	return p.start[l]
}

func (p *problem) loadShare(o option) float64 { return float64(o.load) / float64(max(1, p.load)) }

// argmax is the dose y that makes value*phi(y) - pi*y largest.
func (p *problem) argmax(l int, pi float64) float64 {
	y, from := 0.0, 0.0
	for _, s := range p.returns {
		if p.values[l]*s.Share/(s.Dose-from) <= pi {
			break
		}
		y, from = s.Dose, s.Dose
	}
	return y
}

// bound is the least known upper bound of the whole problem under these prices.
func (b *priced) bound() float64 { return b.base + b.at(0, b.p.room(), b.p.blocks) }

// dosesAtBound are the doses and the share of the load of the relaxed choice that attains
// the bound.
func (b *priced) dosesAtBound() (u []float64, load float64) {
	p := b.p
	u = make([]float64, len(p.values))
	copy(u, p.start)
	t, k := p.room(), p.blocks
	for i := range p.items {
		if k == 0 || b.at(i, t, k) == b.at(i+1, t, k) {
			continue
		}
		for o, opt := range p.items[i].options {
			if cost := opt.time + p.pause; cost <= t && b.gain[i][o]+b.at(i+1, t-cost, k-1) == b.at(i, t, k) {
				for j, l := range opt.which {
					u[l] += opt.dose[j]
				}
				load += p.loadShare(opt)
				t, k = t-cost, k-1
				break
			}
		}
	}
	return u, load
}

// priceSteps and priceSets: how long the bound is lowered and how many sets of prices the
// search keeps; patience is after how many steps without a lower bound the step is halved.
const (
	priceSteps = 60
	priceSets  = 4
	patience   = 6
)

// findPrices lowers the bound by subgradient steps (Held, Wolfe and Crowder 1974: Polyak's
// step towards the best known gain, halved when it stops helping) and returns the best
// prices found, best first.
func (p *problem) findPrices(known float64) []*priced {
	pi := make([]float64, len(p.values))
	for l, v := range p.values {
		pi[l] = v * p.returns[0].Share / p.returns[0].Dose / 2
	}
	mu, factor, stale := 0.0, 1.0, 0
	var kept []*priced // best first
	for range priceSteps {
		b := p.price(slices.Clone(pi), mu)
		if stale++; len(kept) == 0 || b.bound() < kept[0].bound()-1e-9 {
			stale = 0
		}
		kept = append(kept, b)
		sort.SliceStable(kept, func(i, j int) bool { return kept[i].bound() < kept[j].bound() })
		kept = kept[:min(len(kept), priceSets)]
		if stale == patience {
			factor, stale, b = factor/2, 0, kept[0]
			copy(pi, b.pi)
			mu = b.mu
		}
		u, load := b.dosesAtBound()
		slope := 1 - load
		norm := slope * slope
		for l := range u {
			u[l] -= p.argmax(l, pi[l])
			norm += u[l] * u[l]
		}
		if norm == 0 || b.bound() <= known+1e-12 {
			break
		}
		size := factor * (b.bound() - known) / norm
		for l := range pi {
			pi[l] = max(0, pi[l]-size*u[l])
		}
		mu = max(0, mu-size*slope)
	}
	return kept
}

// byPrice orders the items by what their best option earns at the prices, most first.
func byPrice(b *priced) []int {
	best := make([]float64, len(b.gain))
	order := make([]int, len(b.gain))
	for i, g := range b.gain {
		order[i], best[i] = i, math.Inf(-1)
		for _, v := range g {
			best[i] = max(best[i], v)
		}
	}
	sort.SliceStable(order, func(x, y int) bool { return best[order[x]] > best[order[y]] })
	return order
}

// permuted is the same problem with its items in another order.
func (p *problem) permuted(order []int) *problem {
	q := *p
	at := make([]int, len(order))
	for k, i := range order {
		at[i] = k
	}
	q.items = make([]item, len(order))
	for k, i := range order {
		q.items[k] = p.items[i]
		if n := p.items[i].needs; n >= 0 {
			q.items[k].needs = at[n]
		}
	}
	q.exclusive = nil
	for _, e := range p.exclusive {
		q.exclusive = append(q.exclusive, at[e])
	}
	return &q
}

// dominators gives for each item the earlier ones that serve every need at least as well in
// every way it can be ridden, for no more load. Some best choice never takes an item
// without all of these: exchanging it for one of them loses nothing and moves the choice
// towards the front, so exchanging comes to an end. Items bound to others are left alone.
func (p *problem) dominators() [][]int {
	bound := map[int]bool{}
	for i, it := range p.items {
		if it.needs >= 0 {
			bound[it.needs] = true
		}
		if slices.Contains(p.exclusive, i) {
			bound[i] = true
		}
	}
	out := make([][]int, len(p.items))
	for i := range p.items {
		if bound[i] {
			continue
		}
		for j := 0; j < i; j++ {
			if p.items[j].needs < 0 && !slices.Contains(p.exclusive, j) && p.covers(p.items[j], p.items[i]) {
				out[i] = append(out[i], j)
			}
		}
	}
	return out
}

// covers reports whether every option of b has one of a that is at least as good.
func (p *problem) covers(a, b item) bool {
	for _, ob := range b.options {
		if !slices.ContainsFunc(a.options, func(oa option) bool {
			return oa.time == ob.time && oa.left == ob.left && oa.right == ob.right && oa.load <= ob.load && p.doseCovers(oa, ob)
		}) {
			return false
		}
	}
	return true
}

func (p *problem) doseCovers(a, b option) bool {
	for j, l := range b.which {
		k := slices.Index(a.which, l)
		if k < 0 || a.dose[k] < b.dose[j] {
			return false
		}
	}
	return true
}
