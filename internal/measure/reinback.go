package measure

import (
	"math"

	"ringcraft/internal/rideplan"
)

// reined is a way with a rein-back: stops at x0 at ta (slowing over a second and a half from
// v0), stands until t0, goes back to x1 until t1, stands until t2, goes forward and reaches v
// in a second and a half. Before it goes back it may step forward.
func reined(th []float64, t float64) float64 {
	ta, t0, t1, t2, x0, x1, v0, v := th[0], th[1], th[2], th[3], th[4], th[5], th[6], th[7]
	const rise = 1.5
	ahead := th[8] * clamp((t0-ta-stepTakes)/0.3, 0, 1) // metres stepped forward just before going back, where there is time for it
	switch {
	case t < ta-rise:
		return x0 - v0*(ta-t-rise/2)
	case t < ta:
		return x0 - v0*(ta-t)*(ta-t)/(2*rise)
	case t <= t0:
		return x0 + ahead*eased(clamp((t-t0+stepTakes)/stepTakes, 0, 1))
	case t < t1:
		return x0 + ahead + (x1-x0-ahead)*eased((t-t0)/(t1-t0))
	case t <= t2:
		return x1
	case t < t2+rise:
		return x1 + v*(t-t2)*(t-t2)/(2*rise)
	}
	return x1 + v*(t-t2-rise/2)
}

const (
	// stoodLeast is how many seconds a horse must stand for the place it goes back from to be sharp.
	stoodLeast = 0.8 + stepTakes
	// usualStep is how many metres it may have gone forward where that cannot be seen (assumption).
	usualStep = 0.06
)

// steppedForward fits the rein-back that follows a halt at metre m: when the horse began to step
// forward, how far, and how sure that is; ok is false when no rein-back follows or none is seen.
func (r *ride) steppedForward(m float64) (begin, ahead, sd float64, ok bool) {
	if !r.backwards(m + 0.3) {
		return 0, 0, 0, false
	}
	z := m + 0.3
	for z < float64(r.plan.Length) && r.backwards(z) {
		z += 0.2
	}
	os := r.aroundBack(m, z)
	if len(os) < 12 {
		return 0, 0, 0, false
	}
	os, x, ok := r.fitReined(os)
	if !ok || x.theta[1]-x.theta[0] < stepTakes+0.3 {
		return 0, 0, 0, false
	}
	c, fromPriors := x.weights([]float64{0, 0, 0, 0, 0, 0, 0, 0, 1})
	sd, _ = sum(append(r.d.of(along(os, c)), part{fromRiding, fromPriors + x.riding(timesOf(os), c, r.d.white) + 0.03*0.03}))
	return x.theta[1] - stepTakes, x.theta[8], sd, true
}

// stepTakes is how many seconds a step forward takes.
const stepTakes = 1.0

// eased is the share of the way after a share of the time, with a fifth of the time each to
// get going and to stop.
func eased(f float64) float64 {
	const k = 0.2
	top := 1 / (1 - k)
	switch {
	case f < k:
		return top * f * f / (2 * k)
	case f > 1-k:
		return 1 - top*(1-f)*(1-f)/(2*k)
	}
	return top * (f - k/2)
}

// reinBack measures how far the ride went back.
func (r *ride) reinBack(b *book, f *rideplan.Figure) {
	a, z := r.backRange(f)
	e := entry{what: "rein-back length", letter: f.At, asked: z - a, nominal: float64(f.Nominal), atM: (a + z) / 2}
	var went backwards
	defer func() { r.reinSteps(b, f, went) }()
	if z-a < 0.3 {
		b.cannot(e, "the plan does not rein back here")
		return
	}
	os := r.aroundBack(a, z)
	if len(os) < 10 {
		b.cannot(e, "the rein-back was not recorded")
		return
	}
	e.at = during(os)
	os, x, ok := r.fitReined(os)
	if !ok {
		b.cannot(e, "no going back was found near the place")
		return
	}
	if x.theta[1]-x.theta[0] < stoodLeast { // a step forward cannot be told from the last of the halt
		e.parts = []part{{fromStep, usualStep * usualStep}}
	}
	went = backwards{from: x.theta[1], to: x.theta[2], ok: true}
	e.value = x.theta[4] - x.theta[5]
	c, fromPriors := x.weights([]float64{0, 0, 0, 0, 1, -1, 0, 0, 0})
	e.parts = append(e.parts, append(r.d.of(along(os, c)), part{fromRiding, fromPriors + x.riding(timesOf(os), c, r.d.white) + 0.015*0.015})...)
	b.add(e)
	r.backwardsDetail(b, f, os, x)
}

