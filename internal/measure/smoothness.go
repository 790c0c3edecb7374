package measure

import (
	"math"
	"sort"

	"ringcraft/internal/rideplan"
)

const (
	// smoothOver is the window in seconds over which the speed is looked at: two strides of trot.
	smoothOver = 1.6
	// smoothReach is how many seconds before and after a change count as belonging to it.
	smoothReach = 4.0
)

// smoothness is how far, in metres a second, the speed leaves an even change at its worst: a horse
// that hurries first, or falls out of one pace and has to be picked up in the next. Where the plan
// slows down in a bend, the rider's own way through it cannot be told from that; off is by how many
// metres the place of the change is in doubt for the same reason.
func (r *ride) smoothness(b *book, f *rideplan.Figure, ridden *riddenWay, way *easyWay, got *fit, at window, off float64) {
	e := entry{what: "transition smoothness", letter: f.At, at: during(ridden.os), atM: float64(f.StartM+f.EndM) / 2}
	if len(at.c) == 0 {
		b.cannot(e, "too little around the transition was recorded")
		return
	}
	e.at = during(ridden.os[at.lo:at.hi])
	c := make([]float64, len(ridden.os))
	copy(c[at.lo:at.hi], at.c)
	parts := r.d.of(ridden.weights(c))
	noise, _ := sum(parts)
	e.value = math.Sqrt(math.Max(0, at.slope*at.slope-ofTheWorst*noise*noise))
	slowed := 0.0 // how much the plan slows down in a bend here, as a share
	for _, o := range ridden.os[at.lo:at.hi] {
		slowed = math.Max(slowed, math.Abs(1-way.rate(o.m)))
	}
	bend := r.slowing().sd * slowed * math.Max(got.theta[2], got.theta[3])
	v1, v2 := got.theta[2], got.theta[3]
	elsewhere := math.Abs(v2-v1) * math.Min(1, math.Abs(off)/(smoothOver*(v1+v2)/2)) // a change that lies off metres from where it was found
	e.parts = append(parts, part{fromRiding, bend*bend + elsewhere*elsewhere + evenFit*evenFit})
	b.add(e)
}

const (
	// ofTheWorst is the mean square of the largest of some five independent looks at noise of size 1.
	ofTheWorst = 2.0
	// evenFit is how differently the even change that fits best may lie with and without jitter, m/s.
	evenFit = 0.05
)

// worst is where the speed leaves the even change most, within smoothReach of it; an empty window
// where too little was recorded to say.
func (w *riddenWay) worst(x *fit) (at window) {
	ts := timesOf(w.os)
	resid := make([]float64, len(ts))
	for i, t := range ts {
		resid[i] = w.xs[i] - ramp(x.theta, t)
	}
	for _, t := range ts {
		if math.Abs(t-x.theta[0]) > smoothReach {
			continue
		}
		if c, ok := windowAt(ts, resid, t); ok && (len(at.c) == 0 || math.Abs(c.slope) > math.Abs(at.slope)) {
			at = c
		}
	}
	return at
}

// changesTwice reports whether the speed leaves the even change by half of the change itself: then
// it passes the middle more than once, and which of the times is the change is not known.
func (x *fit) changesTwice(worst window) bool {
	return math.Abs(worst.slope) > math.Abs(x.theta[3]-x.theta[2])/2
}

// window is the slope of some residuals and the weight of each in it.
type window struct {
	lo, hi int
	slope  float64
	c      []float64
}

// windowAt is the slope by least squares within half a window of a time; ok is false where the
// window is not filled to both sides.
func windowAt(ts, v []float64, t float64) (window, bool) {
	lo := sort.SearchFloat64s(ts, t-smoothOver/2)
	hi := sort.SearchFloat64s(ts, t+smoothOver/2)
	if hi-lo < 3 || ts[hi-1]-ts[lo] < 0.6*smoothOver {
		return window{}, false
	}
	w := window{lo: lo, hi: hi, c: make([]float64, hi-lo)}
	var tm, tt float64
	for _, x := range ts[lo:hi] {
		tm += x / float64(hi-lo)
	}
	for _, x := range ts[lo:hi] {
		tt += (x - tm) * (x - tm)
	}
	for i := range w.c {
		w.c[i] = (ts[lo+i] - tm) / tt
		w.slope += w.c[i] * v[lo+i]
	}
	return w, true
}
