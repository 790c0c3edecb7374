package measure

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// stretch is a piece of the plan ridden in one pace, away from its changes.
type stretch struct {
	variety gait.Variety
	a, z    float64 // metres of the plan
}

const (
	shortestStretch = 6.0  // metres
	fromChange      = 0.04 // share of the speed that counts as steady
	awayFrom        = 3.0  // metres kept from either end, where the next thing is prepared
)

// stretches lists the pieces of the plan between two metres that are ridden in one pace at
// its steady speed, on lines no tighter than a 15 m circle.
func (r *ride) stretches(a, z float64) []stretch {
	ss := r.plan.Samples
	var out []stretch
	i := 0
	for i < len(ss) && float64(ss[i].M) < a {
		i++
	}
	for i < len(ss) && float64(ss[i].M) <= z {
		v := ss[i].Variety
		if math.Abs(ss[i].Curvature) >= 0.14 {
			i++
			continue
		}
		j := i
		for j+1 < len(ss) && float64(ss[j+1].M) <= z && ss[j+1].Variety == v &&
			math.Abs(float64(ss[j+1].Speed-ss[i].Speed)) <= fromChange*float64(ss[i].Speed) && math.Abs(ss[j+1].Curvature) < 0.14 {
			j++
		}
		if p := v.PaceOf(); p != gait.Halt && p != gait.ReinBack && ss[i].Speed > 0.5 {
			a, z := float64(ss[i].M), float64(ss[j].M)
			ease := math.Max(0, math.Min(awayFrom, (z-a-shortestStretch)/2))
			out = append(out, stretch{v, a + ease, z - ease})
		}
		i = j + 1
	}
	return out
}

// speed measures the mean speed of the movement's main pace, over its longest steady
// stretch.
func (r *ride) speed(b *book) {
	best := r.mainStretch(b)
	if best.z-best.a < shortestStretch {
		return
	}
	e := entry{what: "speed", letter: string(best.variety), atM: (best.a + best.z) / 2}
	e.asked = meanSpeed(r.planned(best.a, best.z))
	os, covered := r.over(best.a, best.z)
	e.at = during(os)
	if len(os) < 4 || covered < 0.6 {
		b.cannot(e, "too little of the movement was recorded")
		return
	}
	c, value := r.speedWeights(os)
	e.value = value
	e.parts = append(r.d.of(c), part{fromRiding, math.Pow(0.007*value, 2) + math.Pow(edgeShare*r.halves(os), 2)})
	b.add(e)
}

// edgeShare is what a mean speed moves with the speed's change over its stretch: the ends of
// it are known to half a metre or so, and count for less than the middle.
const edgeShare = 0.1

// halves is the speed of the second half of some fixes less that of the first: where it is
// large, the mean depends on where exactly the stretch begins and ends.
func (r *ride) halves(os []obs) float64 {
	k := len(os) / 2
	if k < 3 {
		return 0
	}
	_, a := r.speedWeights(os[:k])
	_, b := r.speedWeights(os[k:])
	return b - a
}

// meanSpeed is way over time of exact samples.
func meanSpeed(os []obs) float64 {
	if len(os) < 2 {
		return math.NaN()
	}
	return (os[len(os)-1].s - os[0].s) / (os[len(os)-1].t - os[0].t)
}

// speedWeights returns the mean speed over some fixes: the way between the mean of the first
// and the mean of the last of them over the time between, where the way is that of the ridden
// line, longer than the planned one outside a bend and shorter inside.
func (r *ride) speedWeights(os []obs) ([]weight, float64) {
	n := len(os)
	edge := r.edgeCount(os)
	c := make([]float64, n)
	var span, value float64
	for i := range edge {
		c[i] -= 1 / float64(edge)
		c[n-1-i] += 1 / float64(edge)
	}
	for i := range os {
		span += c[i] * os[i].t
	}
	for i := range c {
		c[i] /= span
		value += c[i] * os[i].s
	}
	ws := along(os, c)
	var bent float64
	for i, share := range wayShares(os) {
		o := os[i]
		bent += o.k * o.left * share
		side := o.u.Left().Mul(-value * o.k * share)
		ws[i].wx, ws[i].wy = ws[i].wx+side.X, ws[i].wy+side.Y
	}
	return ws, value * (1 - bent)
}

// wayShares is the share of the planned way that each fix stands for.
func wayShares(os []obs) []float64 {
	n := len(os)
	out := make([]float64, n)
	total := os[n-1].m - os[0].m
	for i := range os {
		if total <= 0 {
			out[i] = 1 / float64(n)
			continue
		}
		out[i] = (os[min(i+1, n-1)].m - os[max(i-1, 0)].m) / (2 * total)
	}
	return out
}

// edgeCount is how many fixes at either end are averaged: a tenth of the stretch for a fine
// recorder, up to a third for a coarse one.
func (r *ride) edgeCount(os []obs) int {
	share := 0.1 + 0.23*math.Min(1, r.d.white/0.3)
	return max(1, int(share*float64(len(os))))
}