// backRange returns the metres of the plan that a figure reins back over.
func (r *ride) backRange(f *rideplan.Figure) (a, z float64) {
	a, z = math.Inf(1), math.Inf(-1)
	for m := float64(f.StartM) + 0.1; m < float64(f.EndM); m += 0.1 {
		if r.backwards(m) {
			a, z = math.Min(a, m-0.1), math.Max(z, m+0.1)
		}
	}
	if z < a {
		return 0, 0
	}
	return math.Max(a, float64(f.StartM)), math.Min(z, float64(f.EndM))
}

// aroundBack returns the fixes from a little before a rein-back to a little after, with the
// way forward in s.
func (r *ride) aroundBack(a, z float64) []obs {
	run := r.lastRun(a-1, z+1)
	if len(run) == 0 {
		return nil
	}
	t0, t1 := float64(run[0].T), float64(run[len(run)-1].T)
	s := r.plan.SampleAtM(metres((a + z) / 2))
	p, u := r.plan.SampleAtM(metres(a)).Point, s.Heading.Unit()
	var os []obs
	for _, f := range r.rec.Fixes {
		if t := float64(f.T); t < t0-3 || t > t1+3 || f.Outlier {
			continue
		}
		q := f.Point.Sub(p)
		os = append(os, obs{t: float64(f.T), at: f.Point, s: q.Dot(u), left: q.Dot(u.Left()), u: u})
	}
	return os
}

// fitReined starts from the smoothed ride's longest way back, and fits the rest around it.
func (r *ride) fitReined(os []obs) ([]obs, *fit, bool) {
	first, last := os[0].t, os[len(os)-1].t
	var ts, vs []float64
	for _, s := range r.rec.Samples {
		if t := float64(s.T); t >= first && t <= last {
			ts, vs = append(ts, t), append(vs, s.V.Dot(os[0].u))
		}
	}
	i, j := longestBack(ts, vs)
	if j <= i {
		return nil, nil, false
	}
	ta, t2 := ts[i], ts[j]
	for k := i; k >= 0 && vs[k] < 0.25; k-- {
		ta = ts[k]
	}
	for k := j; k < len(ts) && vs[k] < 0.25; k++ {
		t2 = ts[k]
	}
	stood := stoodBefore(ts, vs, ta)
	near, far := stood-2.5, t2+2.5
	var in []obs
	var x []float64
	for _, o := range os {
		if o.t >= near && o.t <= far {
			in, x = append(in, o), append(x, o.s)
		}
	}
	if len(in) < 12 {
		return nil, nil, false
	}
	bounds := func(th []float64) {
		th[0] = clamp(th[0], near-1, far)
		th[1] = clamp(th[1], th[0], far)
		th[2] = clamp(th[2], th[1]+0.5, far+1)
		th[3] = clamp(th[3], th[2], far+1)
	}
	var best *fit
	// with and without a step forward: each lies in a hollow of its own
	for _, from := range [][2]float64{{ta, 0}, {stood, 0}, {stood, 0.4}} {
		start := []float64{from[0], ts[i], ts[j], t2, r.wayAt(os, from[0]+0.3), r.wayAt(os, ts[j]), 1, 1, from[1]}
		f, ok := fitCurve(timesOf(in), x, reined, start, []prior{{}, {}, {}, {}, {}, {}, {1.5, 2}, {1.5, 2}, {0, 0.3}}, math.Max(r.d.white, 0.02), bounds)
		if ok && f.theta[4] > f.theta[5] && (best == nil || f.whole() < best.whole()) {
			best = f
		}
	}
	return in, best, best != nil
}

// stoodBefore is when the horse came to stand for the last time before it went forward once
// more, at most a step's time before at; at itself when it did not stand before.
func stoodBefore(ts, vs []float64, at float64) float64 {
	k := len(ts) - 1
	for k > 0 && ts[k] > at {
		k--
	}
	for k > 0 && (vs[k] < 0.25) && at-ts[k] < 0.3 { // slow where it turns about
		k--
	}
	for k > 0 && vs[k] >= 0.25 && at-ts[k] < 2*stepTakes {
		k--
	}
	if vs[k] >= 0.25 {
		return at
	}
	for k > 0 && vs[k-1] < 0.25 {
		k--
	}
	return ts[k]
}

// longestBack returns the stretch of samples in which the ride goes back furthest.
func longestBack(ts, vs []float64) (from, to int) {
	best := 0.15 // metres at least
	for i := 0; i < len(ts); {
		j, way := i, 0.0
		for j+1 < len(ts) && vs[j+1] < -0.05 {
			way -= vs[j+1] * (ts[j+1] - ts[j])
			j++
		}
		if way > best {
			best, from, to = way, i, j
		}
		i = j + 1
	}
	return from, to
}

// wayAt is the way along the line around a time.
func (r *ride) wayAt(os []obs, t float64) float64 {
	var sum, n float64
	for _, o := range os {
		if math.Abs(o.t-t) < 0.6 {
			sum, n = sum+o.s, n+1
		}
	}
	return sum / math.Max(n, 1)
}
