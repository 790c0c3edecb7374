package measure

import (
	"math"

	"ringcraft/internal/rideplan"
)

// reined is a way with a rein-back: at x0 until t0, back to x1 until t1, still until t2,
// then forward, reaching v in a second and a half.
func reined(th []float64, t float64) float64 {
	t0, t1, t2, x0, x1, v := th[0], th[1], th[2], th[3], th[4], th[5]
	const rise = 1.5
	switch {
	case t <= t0:
		return x0
	case t < t1:
		return x0 + (x1-x0)*eased((t-t0)/(t1-t0))
	case t <= t2:
		return x1
	case t < t2+rise:
		return x1 + v*(t-t2)*(t-t2)/(2*rise)
	}
	return x1 + v*(t-t2-rise/2)
}

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
	defer r.reinSteps(b, f)
	if z-a < 0.3 {
		b.cannot(e, "the plan does not rein back here")
		return
	}
	os := r.aroundBack(a, z)
	if len(os) < 10 {
		b.cannot(e, "the rein-back was not recorded")
		return
	}
	e.at = middle(os)
	x, ok := fitReined(os, math.Max(r.d.white, 0.02))
	if !ok {
		b.cannot(e, "no going back was found near the place")
		return
	}
	e.value = x.theta[3] - x.theta[4]
	c, fromPriors := x.weights([]float64{0, 0, 0, 1, -1, 0})
	e.parts = append(r.d.of(along(os, c)), part{fromRiding, fromPriors + x.riding(timesOf(os), c, r.d.white) + 0.05*0.05})
	b.add(e)
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
		if t := float64(f.T); t < t0-1 || t > t1+2.5 || f.Outlier {
			continue
		}
		q := f.Point.Sub(p)
		os = append(os, obs{t: float64(f.T), at: f.Point, s: q.Dot(u), left: q.Dot(u.Left()), u: u})
	}
	return trimMoving(os)
}

// trimMoving drops what comes before the halt in front of the rein-back: everything more than
// two metres behind its place.
func trimMoving(os []obs) []obs {
	for i := range os {
		if os[i].s > -2.5 {
			return os[i:]
		}
	}
	return nil
}

func fitReined(os []obs, sigma float64) (*fit, bool) {
	ts, ss := timesOf(os), make([]float64, len(os))
	for i, o := range os {
		ss[i] = o.s
	}
	t0, t1 := ts[0], ts[len(ts)-1]
	best, bestCost := []float64(nil), math.Inf(1)
	const grid = 0.6
	for a := t0; a < t1-1; a += grid {
		for z := a + 1; z < t1; z += grid {
			for hold := 0.0; hold <= 3 && z+hold <= t1; hold += 2 * grid {
				th, cost, ok := reinedAt(ts, ss, a, z, z+hold)
				if ok && cost < bestCost && th[3] > th[4] {
					best, bestCost = th, cost
				}
			}
		}
	}
	if best == nil {
		return nil, false
	}
	return fitCurve(ts, ss, reined, best, make([]prior, 6), sigma, func(th []float64) {
		th[0] = clamp(th[0], t0-1, t1)
		th[1] = clamp(th[1], th[0]+0.5, t1+1)
		th[2] = clamp(th[2], th[1], t1+1)
	})
}

// reinedAt solves both places and the speed for given times by linear least squares.
func reinedAt(ts, ss []float64, a, z, on float64) ([]float64, float64, bool) {
	var n m3
	var g [3]float64
	unit := func(i int) []float64 {
		th := []float64{a, z, on, 0, 0, 0}
		th[3+i] = 1
		return th
	}
	th := [3][]float64{unit(0), unit(1), unit(2)}
	for i, t := range ts {
		w := [3]float64{reined(th[0], t), reined(th[1], t), reined(th[2], t)}
		for j := range 3 {
			for k := range 3 {
				n[j][k] += w[j] * w[k]
			}
			g[j] += w[j] * ss[i]
		}
	}
	n[2][2] += 1e-6
	inv, ok := n.inverse()
	if !ok {
		return nil, 0, false
	}
	x := inv.mul(g)
	out := []float64{a, z, on, x[0], x[1], x[2]}
	var cost float64
	for i, t := range ts {
		d := ss[i] - reined(out, t)
		cost += d * d
	}
	return out, cost, true
}
