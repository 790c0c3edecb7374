package measure

import "math"

const (
	// unevenTau is the time over which a rider's speed forgets that it was too high or too low
	// (assumption: two or three strides).
	unevenTau = 1.7
	// usualUneven is the share by which a steady speed varies (assumption; 3 to 6 % over a
	// whole line is a good pair's figure, most of which is slower than a change of pace).
	usualUneven = 0.015
)

// notSteady is the share of stretches in one pace that are not ridden at one speed (assumption): a pace
// given up or taken up late is no waver, and says nothing of how evenly the others are ridden.
const notSteady = 0.2

// uneven is the share by which this ride's steady speeds vary, from its own long stretches:
// the most likely of some values, drawn to the usual one.
func (r *ride) uneven() float64 {
	if r.unevenShare > 0 {
		return r.unevenShare
	}
	values := []float64{0.004, 0.007, 0.011, 0.015, 0.02, 0.028, 0.04, 0.06}
	score := make([]float64, len(values))
	for i, v := range values {
		d := math.Log(v/usualUneven) / 0.6
		score[i] = -d * d / 2
	}
	for _, bent := range []float64{straightLine, bentLine} {
		if r.unevenOn(bent, values, score) > 0 {
			break // a bend is ridden slower: another thing, and looked at only where there are no straights
		}
	}
	best := 0
	for i := range score {
		if score[i] > score[best] {
			best = i
		}
	}
	r.unevenShare = values[best]
	return r.unevenShare
}

// unevenOn scores the values by the long stretches on lines that bend less than this, and returns how
// many there were.
func (r *ride) unevenOn(bent float64, values, score []float64) (used int) {
	for _, s := range r.stretchesOn(0, float64(r.plan.Length), bent) {
		if s.z-s.a < 14 || used >= 8 {
			continue
		}
		if r.scoreUneven(s, values, score) {
			used++
		}
	}
	return used
}

// scoreUneven adds the log likelihoods of a stretch that is ridden at one speed, or not steadily: then
// it is as likely under each value.
func (r *ride) scoreUneven(s stretch, values, score []float64) bool {
	os, covered := r.over(s.a, s.z)
	if len(os) < 12 || len(os) > 400 || covered < 0.9 {
		return false
	}
	likely := make([]float64, len(values))
	top := math.Inf(-1)
	for i, v := range values {
		l, ok := r.likelyUneven(os, v)
		if !ok {
			return false
		}
		likely[i], top = l, math.Max(top, l)
	}
	var any float64
	for _, l := range likely {
		any += math.Exp(l-top) / float64(len(values))
	}
	for i, l := range likely {
		score[i] += math.Log((1-notSteady)*math.Exp(l-top) + notSteady*any)
	}
	return true
}

// likelyUneven is the log likelihood of some fixes of one steady speed that varies by a share. The
// recorder's own slow wander is no unevenness of the ride.
func (r *ride) likelyUneven(os []obs, share float64) (float64, bool) {
	ts := timesOf(os)
	speed := (os[len(os)-1].s - os[0].s) / (ts[len(ts)-1] - ts[0])
	wander := func(apart float64) float64 { return r.d.wander * r.d.wander * math.Exp(-apart/r.d.tau) }
	w, ok := newWhitenerBeside(ts, math.Max(r.d.white, 0.01), share*speed, unevenTau, wander)
	if !ok {
		return 0, false
	}
	one, t, y := make([]float64, len(os)), make([]float64, len(os)), make([]float64, len(os))
	for j, o := range os {
		one[j], t[j], y[j] = 1, o.t-ts[0], o.s-os[0].s
	}
	one, t, y = w.apply(one), w.apply(t), w.apply(y)
	return -(leftOver(one, t, y)/2 + w.logDet()/2), true
}

// leftOver is the sum of squares of y that a and b do not explain.
func leftOver(a, b, y []float64) float64 {
	var aa, ab, bb, ay, by, yy float64
	for i := range y {
		aa, ab, bb = aa+a[i]*a[i], ab+a[i]*b[i], bb+b[i]*b[i]
		ay, by, yy = ay+a[i]*y[i], by+b[i]*y[i], yy+y[i]*y[i]
	}
	det := aa*bb - ab*ab
	if det <= 0 {
		return yy
	}
	p, q := (ay*bb-by*ab)/det, (by*aa-ay*ab)/det
	return yy - p*ay - q*by
}
