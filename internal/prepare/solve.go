package prepare

import (
	"context"
	"math"
	"slices"
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
