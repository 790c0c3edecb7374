package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

const (
	beforeAfter = 22.0 // metres looked at on either side of a change of pace
	leastSide   = 2.5  // metres of steady pace needed on either side
	farOff      = 6.0  // metres: how far from its letter a change is looked for, one standard deviation
	leastChange = 0.3  // m/s: smaller changes of speed cannot be placed
)

// ramp is a way with one change of speed: parameters are the time and the place at which
// the speed is halfway between the two, the two speeds, and the seconds of the change.
func ramp(th []float64, t float64) float64 {
	tc, sc, v1, v2, r := th[0], th[1], th[2], th[3], th[4]
	x := t - tc
	switch {
	case x <= -r/2:
		return sc + v1*(x+r/8) - v2*r/8
	case x >= r/2:
		return sc + v1*r/8 + v2*(x-r/8)
	}
	return sc + (v1+v2)/2*x + (v2-v1)/(2*r)*x*x
}

// transition measures where a change of pace was ridden. Positions show only changes of
// speed: between trot and canter, within the canter lead and the like they show nothing.
func (r *ride) transition(b *book, f *rideplan.Figure) {
	e := entry{what: "transition place", letter: f.At, asked: 0, atM: float64(f.StartM+f.EndM) / 2}
	from, to := f.From.PaceOf(), f.Variety.PaceOf()
	if halts(from) || halts(to) {
		return // a halt has measures of its own
	}
	if from == to {
		e.kind = "transition place within a pace"
	}
	if from == gait.Trot && to == gait.Canter || from == gait.Canter && to == gait.Trot {
		r.motionTransition(b, f, e)
		return
	}
	a, z := r.onePace(e.atM, -1, f.From), r.onePace(e.atM, 1, f.Variety)
	if e.atM-a < leastSide || z-e.atM < leastSide {
		b.cannot(e, "the paces before and after are ridden too briefly to see where one changes into the other")
		return
	}
	if r.standsNear(e.atM) {
		b.cannot(e, "the horse turns on the spot here: the speed starts from nothing and does not show the change of pace")
		return
	}
	change, ok := r.changeAt(e.atM, a, z)
	if !ok {
		b.cannot(e, "the speed changes too little for positions to show where")
		return
	}
	e.slack = math.Abs(change.M-e.atM) / 2
	r.placeChange(b, e, f, change, a, z)
}

// placeChange finds the change of speed on the easy way around it.
func (r *ride) placeChange(b *book, e entry, f *rideplan.Figure, change rideplan.SpeedChange, a, z float64) {
	asPlanned, bends := r.easy(change, a, z, 1), r.slowing()
	way := r.easy(change, a, z, bends.share)
	length := math.Abs(change.V2-change.V1) / math.Abs(change.Acc)
	plan := r.planned(a, z)
	if len(plan) < 8 {
		b.cannot(e, "the plan's own change of speed is not clear here")
		return
	}
	planWay := newRiddenWay(plan, asPlanned)
	ref, ok := fitRamp(planWay, nil, e.atM, [3]prior{{change.V1, 0.1}, {change.V2, 0.1}, {length, 0.3}})
	if !ok {
		b.cannot(e, "the plan's own change of speed is not clear here")
		return
	}
	os, covered := r.over(a, z)
	e.at = during(os)
	if len(os) < 8 || covered < 0.8 {
		b.cannot(e, "too little around the transition was recorded")
		return
	}
	known := [3]prior{r.paceKnown(f.From, a, -1, change.V1), r.paceKnown(f.Variety, z, 1, change.V2), {length, 0.5}}
	w, ok := newWhitener(timesOf(os), math.Max(r.d.white, 0.01), r.uneven()*(change.V1+change.V2)/2, unevenTau)
	if !ok {
		b.cannot(e, "the fixes lie too close in time")
		return
	}
	ridden := newRiddenWay(os, way)
	got, ok := fitRamp(ridden, w, e.atM, known)
	if !ok || (got.theta[3]-got.theta[2])*(change.V2-change.V1) < 0 || math.Abs(got.theta[3]-got.theta[2]) < leastChange/2 {
		b.cannot(e, "no change of speed was found around the letter")
		return
	}
	free := freeFit(ridden, w, e.atM, known, got)
	worst := ridden.worst(free)
	if free.changesTwice(worst) {
		b.cannot(e, "the speed changes more than once around here, so that none of the times is surely the change")
		b.cannot(entry{what: "transition length", letter: f.At, asked: math.NaN(), at: e.at, atM: e.atM}, "which change of speed is the transition is not clear")
		r.smoothness(b, f, ridden, asPlanned, free, worst, 0)
		return
	}
	x, c, fromPriors := ridden.placeOf(got)
	at, rate := ridden.back(x)
	planX, _, _ := planWay.placeOf(ref)
	asked, _ := planWay.back(planX)
	e.value = at - asked
	for i := range c {
		c[i] *= rate
	}
	fromPriors *= rate * rate
	uneven := w.unevenness(c) * got.excess
	e.parts = append(r.d.of(ridden.weights(c)), part{fromRiding, fromPriors + uneven + unevenPlace*unevenPlace})
	if more := got.spread*rate*rate - e.parts[0].variance - e.parts[len(e.parts)-1].variance; more > 0 {
		e.parts = append(e.parts, part{fromRiding, more})
	}
	off := 0.0
	if other, ok := placeOn(r.easy(change, a, z, bends.share-otherShare), os, w, e.atM, known); ok {
		off = bends.sd / otherShare * clamp(other-at, -beforeAfter/2, beforeAfter/2)
		e.parts = append(e.parts, part{fromRiding, off * off})
	}
	e.at = instant(got.theta[0])
	b.add(e)
	r.lengthOfChange(b, f, ridden, w, free, e.atM, change.Acc)
	r.smoothness(b, f, ridden, asPlanned, free, worst, off)
}

