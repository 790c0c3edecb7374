package measure

import (
	"math"
	"sort"
)

// riddenWay is the way really ridden on an easy way: longer than the plan's outside a bend
// and shorter inside it, so that a corner cut does not look like a burst of speed.
type riddenWay struct {
	os    []obs
	xs    []float64 // way at each fix
	base  []float64 // way at the metre of the plan to which each fix was aligned
	local []float64 // metres of way a metre along the plan is worth at each fix
	side  []float64 // metres of way that a metre to the left takes off at each fix, from there on
}

// sideways is averaged over so many seconds before and after a fix.
const sidewaysOver = 0.6

func newRiddenWay(os []obs, way *easyWay) *riddenWay {
	n := len(os)
	w := &riddenWay{os: os, xs: make([]float64, n), base: make([]float64, n), local: make([]float64, n), side: make([]float64, n)}
	bend := func(i int) float64 { return clamp(1-os[i].k*meanLeft(os, i), 0.4, 1.8) }
	last := bend(0)
	for i := range os {
		k := bend(i)
		if i == 0 {
			w.base[0] = way.to(os[0].m)
		} else {
			step := way.to(os[i].m) - way.to(os[i-1].m)
			w.base[i] = w.base[i-1] + step*(k+last)/2
			w.side[i] = os[i].k * step
		}
		last = k
		w.local[i] = k / way.rate(os[i].m)
		w.xs[i] = w.base[i] + (os[i].s-os[i].m)*w.local[i]
	}
	return w
}

// meanLeft is how far to the left the ride is around fix i.
func meanLeft(os []obs, i int) float64 {
	lo, hi := i, i
	for lo > 0 && os[i].t-os[lo-1].t <= sidewaysOver {
		lo--
	}
	for hi+1 < len(os) && os[hi+1].t-os[i].t <= sidewaysOver {
		hi++
	}
	var sum float64
	for _, o := range os[lo : hi+1] {
		sum += o.left
	}
	return sum / float64(hi-lo+1)
}

// back returns the metre of the plan at a way, and the metres of the plan per metre of way
// there; beyond the fixes the ends are carried on.
func (w *riddenWay) back(x float64) (m, rate float64) {
	n := len(w.base)
	i := clampInt(sort.SearchFloat64s(w.base, x), 1, n-1)
	for i+1 < n && w.base[i] == w.base[i-1] {
		i++
	}
	rate = 1 / w.local[i]
	if d := w.base[i] - w.base[i-1]; d > 1e-9 && w.os[i].m > w.os[i-1].m {
		rate = (w.os[i].m - w.os[i-1].m) / d
	}
	return w.os[i-1].m + (x-w.base[i-1])*rate, rate
}

// at returns the way at a metre of the plan.
func (w *riddenWay) at(m float64) float64 {
	n := len(w.os)
	i := clampInt(sort.Search(n, func(i int) bool { return w.os[i].m >= m }), 1, n-1)
	return w.base[i-1] + (m-w.os[i-1].m)*w.local[i-1]
}

// weights turns weights on the ways into weights on the fixes: along the plan, and to the
// side, where every fix in a bend moves all that come after it.
func (w *riddenWay) weights(c []float64) []weight {
	ws := make([]weight, len(c))
	var after float64
	for i := len(c) - 1; i >= 0; i-- {
		after += c[i]
		o := w.os[i]
		d := o.u.Mul(c[i] * w.local[i]).Add(o.u.Left().Mul(-after * w.side[i]))
		ws[i] = weight{o.t, o.at, d.X, d.Y}
	}
	return ws
}

func clampInt(v, lo, hi int) int {
	return int(math.Max(float64(lo), math.Min(float64(hi), float64(v))))
}
