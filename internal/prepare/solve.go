package prepare

import (
	"context"
	"math"
	"slices"
	"sort"
)

// problem is the choice of a lesson's exercises, free of the trade's words: take at most one
// option of each item so that time, load and blocks keep their limits and both reins differ
// by no more than the slack, and the gain is greatest.
//
// Gain: every need l has a value and is served by the doses of the chosen options,
// u_l = sum of dose; it brings value_l * phi(u_l), where phi is concave and piecewise linear
// (returns). This can be written as a mixed integer program, which the tests do.
type problem struct {
	values    []float64 // of the needs, in percent
	returns   []step
	items     []item
	time      int // half minutes; every block costs its time and one pause, and one pause is given back
	pause     int
	blocks    int
	work      int   // half minutes of blocks without their pauses
	load      int   // tenths
	slack     int   // half minutes between the reins
	exclusive []int // items of which at most one may be taken
	// start are the doses already had (of a lesson under way), nil for none. They bring no
	// gain themselves but lessen the returns of what follows.
	start []float64
}

// step is one linear piece of the returns: up to so much dose, so much of the value in all.
type step struct {
	Dose  float64 `json:"dose"`
	Share float64 `json:"share"`
}

// item is one exercise; needs names the item that must be taken with it, -1 when none.
type item struct {
	needs   int
	options []option
}

// option is one way to ride it.
type option struct {
	time, load  int
	left, right int       // half minutes on each rein
	dose        []float64 // per need, sparse: pairs with which
	which       []int
}

// solution is the best choice: for every item the option taken, -1 when none.
type solution struct {
	taken []int
	gain  float64
	nodes int
}

// phi is the share of a need's value won by dose u.
func (p *problem) phi(u float64) float64 {
	share, from := 0.0, 0.0
	for _, s := range p.returns {
		if u <= s.Dose {
			return share + s.Share*(u-from)/(s.Dose-from)
		}
		share, from = share+s.Share, s.Dose
	}
	return share
}

// gainOf is the gain of doses u.
func (p *problem) gainOf(u []float64) float64 {
	sum := 0.0
	for l, v := range p.values {
		sum += v * p.phi(u[l])
	}
	return sum
}

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

// solve finds a choice of greatest gain and proves it: depth-first branch and bound over the
// items, most promising first, cut by the priced bounds and by dominance. It returns ctx's
// error when cancelled.
func (p *problem) solve(ctx context.Context) (solution, error) {
	s := newSearch(ctx, p)
	if ctx.Err() != nil || len(p.values) == 0 || len(p.items) == 0 || p.blocks == 0 {
		return s.best, ctx.Err()
	}
	s.greedy()
	s.improve()
	prices := p.findPrices(s.best.gain)
	order := byPrice(prices[0])
	q := p.permuted(order)
	d := newSearch(ctx, q)
	d.best.gain, d.before = s.best.gain, q.dominators()
	for _, b := range prices {
		d.prices = append(d.prices, q.price(b.pi, b.mu))
	}
	d.paid = make([]float64, len(prices))
	d.dive(0, q.room(), q.blocks, q.load, 0)
	if d.found {
		for k, i := range order {
			s.best.taken[i] = d.best.taken[k]
		}
		s.best.gain = d.best.gain
	}
	s.best.nodes = d.best.nodes
	return s.best, d.err
}