// freeFit fits the change again with its seconds hardly held to the plan's; the first fit where that
// fails.
func freeFit(ridden *riddenWay, w *whitener, letter float64, known [3]prior, first *fit) *fit {
	known[2].sd = 3
	if x, ok := fitRamp(ridden, w, letter, known); ok {
		return x
	}
	return first
}

// placeOf is the way at which the speed passes halfway, where the fixes are at the time found, with
// the weight of each. The fitted curve itself may run metres beside the fixes: what wanders slowly
// costs the fit little, as a rider's speed does the same.
func (w *riddenWay) placeOf(x *fit) (way float64, c []float64, fromPriors float64) {
	v := (x.theta[2] + x.theta[3]) / 2
	var near []int
	for i, o := range w.os {
		if math.Abs(o.t-x.theta[0]) <= nearMiddle {
			near = append(near, i)
		}
	}
	if len(near) == 0 {
		c, fromPriors = x.weights([]float64{0, 1, 0, 0, 0})
		return x.theta[1], c, fromPriors
	}
	c, fromPriors = x.weights([]float64{v, 0, 0, 0, 0})
	way = x.theta[1]
	for _, i := range near {
		way += (w.xs[i] - ramp(x.theta, w.os[i].t)) / float64(len(near))
		c[i] += 1 / float64(len(near))
	}
	return way, c, fromPriors
}

// nearMiddle is how many seconds either side of a change say where the ride is in the middle of it.
const nearMiddle = 0.5

// otherShare is by how much less slowing down in bends a change is placed again, to see what it does.
const otherShare = 0.5

// placeOn is the metre of the plan at which a change is found on another way.
func placeOn(way *easyWay, os []obs, w *whitener, letter float64, known [3]prior) (float64, bool) {
	ridden := newRiddenWay(os, way)
	got, ok := fitRamp(ridden, w, letter, known)
	if !ok {
		return 0, false
	}
	there, _, _ := ridden.placeOf(got)
	m, _ := ridden.back(there)
	return m, true
}

// unevenPlace is what the unevenness of a steady pace adds to the place of its change, in
// metres, besides what the fit sees.
const unevenPlace = 0.15

// standsNear reports whether the plan comes to a stand within a metre of m, as on a turn on
// the haunches.
func (r *ride) standsNear(m float64) bool {
	for s := m - 1; s <= m+1; s += 0.2 {
		if r.planSpeed(s) < 0.4 {
			return true
		}
	}
	return false
}

func halts(p gait.Pace) bool { return p == gait.Halt || p == gait.ReinBack || p == "" }

// paceKnown is what the ride shows of the speed of a pace near metre m: the plan's speed
// there, scaled as the nearest long stretch in that pace was ridden.
func (r *ride) paceKnown(v gait.Variety, m, dir, planned float64) prior {
	lo, hi := m-45, m+6
	if dir > 0 {
		lo, hi = m-6, m+45
	}
	var best stretch
	for _, s := range r.stretches(math.Max(0, lo), hi) {
		if s.variety == v && s.z-s.a > best.z-best.a {
			best = s
		}
	}
	loose := prior{planned, 0.15 * planned}
	if best.z-best.a < shortestStretch {
		return loose
	}
	os, covered := r.over(best.a, best.z)
	if len(os) < 4 || covered < 0.6 {
		return loose
	}
	ws, got := r.speedWeights(os)
	sd, _ := sum(r.d.of(ws))
	return prior{planned * got / meanSpeed(r.planned(best.a, best.z)), math.Hypot(sd, 0.04*planned)}
}

