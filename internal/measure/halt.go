package measure

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

const (
	haltReach  = 10.0 // metres of straight line looked at before and after a halt
	stillBelow = 0.2  // m/s: slower is standing still
)

// stand is a way with a halt: still from t1 to t2 at sh, slowing down over r1 seconds from
// v1, setting off over r2 seconds to v2.
func stand(th []float64, t float64) float64 {
	t1, t2, sh, v1, v2, r1, r2 := th[0], th[1], th[2], th[3], th[4], th[5], th[6]
	switch {
	case t < t1-r1:
		return sh - v1*(t1-t-r1/2)
	case t < t1:
		return sh - v1*(t1-t)*(t1-t)/(2*r1)
	case t <= t2:
		return sh
	case t < t2+r2:
		return sh + v2*(t-t2)*(t-t2)/(2*r2)
	}
	return sh + v2*(t-t2-r2/2)
}

// halt measures where and how long the ride stood still.
func (r *ride) halt(b *book, f *rideplan.Figure) {
	m := float64(f.StartM)
	place := entry{what: "halt place", letter: f.At, atM: m}
	dur := entry{what: "halt duration", letter: f.At, atM: m, nominal: float64(f.Seconds)}
	ref, ok := r.planHalt(m)
	if !ok {
		why := "the plan does not stand here"
		b.cannot(place, why)
		b.cannot(dur, why)
		return
	}
	dur.asked = immobility(f)
	os := r.aroundHalt(m)
	if len(os) < 8 {
		why := "the halt was not recorded"
		b.cannot(place, why)
		b.cannot(dur, why)
		return
	}
	begin, ahead, aheadSD, back := r.steppedForward(m)
	seen := back && aheadSD < clearStep && ahead > math.Max(0.08, 2*aheadSD)
	if seen {
		os = until(os, begin) // what comes then is the step, not the going back
	}
	if len(os) < 8 {
		why := "the horse hardly stood before it stepped forward"
		b.cannot(place, why)
		b.cannot(dur, why)
		return
	}
	got, ok := fitHalt(os, ref, math.Max(r.d.white, 0.02))
	if !ok {
		why := "no standing still was found near the place"
		b.cannot(place, why)
		b.cannot(dur, why)
		return
	}
	if os[0].m > m+joinsAfter {
		why := "the recording joins the test after this halt"
		b.cannot(place, why)
		b.cannot(dur, why)
		return
	}
	place.at = when{got.theta[0], (got.theta[0] + got.theta[1]) / 2, got.theta[1], true}
	dur.at = place.at
	if two := got.movedWithin(os, r.d.white); two != "" && !r.backwards(m+0.3) {
		b.cannot(place, two)
		b.cannot(dur, two)
		return
	}
	if r.backwards(m + 0.3) {
		unseen := unseenStep
		if seen || back && aheadSD < clearStep/2 {
			unseen = 0.3
		}
		unseen = math.Min(unseen, 0.4*math.Max(got.still(), 0.3)) // it hides in what looks like standing
		place.parts = append(place.parts, part{fromRiding, 0.03 * 0.03})
		dur.parts = append(dur.parts, part{fromStep, unseen * unseen})
	}
	r.haltPlace(b, place, f, os, got)
	r.haltDuration(b, dur, os, got)
	r.approach(b, f, os, got)
}

// usualImmobility is how long a halt lasts at the least where the sheet says no number: the
// 3 s that national sheets print. Longer is no fault, so the salute is not asked on top.
const usualImmobility = 3.0

func immobility(f *rideplan.Figure) float64 {
	if f.Seconds > 0 {
		return float64(f.Seconds)
	}
	return usualImmobility
}

// halted is a fitted halt.
type halted struct {
	*fit
	ts   []float64
	open bool // the recording ends before the horse sets off
	late bool // the recording begins when the horse stands
}

// bounded says why a halt is not seen whole, "" when it is.
func (h halted) bounded() string {
	switch {
	case h.open:
		return "the setting off was not seen: the halt lasted at least this long"
	case h.late:
		return "the recording begins at the halt: it lasted at least this long"
	}
	return ""
}