// bigger measures a medium, lengthened or extended pace: how much faster than the pace
// before it, and how much of the distance it was held.
func (r *ride) bigger(b *book, f *rideplan.Figure) {
	if f.Between {
		return // a few strides anywhere on the line: the plan's place binds nobody
	}
	a, z := float64(f.StartM), float64(f.EndM)
	gain := entry{what: "gain", letter: f.At, atM: (a + z) / 2}
	held := entry{what: "held", letter: f.At, atM: gain.atM, asked: 100}
	base, ok := r.paceBefore(f)
	var fast stretch
	for _, s := range r.stretches(a, z) {
		if s.variety == f.Variety && s.z-s.a > fast.z-fast.a {
			fast = s
		}
	}
	if !ok || fast.z-fast.a < shortestStretch {
		return
	}
	vb0, vf0 := meanSpeed(r.planned(base.a, base.z)), meanSpeed(r.planned(fast.a, fast.z))
	gain.asked = 100 * (vf0/vb0 - 1)
	ob, cb := r.over(base.a, base.z)
	of, cf := r.over(fast.a, fast.z)
	gain.at, held.at = during(of), during(of)
	if len(ob) < 4 || len(of) < 4 || cb < 0.6 || cf < 0.6 {
		why := "too little of the pace and of the one before was recorded"
		b.cannot(gain, why)
		b.cannot(held, why)
		return
	}
	wb, vb := r.speedWeights(ob)
	wf, vf := r.speedWeights(of)
	gain.value = 100 * (vf/vb - 1)
	gain.parts = append(r.d.of(joined(wb, -100*vf/(vb*vb), wf, 100/vb)), part{fromRiding, math.Pow(100*0.011*vf/vb, 2)},
		part{fromRiding, math.Pow(100*edgeShare*r.halves(of)/vb, 2) + math.Pow(100*edgeShare*r.halves(ob)*vf/(vb*vb), 2)})
	b.add(gain)
	r.heldShare(b, held, of, vb, vf0-vb0)
}

// joined scales and joins two sets of weights in time order.
func joined(a []weight, ka float64, b []weight, kb float64) []weight {
	out := make([]weight, 0, len(a)+len(b))
	for _, w := range a {
		out = append(out, weight{w.t, w.at, ka * w.wx, ka * w.wy})
	}
	for _, w := range b {
		out = append(out, weight{w.t, w.at, kb * w.wx, kb * w.wy})
	}
	return out
}

// paceBefore finds the steady stretch of the same pace nearest before (else after) a figure.
func (r *ride) paceBefore(f *rideplan.Figure) (stretch, bool) {
	var best stretch
	for _, s := range r.stretches(math.Max(0, float64(f.StartM)-60), float64(f.StartM)) {
		if s.variety != f.Variety && s.variety.PaceOf() == f.Variety.PaceOf() && s.z-s.a >= shortestStretch {
			best = s
		}
	}
	if best.z > 0 {
		return best, true
	}
	for _, s := range r.stretches(float64(f.EndM), float64(f.EndM)+60) {
		if s.variety != f.Variety && s.variety.PaceOf() == f.Variety.PaceOf() && s.z-s.a >= shortestStretch {
			return s, true
		}
	}
	return best, false
}

// heldShare is the share of the stretch on which at least half of the gain was kept that the
// ride showed at its best, in eighths. Against the planned gain a pace that was never made
// big, or a slow horse, would be called given up.
func (r *ride) heldShare(b *book, e entry, os []obs, base, planned float64) {
	eighths, ok := r.eighths(os)
	if !ok {
		b.cannot(e, "the speed cannot be followed finely enough")
		return
	}
	best, sd := bestOf(eighths)
	half := (best - base) / 2
	switch {
	case half < 0.15*planned:
		b.cannot(e, "too little was gained to say how long it was held")
		return
	case sd > half/2:
		b.cannot(e, "the speed cannot be followed finely enough")
		return
	}
	var kept, v float64
	for _, x := range eighths {
		p := tail((x.speed - base - half) / math.Hypot(x.sd, usualUneven*x.speed))
		kept += p * x.share
		v += p * (1 - p) * x.share * x.share
	}
	e.value = 100 * math.Min(1, kept)
	// the edge of the part held lies somewhere in an eighth
	e.parts = []part{{fromRiding, 1e4 * (v + 1.0/(8*8*12))}}
	b.add(e)
}

// eighth is the speed over an eighth of a stretch and its share of the way.
type eighth struct{ speed, sd, share float64 }

// eighths splits a stretch; ok is false when it holds too few fixes.
func (r *ride) eighths(os []obs) (out []eighth, ok bool) {
	const n = 8
	last := len(os) - 1
	total := os[last].s - os[0].s
	for k := range n {
		lo, hi := k*last/n, (k+1)*last/n
		if hi-lo < 2 {
			return nil, false
		}
		ws, v := r.speedWeights(os[lo : hi+1])
		sd, _ := sum(r.d.of(ws))
		out = append(out, eighth{v, sd, (os[hi].s - os[lo].s) / total})
	}
	return out, true
}

// bestOf is the mean of the two fastest neighbouring eighths, and the largest doubt of one.
func bestOf(list []eighth) (best, sd float64) {
	for i, x := range list {
		sd = math.Max(sd, x.sd)
		if i > 0 {
			best = math.Max(best, (x.speed+list[i-1].speed)/2)
		}
	}
	return best, sd
}

// isBigger says whether a figure is a pace to be shown bigger than the one before.
func isBigger(k terms.Kind) bool {
	return k == terms.MediumPace || k == terms.ExtendedPace || k == terms.Lengthened
}