// fitRamp finds the change of speed: a coarse search over its time, then the fit.
func fitRamp(ridden *riddenWay, w *whitener, letter float64, known [3]prior) (*fit, bool) {
	if len(ridden.os) < 8 {
		return nil, false
	}
	ts, ss := timesOf(ridden.os), ridden.xs
	sigma := 1.0
	if w == nil {
		sigma = 0.01
	}
	best, bestCost := []float64(nil), math.Inf(1)
	var places, costs []float64
	t0, t1 := ts[0], ts[len(ts)-1]
	for tc := t0 + 0.4; tc <= t1-0.4; tc += 0.3 {
		th, v, ok := rampAt(ts, ss, tc, w, sigma, known)
		if !ok {
			continue
		}
		off := (th[1] - ridden.at(letter)) / farOff
		v += off * off
		places, costs = append(places, th[1]), append(costs, v)
		if v < bestCost {
			best, bestCost = th, v
		}
	}
	if best == nil {
		return nil, false
	}
	x, ok := fitWhitened(ts, ss, ramp, best, []prior{{}, {}, known[0], known[1], known[2]}, sigma, func(th []float64) {
		th[0] = clamp(th[0], t0, t1)
		th[4] = clamp(th[4], 0.1, 5)
	}, w)
	if ok {
		x.excess = math.Max(1, x.ss/(sigma*sigma)/math.Max(1, float64(len(ts)-5)))
		x.spread = spreadOfPlaces(places, costs, bestCost, x.theta[1], x.excess)
	}
	return x, ok
}

// spreadOfPlaces is the mean square distance from the place found, over all places that
// were tried, each by its likelihood: larger than the fit's own variance where two places
// fit nearly alike. excess is by how much the data scatter more than they should.
func spreadOfPlaces(places, costs []float64, best, at, excess float64) float64 {
	var sum, ss float64
	for i, c := range costs {
		k := math.Exp(-(c - best) / (2 * excess))
		sum, ss = sum+k, ss+k*(places[i]-at)*(places[i]-at)
	}
	return ss / sum
}

// rampAt solves place and speeds for a change at a given time by linear least squares.
func rampAt(ts, ss []float64, tc float64, w *whitener, sigma float64, known [3]prior) (th []float64, cost float64, ok bool) {
	r, mid, n := known[2].mean, ss[len(ss)/2], len(ts)
	var col [4][]float64
	for j := range col {
		col[j] = make([]float64, n)
	}
	for i, t := range ts {
		col[0][i] = 1
		col[1][i] = ramp([]float64{tc, 0, 1, 0, r}, t)
		col[2][i] = ramp([]float64{tc, 0, 0, 1, r}, t)
		col[3][i] = ss[i] - mid
	}
	var a m3
	var g [3]float64
	for j := range col {
		col[j] = w.apply(col[j])
	}
	for i := range ts {
		for j := range 3 {
			for k := range 3 {
				a[j][k] += col[j][i] * col[k][i]
			}
			g[j] += col[j][i] * col[3][i]
		}
	}
	hold := [3]float64{}
	for j, p := range known[:2] {
		if p.sd > 0 {
			hold[j+1] = sigma * sigma / (p.sd * p.sd)
			a[j+1][j+1] += hold[j+1]
			g[j+1] += hold[j+1] * p.mean
		}
	}
	inv, ok := a.inverse()
	if !ok {
		return nil, 0, false
	}
	x := inv.mul(g)
	for i := range ts {
		d := col[3][i] - x[0]*col[0][i] - x[1]*col[1][i] - x[2]*col[2][i]
		cost += d * d
	}
	for j, p := range known[:2] {
		cost += hold[j+1] * (x[j+1] - p.mean) * (x[j+1] - p.mean)
	}
	return []float64{tc, x[0] + mid, x[1], x[2], r}, cost, true
}

func timesOf(os []obs) []float64 {
	ts := make([]float64, len(os))
	for i, o := range os {
		ts[i] = o.t
	}
	return ts
}

// nearLetter is the plan's letter nearest to a metre, for names.
func (r *ride) nearLetter(m float64) string {
	if r.plan.Board == nil {
		return ""
	}
	l, _ := r.plan.Board.NearestLetter(r.plan.SampleAtM(arena.Metres(m)).Point)
	return l
}
