package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

const (
	beforeAfter = 16.0 // metres looked at on either side of a change of pace
	leastSide   = 2.5  // metres of steady pace needed on either side
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
	if r.motionTransition(b, f, e) {
		return
	}
	if from == gait.Trot && to == gait.Canter || from == gait.Canter && to == gait.Trot {
		b.cannot(e, "positions do not show the change between trot and canter; motion data do")
		return
	}
	a, z := r.steadyAround(e.atM)
	if e.atM-a < leastSide || z-e.atM < leastSide {
		b.cannot(e, "the paces before and after are ridden too briefly to see where one changes into the other")
		return
	}
	ref, ok := r.fitRamp(r.planned(a, z), e.atM, 0.01, prior{1, 0.7})
	if !ok || math.Abs(ref.theta[3]-ref.theta[2]) < leastChange {
		b.cannot(e, "the speed changes too little for positions to show where")
		return
	}
	os, covered := r.over(a, z)
	e.at = middle(os)
	if len(os) < 8 || covered < 0.8 {
		b.cannot(e, "too little around the transition was recorded")
		return
	}
	got, ok := r.fitRamp(os, e.atM, math.Max(r.d.white, 0.03), prior{ref.theta[4], 0.5})
	if !ok || (got.theta[3]-got.theta[2])*(ref.theta[3]-ref.theta[2]) < 0 || math.Abs(got.theta[3]-got.theta[2]) < leastChange/2 {
		b.cannot(e, "no change of speed was found around the letter")
		return
	}
	e.value = got.theta[1] - ref.theta[1]
	c, fromPriors := got.weights([]float64{0, 1, 0, 0, 0})
	ts := timesOf(os)
	e.parts = append(r.d.of(along(os, c)), part{fromRiding, fromPriors + got.riding(ts, c, r.d.white) + 0.05*0.05})
	at := got.theta[0]
	e.at = &at
	b.add(e)
}

func halts(p gait.Pace) bool { return p == gait.Halt || p == gait.ReinBack || p == "" }

// steadyAround returns the metres around m within which the plan rides but the two paces,
// each at its own speed.
func (r *ride) steadyAround(m float64) (a, z float64) {
	return r.steady(m, -1), r.steady(m, 1)
}

// steady goes from m one way for as long as the plan's speed stays what it becomes there.
func (r *ride) steady(m, dir float64) float64 {
	v := r.planSpeed(m + dir*4)
	end := m
	for d := 0.5; d <= beforeAfter; d += 0.5 {
		at := m + dir*d
		if at < 0 || at > float64(r.plan.Length) {
			break
		}
		if w := r.planSpeed(at); d > 4 && math.Abs(w-v) > 0.06*v || w < 0.4 {
			break
		}
		end = at
	}
	return end
}

// fitRamp finds the change of speed: a coarse search over its time, then the fit.
func (r *ride) fitRamp(os []obs, m, sigma float64, length prior) (*fit, bool) {
	if len(os) < 8 {
		return nil, false
	}
	ts, ss := timesOf(os), make([]float64, len(os))
	for i, o := range os {
		ss[i] = o.s
	}
	best, bestSS := []float64(nil), math.Inf(1)
	t0, t1 := ts[0], ts[len(ts)-1]
	for tc := t0 + 0.4; tc <= t1-0.4; tc += 0.25 {
		if th, v, ok := rampAt(ts, ss, tc, length.mean); ok && v < bestSS {
			best, bestSS = th, v
		}
	}
	if best == nil {
		return nil, false
	}
	return fitCurve(ts, ss, ramp, best, []prior{{}, {}, {}, {}, length}, sigma, func(th []float64) {
		th[0] = math.Max(t0, math.Min(t1, th[0]))
		th[4] = math.Max(0.1, math.Min(5, th[4]))
	})
}

// rampAt solves place and speeds for a change at a given time by linear least squares.
func rampAt(ts, ss []float64, tc, r float64) (th []float64, cost float64, ok bool) {
	var a m3
	var g [3]float64
	mid := ss[len(ss)/2]
	row := func(t float64) [3]float64 {
		return [3]float64{1, ramp([]float64{tc, 0, 1, 0, r}, t), ramp([]float64{tc, 0, 0, 1, r}, t)}
	}
	for i, t := range ts {
		w := row(t)
		for j := range 3 {
			for k := range 3 {
				a[j][k] += w[j] * w[k]
			}
			g[j] += w[j] * (ss[i] - mid)
		}
	}
	inv, ok := a.inverse()
	if !ok {
		return nil, 0, false
	}
	x := inv.mul(g)
	th = []float64{tc, x[0] + mid, x[1], x[2], r}
	for i, t := range ts {
		d := ss[i] - ramp(th, t)
		cost += d * d
	}
	return th, cost, true
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
