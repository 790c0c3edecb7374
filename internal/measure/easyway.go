package measure

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
)

// easyWay stretches the way around a change of pace so that bends do not look like changes:
// where the plan goes slower than its pace does on the straight, a metre counts for more. On
// this way a ride as planned changes speed once, at the letter.
type easyWay struct {
	from float64
	cum  []float64 // way at from + i*wayStep
	slow []float64 // planned speed over the pace's own, 0.3 to 1.6
}

const wayStep = 0.1

// changeOf is a change of pace of the plan at a metre: the speeds on the straight before and
// after and the metres per second squared in which one becomes the other.
type changeOf struct {
	m, v1, v2, acc float64
}

// paceAt is the plan's speed at metre s were there no bends.
func (c changeOf) paceAt(s float64) float64 {
	vm := (c.v1 + c.v2) / 2
	v2 := vm*vm + 2*c.acc*(s-c.m)
	lo, hi := math.Min(c.v1, c.v2), math.Max(c.v1, c.v2)
	return clamp(math.Sqrt(math.Max(v2, 0)), lo, hi)
}

// changeAt reads a change of pace off the plan; ok is false when the speed does not change.
func (r *ride) changeAt(m, a, z float64) (changeOf, bool) {
	c := changeOf{m: m, v1: r.steadySpeed(a, m, m), v2: r.steadySpeed(m, z, m)}
	if math.Abs(c.v2-c.v1) < math.Max(leastChange, 0.08*(c.v1+c.v2)/2) || c.v1 == 0 || c.v2 == 0 {
		return c, false
	}
	var accs []float64
	for s := m - 5; s <= m+5; s += 0.25 {
		lo, hi := r.planSpeed(s-0.25), r.planSpeed(s+0.25)
		if acc := hi*hi - lo*lo; acc*(c.v2-c.v1) > 0 && math.Abs(acc) > 0.15 {
			accs = append(accs, acc)
		}
	}
	c.acc = math.Copysign(0.8, c.v2-c.v1) // where bends hide it (assumption: a usual change within a pace)
	if len(accs) > 2 {
		sort.Float64s(accs)
		c.acc = accs[len(accs)/2]
	}
	c.m = r.middleOfChange(c, a, z)
	return c, true
}

// middleOfChange is the metre at which the plan is halfway between the two speeds. On a bend
// it is not the letter: taken for it, the plan's own change would look like a bend, and a
// ride that changes elsewhere would be stretched by it.
func (r *ride) middleOfChange(c changeOf, a, z float64) float64 {
	best, least := c.m, math.Inf(1)
	for m := math.Max(a, c.m-middleReach); m <= math.Min(z, c.m+middleReach); m += 0.25 {
		at := c
		at.m = m
		var off float64
		for s := math.Max(a, c.m-2*middleReach); s <= math.Min(z, c.m+2*middleReach); s += 0.5 {
			off += math.Abs(math.Log(math.Max(r.planSpeed(s), 0.05) / math.Max(at.paceAt(s), 0.05)))
		}
		if off < least {
			best, least = m, off
		}
	}
	return best
}

// middleReach is how far from its letter, in metres, a plan may have the middle of a change.
const middleReach = 8.0

// steadySpeed is the highest speed between two metres that the plan keeps for a metre or so,
// away from the change at m: the pace on the straight.
func (r *ride) steadySpeed(a, z, m float64) float64 {
	var best float64
	for s := a; s <= z; s += 0.2 {
		if math.Abs(s-m) < 2 && z-a > 4 {
			continue
		}
		v := r.planSpeed(s)
		if math.Abs(r.planSpeed(s+0.6)-v) < 0.02*v && math.Abs(r.planSpeed(s-0.6)-v) < 0.02*v {
			best = math.Max(best, v)
		}
	}
	return best
}

func (r *ride) easy(c changeOf, a, z float64) *easyWay {
	w := &easyWay{from: a}
	sum := a
	for s := a; s <= z+wayStep; s += wayStep {
		k := clamp(r.planSpeed(s)/c.paceAt(s), 0.3, 1.6)
		w.cum, w.slow = append(w.cum, sum), append(w.slow, k)
		sum += wayStep / k
	}
	return w
}

// plainWay counts every metre alike.
func plainWay(a, z float64) *easyWay {
	w := &easyWay{from: a}
	for s := a; s <= z+wayStep; s += wayStep {
		w.cum, w.slow = append(w.cum, s), append(w.slow, 1)
	}
	return w
}

// to turns metres of the plan into the easy way, rate is the metres of the plan per metre of
// it. Outside, the way goes on as at its ends.
func (w *easyWay) to(s float64) float64 {
	i := int(clamp(math.Floor((s-w.from)/wayStep), 0, float64(len(w.cum)-2)))
	return w.cum[i] + (s-w.from-float64(i)*wayStep)/w.slow[i]
}

func (w *easyWay) rate(s float64) float64 {
	i := int(clamp(math.Floor((s-w.from)/wayStep), 0, float64(len(w.cum)-2)))
	return w.slow[i]
}

// onePace goes from a change of pace one way for as long as the plan rides one variety,
// forward, at most beforeAfter metres.
func (r *ride) onePace(m, dir float64, v gait.Variety) float64 {
	end, fastest := m, 0.0
	for d := 0.4; d <= beforeAfter; d += 0.2 {
		at := m + dir*d
		if at < 0 || at > float64(r.plan.Length) {
			break
		}
		s := r.plan.SampleAtM(metres(at))
		if d > 4 { // nearer, the pace before still shows
			fastest = math.Max(fastest, float64(s.Speed))
		}
		if s.Variety != v || s.Speed < 0.6 || float64(s.Speed) < 0.72*fastest { // a halt is near
			break
		}
		end = at
	}
	return end
}
