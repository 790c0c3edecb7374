package measure

import (
	"math"

	"ringcraft/internal/gait"
)

// stretch is a piece of the plan ridden in one pace, away from its changes.
type stretch struct {
	variety gait.Variety
	a, z    float64 // metres of the plan
	whole   float64 // metres, what is left out at either end with it
}

const (
	shortestStretch = 6.0  // metres
	fromChange      = 0.04 // share of the speed that counts as steady
	awayFrom        = 3.0  // metres kept from either end, where the next thing is prepared
)

// stretches lists the pieces of the plan between two metres that are ridden in one pace at
// its steady speed, on lines no tighter than a 15 m circle.
func (r *ride) stretches(a, z float64) []stretch { return r.stretchesOn(a, z, bentLine) }

const (
	bentLine     = 0.14 // 1/m, a 15 m circle: bends from there on are ridden slower
	straightLine = 0.05 // 1/m, a line that is as good as straight for a horse's speed
)

// stretchesOn is the same on lines that bend less than this.
func (r *ride) stretchesOn(a, z, bent float64) []stretch {
	ss := r.plan.Samples
	var out []stretch
	i := 0
	for i < len(ss) && float64(ss[i].M) < a {
		i++
	}
	for i < len(ss) && float64(ss[i].M) <= z {
		v := ss[i].Variety
		if math.Abs(ss[i].Curvature) >= bent {
			i++
			continue
		}
		j := i
		for j+1 < len(ss) && float64(ss[j+1].M) <= z && ss[j+1].Variety == v &&
			math.Abs(float64(ss[j+1].Speed-ss[i].Speed)) <= fromChange*float64(ss[i].Speed) && math.Abs(ss[j+1].Curvature) < bent {
			j++
		}
		if p := v.PaceOf(); p != gait.Halt && p != gait.ReinBack && ss[i].Speed > 0.5 {
			a, z := float64(ss[i].M), float64(ss[j].M)
			ease := math.Max(0, math.Min(awayFrom, (z-a-shortestStretch)/2))
			out = append(out, stretch{v, a + ease, z - ease, z - a})
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
	e.parts = append(r.d.of(c), part{fromRiding, r.unlikeMean(os, value)})
	b.add(e)
}

const (
	// wavering is the share by which the way ridden is longer or shorter than what its fixes show
	// of it: a line that wavers a little to either side of the plan's.
	wavering = 0.001
	// littleOf is the share of a speed that counts for little in it.
	littleOf = 0.003
	// endsKnown is to how many metres the ends of a stretch are known.
	endsKnown = 0.4
)

// unlikeMean is the variance of a mean speed that is not the recorder's. Where the speed changes
// over the stretch the mean depends on where exactly it ends, and its edges count for less than
// its middle.
func (r *ride) unlikeMean(os []obs, value float64) float64 {
	n := len(os)
	way := math.Max(os[n-1].m-os[0].m, 1)
	edges := float64(r.edgeCount(os)) / float64(n)
	return math.Pow(wavering*value, 2) + math.Pow((edges+endsKnown/way)*r.halves(os), 2)
}

// halves is by how much the speeds of the two halves of some fixes differ beyond what the
// recorder's error makes of equal ones: where it is large, the mean depends on where exactly the
// stretch begins and ends.
func (r *ride) halves(os []obs) float64 {
	k := len(os) / 2
	if k < 3 {
		return 0
	}
	wa, a := r.speedWeights(os[:k])
	wb, b := r.speedWeights(os[k:])
	noise, _ := sum(r.d.of(joined(wa, -1, wb, 1)))
	return math.Sqrt(math.Max(0, (b-a)*(b-a)-noise*noise))
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
	return ws, value * (1 - bent + r.aslant(os))
}

// aslantOver is the metres of way over which the angle between the ridden line and the plan's is
// taken, long enough for a swaying horse not to count as going to the side.
const aslantOver = 5.0

// aslant is the share by which a way is longer because it runs at an angle to the plan's, as on a
// circle that is too small or a loop that is too deep; jitter's own share is taken out.
func (r *ride) aslant(os []obs) float64 {
	var sum, way float64
	for i := 0; i < len(os); {
		j := i
		for j+1 < len(os) && (os[j].s-os[i].s < aslantOver || j-i < 3) {
			j++
		}
		if ds := os[j].s - os[i].s; j-i >= 3 && ds > aslantOver/2 {
			slope, sd := slopeOf(os[i:j+1], r.d.white)
			sum, way = sum+ds*(slope*slope-sd*sd)/2, way+ds
		}
		i = j + 1
	}
	if way < aslantOver {
		return 0
	}
	return math.Max(0, sum/way)
}

// slopeOf is how far to the left a line runs off per metre, with what jitter makes of it.
func slopeOf(os []obs, white float64) (slope, sd float64) {
	var ms, ml, ss, sl float64
	for _, o := range os {
		ms, ml = ms+o.s/float64(len(os)), ml+o.left/float64(len(os))
	}
	for _, o := range os {
		ss += (o.s - ms) * (o.s - ms)
		sl += (o.s - ms) * (o.left - ml)
	}
	return sl / ss, white / math.Sqrt(ss)
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

// edgeCount is how many fixes at either end are averaged: as many as it takes for their jitter
// to count for little in the speed, at most a third of the stretch. More would only leave out
// what the ends themselves were ridden at.
func (r *ride) edgeCount(os []obs) int {
	n := len(os)
	way := math.Max(os[n-1].m-os[0].m, 1)
	k := 2 * math.Pow(r.d.white/(littleOf*way), 2)
	return int(clamp(math.Ceil(k), 1, math.Max(1, float64(n)/3)))
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

// heldShare is the share of the stretch on which at least half of the gain was kept that the
// ride showed at its best. Against the planned gain a pace that was never made big, or a slow
// horse, would be called given up.
func (r *ride) heldShare(b *book, e entry, os []obs, base, planned float64) {
	list, ok := r.pieces(os, pieceParts)
	if !ok {
		b.cannot(e, "the speed cannot be followed finely enough")
		return
	}
	best, sd := bestOf(list)
	half := (best - base) / 2
	switch {
	case half < 0.15*planned:
		b.cannot(e, "too little was gained to say how long it was held")
		return
	case sd > half/2:
		b.cannot(e, "the speed cannot be followed finely enough")
		return
	}
	for _, parts := range []int{4 * pieceParts, 2 * pieceParts} { // the finest that the recorder allows
		if fine, ok := r.pieces(os, parts); ok && worst(fine) < half/5 {
			list = fine
			break
		}
	}
	kept, v := keptShare(list, base+half)
	more, _ := keptShare(list, base+half-sd/2)
	less, _ := keptShare(list, base+half+sd/2)
	v += (more - less) * (more - less) / 4 // the edge at which it counts as kept is itself in doubt
	way := math.Max(os[len(os)-1].m-os[0].m, 1)
	e.value = 100 * math.Min(1, kept)
	step := 1 / float64(len(list)) // the place where it is given up lies anywhere in one
	e.parts = []part{{fromRiding, 1e4 * (v + math.Pow(endsKnown/way, 2) + step*step/12)}}
	b.add(e)
}

// keptShare is the share of the way ridden faster than edge, and its variance.
func keptShare(list []piece, edge float64) (kept, v float64) {
	open := make([]float64, len(list)) // how open each piece is, as a share of the way
	for i, x := range list {
		p := tail((x.speed - edge) / math.Hypot(x.sd, usualUneven*x.speed))
		kept += p * x.share
		open[i] = math.Sqrt(p*(1-p)) * x.share
	}
	for i := range open { // pieces that overlap are open together
		for j := max(0, i-overlap); j < min(len(open), i+overlap+1); j++ {
			v += open[i] * open[j] * (1 - math.Abs(float64(i-j))/overlap)
		}
	}
	return kept, v
}

const (
	pieceParts = 8 // a piece is so small a part of its stretch, or finer
	overlap    = 4 // windows begin within one window's length
)

// piece is the speed over an eighth of a stretch or less, and the share of the way that its middle
// stands for.
type piece struct{ speed, sd, share float64 }

// pieces slide over a stretch, each one of so many parts of it: where a pace is given up, the speed of the one around that
// place is halfway down. ok is false when the stretch holds too few fixes.
func (r *ride) pieces(os []obs, parts int) (out []piece, ok bool) {
	last := len(os) - 1
	n := last / parts
	if n < 2 {
		return nil, false
	}
	total := math.Max(os[last].m-os[0].m, 1)
	var mids []float64
	for k := 0; k <= overlap*(parts-1); k++ {
		lo := k * (last - n) / (overlap * (parts - 1))
		part := os[lo : lo+n+1]
		ws, v := r.speedWeights(part)
		sd, _ := sum(r.d.of(ws))
		out = append(out, piece{speed: v, sd: sd})
		mids = append(mids, ((part[n/2].m+part[(n+1)/2].m)/2-os[0].m)/total) // the middle in time
	}
	for k := range out {
		from, to := 0.0, 1.0
		if k > 0 {
			from = (mids[k-1] + mids[k]) / 2
		}
		if k+1 < len(out) {
			to = (mids[k] + mids[k+1]) / 2
		}
		out[k].share = math.Max(to-from, 0)
	}
	return out, true
}

// bestOf is the fastest mean of two pieces that follow on each other, less what their doubt alone
// would put on top of it, and the largest doubt of one.
func bestOf(list []piece) (best, sd float64) {
	sd = worst(list)
	for i, x := range list {
		if i >= overlap {
			best = math.Max(best, (x.speed+list[i-overlap].speed)/2)
		}
	}
	return best - 0.5*sd, sd
}

// worst is the largest doubt of a piece's speed.
func worst(list []piece) (sd float64) {
	for _, x := range list {
		sd = math.Max(sd, x.sd)
	}
	return sd
}