func newSearch(ctx context.Context, p *problem) *search {
	s := &search{p: p, ctx: ctx, u: make([]float64, len(p.values)), chosen: make([]int, len(p.items)), best: solution{taken: make([]int, len(p.items))}}
	copy(s.u, p.start)
	s.best.gain = p.gainOf(s.u)
	for i := range p.items {
		s.chosen[i], s.best.taken[i] = -1, -1
	}
	return s
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

type search struct {
	p      *problem
	ctx    context.Context
	err    error
	prices []*priced
	paid   []float64 // per price set: base-free sum of the chosen options
	u      []float64
	chosen []int
	best   solution
	found  bool    // best.taken is of this search
	before [][]int // dominators of each item
	// buffers hold the marginal bounds, one for each number of blocks left.
	buffers [][]float64
}

const tiny = 1e-9

// greedy takes again and again the option that adds most per half minute: a good start.
func (s *search) greedy() {
	t, k, load, lean := s.p.room(), s.p.blocks, s.p.load, 0
	for k > 0 {
		bi, bo, rate := -1, -1, tiny
		now := s.p.gainOf(s.u)
		for i := range s.p.items {
			for o, opt := range s.p.items[i].options {
				if s.chosen[i] >= 0 || !s.fits(i, opt, t, k, load, lean, 0) || !s.complete(i) {
					continue
				}
				s.add(opt, 1)
				if r := (s.p.gainOf(s.u) - now) / float64(opt.time+s.p.pause); r > rate {
					bi, bo, rate = i, o, r
				}
				s.add(opt, -1)
			}
		}
		if bi < 0 {
			break
		}
		opt := s.p.items[bi].options[bo]
		s.chosen[bi] = bo
		s.add(opt, 1)
		t, k, load, lean = t-opt.time-s.p.pause, k-1, load-opt.load, lean+opt.left-opt.right
		s.keep(lean)
	}
	for i := range s.chosen {
		if s.chosen[i] >= 0 {
			s.add(s.p.items[i].options[s.chosen[i]], -1)
			s.chosen[i] = -1
		}
	}
}

// improve exchanges one taken option for another of any item, or for none, as long as that
// adds gain: a closer start than greedy alone.
func (s *search) improve() {
	for range 50 {
		before := s.best.gain
		for out := range s.p.items {
			if s.best.taken[out] < 0 {
				continue
			}
			base := slices.Clone(s.best.taken)
			base[out] = -1
			s.fillFrom(base)
		}
		if s.best.gain <= before+tiny {
			return
		}
	}
}

// fillFrom tries every option on top of a choice and keeps the best that is allowed.
func (s *search) fillFrom(base []int) {
	t, k, load, lean := s.p.room(), s.p.blocks, s.p.load, 0
	copy(s.chosen, base)
	for i, o := range base {
		if o >= 0 {
			opt := s.p.items[i].options[o]
			s.add(opt, 1)
			t, k, load, lean = t-opt.time-s.p.pause, k-1, load-opt.load, lean+opt.left-opt.right
		}
	}
	for i := range s.p.items {
		for o, opt := range s.p.items[i].options {
			if k > 0 && s.chosen[i] < 0 && s.fits(i, opt, t, k, load, lean, 0) {
				s.chosen[i] = o
				s.add(opt, 1)
				s.keep(lean + opt.left - opt.right)
				s.add(opt, -1)
				s.chosen[i] = -1
			}
		}
	}
	for i, o := range base {
		if o >= 0 {
			s.add(s.p.items[i].options[o], -1)
		}
		s.chosen[i] = -1
	}
}

// fits checks the limits that can only get tighter; the reins only as far as what is left
// (extra half minutes) could still balance them.
func (s *search) fits(i int, o option, t, k, load, lean, extra int) bool {
	d := lean + o.left - o.right
	worked := s.p.room() - t - (s.p.blocks-k)*s.p.pause
	if o.time+s.p.pause > t || o.load > load || worked+o.time > s.p.work || max(d, -d) > s.p.slack+extra {
		return false
	}
	if !slices.Contains(s.p.exclusive, i) {
		return true
	}
	for _, e := range s.p.exclusive {
		if s.chosen[e] >= 0 {
			return false
		}
	}
	return true
}

// complete reports whether the item that i needs is taken.
func (s *search) complete(i int) bool {
	n := s.p.items[i].needs
	return n < 0 || s.chosen[n] >= 0
}

func (s *search) add(o option, sign float64) {
	for j, l := range o.which {
		s.u[l] += sign * o.dose[j]
	}
}

// keep records the present choice when it is allowed and better.
func (s *search) keep(lean int) {
	if max(lean, -lean) > s.p.slack {
		return
	}
	for i, o := range s.chosen {
		if o >= 0 && !s.complete(i) {
			return
		}
	}
	if g := s.p.gainOf(s.u); g > s.best.gain+tiny {
		s.best.gain, s.found = g, true
		copy(s.best.taken, s.chosen)
	}
}

// dive tries every next item from i on. Two bounds cut it: the priced one, which falls with
// i so that the first item it cuts ends the loop, and the marginal one: returns diminish, so
// what the items add now, each alone, is the most they can add together.
func (s *search) dive(i, t, k, load, lean int) {
	s.keep(lean)
	s.best.nodes++
	if s.best.nodes%1024 == 0 && s.ctx.Err() != nil {
		s.err = s.ctx.Err()
	}
	if i >= len(s.p.items) || k == 0 || s.err != nil || s.upper(i, t, k) <= s.best.gain+tiny {
		return
	}
	m := s.marginals(i, t, k, load, lean)
	for ; i < len(s.p.items) && s.err == nil; i++ {
		if s.upper(i, t, k) <= s.best.gain+tiny {
			return
		}
		if m.now+m.with[i] <= s.best.gain+tiny || s.pointless(i, i) {
			continue
		}
		for o, opt := range s.p.items[i].options {
			if !s.fits(i, opt, t, k, load, lean, t) || s.upperWith(i, o, opt, t, k) <= s.best.gain+tiny {
				continue
			}
			s.take(i, o, opt, 1)
			s.dive(i+1, t-opt.time-s.p.pause, k-1, load-opt.load, lean+opt.left-opt.right)
			s.take(i, o, opt, -1)
		}
	}
}

// margins are the marginal bounds of one node: with[i] is what item i and the best k-1 after
// it could add to now.
type margins struct {
	now  float64
	with []float64
}

func (s *search) marginals(i, t, k, load, lean int) margins {
	m := margins{now: s.p.gainOf(s.u), with: s.buffer(k)}
	var top [16]float64 // the largest k-1 after the present item, descending
	sum := 0.0
	for j := len(s.p.items) - 1; j >= i; j-- {
		alone := 0.0
		if !s.pointless(j, i) {
			for _, opt := range s.p.items[j].options {
				if s.fits(j, opt, t, k, load, lean, t) {
					alone = max(alone, s.adds(opt))
				}
			}
		}
		m.with[j] = alone + sum
		for q := 0; q < min(k-1, len(top)); q++ {
			if alone > top[q] {
				sum += alone - top[min(k-1, len(top))-1]
				copy(top[q+1:min(k-1, len(top))], top[q:])
				top[q] = alone
				break
			}
		}
	}
	return m
}

// buffer is room for one node's marginal bounds; there is one node at a time with k blocks
// left.
func (s *search) buffer(k int) []float64 {
	for len(s.buffers) <= k {
		s.buffers = append(s.buffers, make([]float64, len(s.p.items)))
	}
	return s.buffers[k]
}

// adds is the gain of an option on top of the present doses.
func (s *search) adds(o option) float64 {
	sum := 0.0
	for j, l := range o.which {
		sum += s.p.values[l] * (s.p.phi(s.u[l]+o.dose[j]) - s.p.phi(s.u[l]))
	}
	return sum
}

// pointless reports whether an item that i needs, or that dominates it, is not taken and no
// longer can be: items before decided have been decided.
func (s *search) pointless(i, decided int) bool {
	if n := s.p.items[i].needs; n >= 0 && n < decided && s.chosen[n] < 0 {
		return true
	}
	for _, j := range s.before[i] {
		if j < decided && s.chosen[j] < 0 {
			return true
		}
	}
	return false
}

func (s *search) take(i, o int, opt option, sign float64) {
	s.add(opt, sign)
	for q, b := range s.prices {
		s.paid[q] += sign * b.gain[i][o]
	}
	s.chosen[i] = o
	if sign < 0 {
		s.chosen[i] = -1
	}
}

func (s *search) upper(i, t, k int) float64 {
	least := math.Inf(1)
	for q, b := range s.prices {
		least = min(least, b.base+s.paid[q]+b.at(i, t, k))
	}
	return least
}

func (s *search) upperWith(i, o int, opt option, t, k int) float64 {
	least := math.Inf(1)
	for q, b := range s.prices {
		least = min(least, b.base+s.paid[q]+b.gain[i][o]+b.at(i+1, t-opt.time-s.p.pause, k-1))
	}
	return least
}