// still is how long the speed stays below stillBelow.
func (h halted) still() float64 {
	t1, t2, v1, v2, r1, r2 := h.theta[0], h.theta[1], h.theta[3], h.theta[4], h.theta[5], h.theta[6]
	d := t2 - t1
	if !h.late {
		d += stillBelow * r1 / math.Max(math.Abs(v1), 0.5)
	}
	if !h.open {
		d += stillBelow * r2 / math.Max(math.Abs(v2), 0.5)
	}
	return d
}

func (r *ride) haltPlace(b *book, e entry, f *rideplan.Figure, os []obs, h halted) {
	u := os[0].u
	asked := f.Place
	if asked == (arena.Point{}) && f.At != "A" {
		asked = r.plan.SampleAtM(f.StartM).Point
	}
	e.value = h.theta[2] - float64(f.StartM) + r.plan.SampleAtM(f.StartM).Point.Sub(asked).Dot(u)
	c, fromPriors := h.weights([]float64{0, 0, 1, 0, 0, 0, 0})
	e.parts = append(e.parts, append(r.d.of(along(os, c)), part{fromRiding, fromPriors + h.riding(h.ts, c, r.d.white) + 0.015*0.015})...)
	b.add(e)
}

const (
	// clearStep is the doubt, in metres, with which a step forward before a rein-back can be seen.
	clearStep = 0.08
	// unseenStep is by how many seconds one that is not seen moves the end of the halt: it takes about
	// one, and as long again to come back.
	unseenStep = 0.9
	fromStep   = "a step forward before going back, seen or not, blurs when the halt ended"
)

// until keeps what was before a time.
func until(os []obs, t float64) []obs {
	n := len(os)
	for n > 0 && os[n-1].t > t {
		n--
	}
	return os[:n]
}

func (r *ride) haltDuration(b *book, e entry, os []obs, h halted) {
	e.value = math.Max(0, h.still())
	g := []float64{-1, 1, 0, 0, 0, stillBelow / math.Max(math.Abs(h.theta[3]), 0.5), stillBelow / math.Max(math.Abs(h.theta[4]), 0.5)}
	if h.open {
		g[1], g[6] = 0, 0
	}
	if h.late {
		g[0], g[5] = 0, 0
	}
	e.bounded = h.bounded()
	c, fromPriors := h.weights(g)
	e.parts = append(e.parts, append(r.d.of(along(os, c)), part{fromRiding, fromPriors + h.riding(h.ts, c, r.d.white) + 0.1*0.1})...)
	b.add(e)
	if m := &b.list[len(b.list)-1]; e.bounded != "" && m.Verdict != OK {
		m.Verdict = CannotTell
	}
}

// planHalt fits the plan's own halt at metre m.
func (r *ride) planHalt(m float64) (halted, bool) {
	lo, hi := r.straightAround(m)
	os := r.onLine(r.planned(lo, hi), m)
	var t1, t2 float64
	found := false
	for _, o := range os {
		if math.Abs(o.m-m) < 0.02 {
			if !found {
				t1, found = o.t, true
			}
			t2 = o.t
		}
	}
	if !found || t2-t1 < 0.3 {
		return halted{}, false
	}
	v1, v2 := r.planSpeed(math.Max(lo, m-4)), (os[len(os)-1].s-m)/math.Max(os[len(os)-1].t-t2, 1)
	return fitStand(os, []float64{t1, t2, m, v1, v2, 1.5, 1.5}, []prior{{}, {}, {}, {}, {}, {1.5, 5}, {1.5, 5}}, 0.01, hi-m < 0.5, false)
}

// straightAround is how far the plan keeps to the line of a halt before and after it, at most
// haltReach; going back along the same line counts, another halt ends it.
func (r *ride) straightAround(m float64) (lo, hi float64) {
	_, u0, _ := r.dirs(math.Max(0, m-0.3))
	keep := func(dir float64) float64 {
		end, sign := m, 0.0
		for d := 0.3; d <= haltReach; d += 0.3 {
			at := m + dir*d
			if at < 0 || at > float64(r.plan.Length)+0.01 {
				break
			}
			_, u, _ := r.dirs(at)
			if sign == 0 {
				sign = math.Copysign(1, u.Dot(u0))
			}
			if sign*u.Dot(u0) < 0.99 || d > 1 && r.planSpeed(at) < 0.1 {
				break
			}
			end = at
		}
		return end
	}
	return keep(-1), keep(1)
}

