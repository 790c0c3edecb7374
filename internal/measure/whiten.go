package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// whitener makes correlated errors independent and of size one: it multiplies by the inverse
// of the lower Cholesky factor of their covariance. A nil whitener changes nothing.
type whitener struct {
	n int
	l []float64 // row by row
	k *mat.SymDense
}

// newWhitener factors white noise besides the ride's own unevenness: a speed that varies by
// sd metres a second and forgets over tau seconds, summed up along the way from the first
// time on. ok is false when the covariance is singular.
func newWhitener(ts []float64, white, sd, tau float64) (*whitener, bool) {
	return newWhitenerBeside(ts, white, sd, tau, func(float64) float64 { return 0 })
}

// newWhitenerBeside is newWhitener for data that hold another error too, of this covariance between
// two times so many seconds apart.
func newWhitenerBeside(ts []float64, white, sd, tau float64, other func(apart float64) float64) (*whitener, bool) {
	n := len(ts)
	k := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			k.SetSym(i, j, sd*sd*summedWalk(ts[i]-ts[0], ts[j]-ts[0], tau))
		}
	}
	all := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			all.SetSym(i, j, k.At(i, j)+other(ts[j]-ts[i]))
		}
		all.SetSym(i, i, all.At(i, i)+white*white)
	}
	var ch mat.Cholesky
	if !ch.Factorize(all) {
		return nil, false
	}
	var l mat.TriDense
	ch.LTo(&l)
	w := &whitener{n: n, l: make([]float64, n*n), k: k}
	for i := range n {
		for j := 0; j <= i; j++ {
			w.l[i*n+j] = l.At(i, j)
		}
	}
	return w, true
}

// summedWalk is the covariance at times a and b of the way made by an Ornstein-Uhlenbeck
// speed of unit size from time 0 on.
func summedWalk(a, b, tau float64) float64 {
	return tau * tau * (2*math.Min(a, b)/tau - 1 + math.Exp(-a/tau) + math.Exp(-b/tau) - math.Exp(-math.Abs(a-b)/tau))
}

func (w *whitener) apply(v []float64) []float64 {
	if w == nil {
		return v
	}
	out := make([]float64, w.n)
	for i := range w.n {
		row := w.l[i*w.n : i*w.n+i+1]
		s := v[i]
		for j := range i {
			s -= row[j] * out[j]
		}
		out[i] = s / row[i]
	}
	return out
}

// applyT multiplies by the transposed inverse factor.
func (w *whitener) applyT(v []float64) []float64 {
	if w == nil {
		return v
	}
	out := append([]float64(nil), v...)
	for i := w.n - 1; i >= 0; i-- {
		out[i] /= w.l[i*w.n+i]
		for j := range i {
			out[j] -= w.l[i*w.n+j] * out[i]
		}
	}
	return out
}

// logDet is the logarithm of the covariance's determinant.
func (w *whitener) logDet() float64 {
	var s float64
	for i := range w.n {
		s += 2 * math.Log(w.l[i*w.n+i])
	}
	return s
}

// unevenness is the variance of a weighted sum that the ride's own unevenness makes.
func (w *whitener) unevenness(c []float64) float64 {
	var s float64
	for i := range w.n {
		for j := range w.n {
			s += c[i] * c[j] * w.k.At(i, j)
		}
	}
	return math.Max(s, 0)
}

func squares(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x * x
	}
	return s
}
