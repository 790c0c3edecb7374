package measure

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
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

// changeAt reads a change of pace off the plan; ok is false when the speed does not change.
func (r *ride) changeAt(m, a, z float64) (rideplan.SpeedChange, bool) {
	c := rideplan.SpeedChange{M: m, V1: r.steadySpeed(a, m, m), V2: r.steadySpeed(m, z, m)}
	if math.Abs(c.V2-c.V1) < math.Max(leastChange, 0.08*(c.V1+c.V2)/2) || c.V1 == 0 || c.V2 == 0 {
		return c, false
	}
	var accs []float64
	for s := m - 5; s <= m+5; s += 0.25 {
		lo, hi := r.planSpeed(s-0.25), r.planSpeed(s+0.25)
		if acc := hi*hi - lo*lo; acc*(c.V2-c.V1) > 0 && math.Abs(acc) > 0.15 {
			accs = append(accs, acc)
		}
	}
	c.Acc = math.Copysign(0.8, c.V2-c.V1) // where bends hide it (assumption: a usual change within a pace)
	if len(accs) > 2 {
		sort.Float64s(accs)
		c.Acc = accs[len(accs)/2]
	}
	c.M = float64(r.plan.MiddleOfChange(c, metres(a), metres(z)))
	return c, true
}

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

// easy is the easy way for a rider who does a share of the plan's slowing down in bends.
func (r *ride) easy(c rideplan.SpeedChange, a, z, share float64) *easyWay {
	w := &easyWay{from: a}
	sum := a
	for s := a; s <= z+wayStep; s += wayStep {
		k := math.Pow(clamp(r.planSpeed(s)/c.At(s), 0.3, 1.6), share)
		w.cum, w.slow = append(w.cum, sum), append(w.slow, k)
		sum += wayStep / k
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
// forward, at most beforeAfter metres. Near a stand it keeps afterStand away: there the horse
// sets off or slows down, which is a change of speed too.
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
		if s.Speed < 0.6 || float64(s.Speed) < 0.72*fastest {
			return m + dir*math.Max(0, dir*(end-m)-afterStand)
		}
		if s.Variety != v {
			break
		}
		end = at
	}
	return end
}

// afterStand is how many metres from where the plan is as slow as near a stand a horse may still be
// setting off or slowing down for it: a second or so, and what the place of the stand is off.
const afterStand = 2.0