// onLine measures the way along the line of a halt, forward, also where the plan goes back.
func (r *ride) onLine(os []obs, m float64) []obs {
	p := r.plan.SampleAtM(metres(m)).Point
	_, u, _ := r.dirs(math.Max(0, m-0.3))
	for i := range os {
		q := os[i].at.Sub(p)
		os[i].u, os[i].s, os[i].left = u, m+q.Dot(u), q.Dot(u.Left())
	}
	return os
}

// aroundHalt returns the fixes around a planned halt, seen along its line. Where the plan
// leaves the line while the ride still stands (after the last halt, or where a late halt lies
// near the turn after it), the line of approach goes on; so it does before a rein-back, where a horse
// that halts early stands beside the plan's way back and its fixes are taken for that.
func (r *ride) aroundHalt(m float64) []obs {
	lo, hi := r.straightAround(m)
	os, _ := r.over(lo, hi)
	os = r.onLine(os, m)
	back, away := hi-m > 0.5 && r.backwards(m+0.3), underWay
	if back {
		away = backAgain
	}
	if len(os) == 0 || !back && !r.stillThere(os, hi-m) || back && (r.d.white > seesBack || r.wentBack(os)) {
		return os
	}
	end, at := os[len(os)-1].t, os[len(os)-1].s
	until := end + goesOn
	fs := r.rec.Fixes
	for i := sort.Search(len(fs), func(i int) bool { return float64(fs[i].T) > end }); i < len(fs) && float64(fs[i].T) < until; i++ {
		if fs[i].Outlier {
			continue
		}
		o := r.onLine([]obs{{t: float64(fs[i].T), at: fs[i].Point}}, m)[0]
		if math.Abs(o.left) > 2+4*r.d.white || hi-m > 0.5 && math.Abs(o.s-at) > away+4*r.d.white {
			break
		}
		if os = append(os, o); r.standsStill(os) {
			until = math.Min(math.Max(until, o.t+settingOff), end+longestSeen)
		}
	}
	return os
}

const (
	goesOn      = 8.0  // s: how long after the line's end a horse may come to a halt and still be seen
	settingOff  = 4.0  // s: how long after it last stood its setting off is looked for,
	longestSeen = 30.0 // s: at the most so long after the line's end
	underWay    = 2.5  // m: a horse that has gone so far is under way
	backAgain   = 0.5  // m: before a rein-back, so that the stand after it is not seen too,
	seesBack    = 0.12 // m: with more jitter than that it would be
)

// wentBack reports whether some fixes end well behind the furthest of them.
func (r *ride) wentBack(os []obs) bool {
	far := math.Inf(-1)
	for _, o := range os {
		far = math.Max(far, o.s)
	}
	return far-os[len(os)-1].s > 0.5+3*r.d.white
}

// standsStill reports whether the last second and a half of some fixes hardly move.
func (r *ride) standsStill(os []obs) bool {
	last := os[len(os)-1]
	i := len(os) - 1
	for i > 0 && last.t-os[i].t < 1.5 {
		i--
	}
	return math.Abs(last.s-os[i].s) < 0.5+3*r.d.white
}

// stillThere reports whether the fixes end with the horse standing, or the line with the halt.
func (r *ride) stillThere(os []obs, beyond float64) bool {
	if beyond < 0.5 {
		return true
	}
	last := os[len(os)-1]
	i := len(os) - 1
	for i > 0 && last.t-os[i-1].t < 1.5 {
		i--
	}
	return math.Abs(last.s-os[i].s) < 1.5+2*r.d.white
}

// fitHalt searches the standing still in the fixes, then fits it.
func fitHalt(os []obs, ref halted, sigma float64) (halted, bool) {
	ts := timesOf(os)
	t0, t1 := ts[0], ts[len(ts)-1]
	r1, r2 := ref.theta[5], ref.theta[6]
	best, bestSS := []float64(nil), math.Inf(1)
	const grid = 0.5
	for a := t0 + 0.2; a < t1; a += grid {
		for z := a; z <= t1; z += grid {
			th, cost, ok := standAt(os, []float64{a, z, 0, 0, 0, r1, r2})
			if ok && cost < bestSS {
				best, bestSS = th, cost
			}
		}
	}
	if best == nil {
		return halted{}, false
	}
	// nothing moved off after the halt: how long it lasted is not seen to its end
	open := math.Abs(stand(best, t1)-best[2]) < 0.3+2*sigma/math.Sqrt(5)
	late := math.Abs(stand(best, t0)-best[2]) < 0.3+2*sigma/math.Sqrt(5)
	if open {
		best[1] = math.Max(best[0], lastAt(os, best[2], sigma))
	}
	ps := []prior{{}, {}, {}, {}, {}, {r1, 0.6}, {r2, 0.6}}
	got, ok := fitStand(os, best, ps, sigma, open, late)
	// a horse that stops or moves off at once lies in another hollow than one that takes its time
	for _, at := range []int{5, 6} {
		quick := append([]float64(nil), best...)
		quick[at] = 0.3
		if other, fits := fitStand(os, quick, ps, sigma, open, late); fits && (!ok || other.whole() < got.whole()) {
			got, ok = other, true
		}
	}
	return got, ok
}

// lastAt is the time of the last fix about which the ride still was where it stood: what came after,
// a second at the most, may be the setting off.
func lastAt(os []obs, place, sigma float64) float64 {
	const most = 1.0
	i, last := len(os)-1, os[len(os)-1].t
	for i > 0 && last-os[i-1].t <= most && math.Abs(runningPlace(os, i)-place) > 0.12+2*sigma/math.Sqrt(5) {
		i--
	}
	return os[i].t
}

// standAt solves place and speeds for a halt at given times by linear least squares.
func standAt(os []obs, th []float64) ([]float64, float64, bool) {
	var a m3
	var g [3]float64
	mid := os[len(os)/2].s
	before := []float64{th[0], th[1], 0, 1, 0, th[5], th[6]}
	after := []float64{th[0], th[1], 0, 0, 1, th[5], th[6]}
	for _, o := range os {
		w := [3]float64{1, stand(before, o.t), stand(after, o.t)}
		for j := range 3 {
			for k := range 3 {
				a[j][k] += w[j] * w[k]
			}
			g[j] += w[j] * (o.s - mid)
		}
	}
	a[2][2] += 1e-6 // nothing after the halt: its speed is free
	a[1][1] += 1e-6
	inv, ok := a.inverse()
	if !ok {
		return nil, 0, false
	}
	x := inv.mul(g)
	out := []float64{th[0], th[1], x[0] + mid, x[1], x[2], th[5], th[6]}
	var cost float64
	for _, o := range os {
		d := o.s - stand(out, o.t)
		cost += d * d
	}
	return out, cost, true
}

func fitStand(os []obs, start []float64, ps []prior, sigma float64, open, late bool) (halted, bool) {
	ts, ss := timesOf(os), make([]float64, len(os))
	for i, o := range os {
		ss[i] = o.s
	}
	last := ts[len(ts)-1]
	ps, start = append([]prior(nil), ps...), append([]float64(nil), start...)
	if open { // what comes after is not seen: keep it where it does not matter
		ps[1], ps[4] = prior{start[1], 1e-3}, prior{0, 1}
	}
	if late {
		start[0] = ts[0]
		ps[0], ps[3] = prior{ts[0], 1e-3}, prior{0, 1}
	}
	x, ok := fitCurve(ts, ss, stand, start, ps, sigma, func(th []float64) {
		th[5], th[6] = clamp(th[5], 0.1, 6), clamp(th[6], 0.1, 6)
		th[0] = clamp(th[0], ts[0]-1, last)
		th[1] = clamp(th[1], th[0], last)
	})
	if !ok {
		return halted{}, false
	}
	return halted{fit: x, ts: ts, open: open, late: late}, true
}

func clamp(v, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, v)) }

// joinsAfter is how many metres past a halt the first fix may lie for it still to be seen.
const joinsAfter = 1.0
