package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// curve is a way along the line as a function of time, with parameters.
type curve func(theta []float64, t float64) float64

// prior is what is known of a parameter beforehand; sd 0 means nothing.
type prior struct{ mean, sd float64 }

// fit is a fitted curve with the first-order errors of its parameters.
type fit struct {
	theta  []float64
	ss     float64 // sum of squares of the data
	n      int
	jac    *mat.Dense    // n x p
	inv    *mat.SymDense // p x p, inverse of the normal matrix with priors
	prior  []prior
	sigma  float64
	resid  []float64
	bounds func([]float64)
	spread float64   // see spreadOfPlaces; of transitions only, as is excess
	excess float64   // scatter over what it should be, at least 1
	white  *whitener // nil: the data are independent of each other
}

// fitCurve finds the least-squares parameters by damped Gauss-Newton steps (Levenberg and
// Marquardt) from a start near the answer. sigma is the data's noise, against which the
// priors count; bounds keeps parameters in range.
func fitCurve(ts, ss []float64, f curve, start []float64, ps []prior, sigma float64, bounds func([]float64)) (*fit, bool) {
	return fitWhitened(ts, ss, f, start, ps, sigma, bounds, nil)
}

// fitWhitened is fitCurve for data whose errors are alike: they are first made independent
// and of size one, so that sigma is 1.
func fitWhitened(ts, ss []float64, f curve, start []float64, ps []prior, sigma float64, bounds func([]float64), w *whitener) (*fit, bool) {
	x := &fit{theta: append([]float64(nil), start...), n: len(ts), prior: ps, sigma: sigma, bounds: bounds, white: w}
	bounds(x.theta)
	cost := x.cost(ts, ss, f, x.theta)
	damp := 1e-3
	for range 60 {
		x.linearise(ts, ss, f)
		step, ok := x.step(damp)
		if !ok {
			return nil, false
		}
		try := append([]float64(nil), x.theta...)
		for i := range try {
			try[i] += step[i]
		}
		bounds(try)
		c := x.cost(ts, ss, f, try)
		if c > cost {
			damp *= 8
			if damp > 1e8 {
				break
			}
			continue
		}
		done := cost-c < 1e-9*(cost+1e-12)
		x.theta, cost, damp = try, c, math.Max(damp/5, 1e-9)
		if done {
			break
		}
	}
	x.linearise(ts, ss, f)
	return x, x.invert()
}

func (x *fit) cost(ts, ss []float64, f curve, theta []float64) float64 {
	d := make([]float64, len(ts))
	for i, t := range ts {
		d[i] = ss[i] - f(theta, t)
	}
	c := squares(x.white.apply(d))
	for i, p := range x.prior {
		if p.sd > 0 {
			v := (theta[i] - p.mean) * x.sigma / p.sd
			c += v * v
		}
	}
	return c
}

// whole is the sum of squares with what the priors cost.
func (x *fit) whole() float64 {
	c := x.ss
	for i, p := range x.prior {
		if p.sd > 0 {
			v := (x.theta[i] - p.mean) * x.sigma / p.sd
			c += v * v
		}
	}
	return c
}

// linearise fills residuals and the Jacobian by central differences.
func (x *fit) linearise(ts, ss []float64, f curve) {
	p := len(x.theta)
	x.jac = mat.NewDense(len(ts), p, nil)
	x.resid = make([]float64, len(ts))
	for i, t := range ts {
		x.resid[i] = ss[i] - f(x.theta, t)
	}
	x.resid = x.white.apply(x.resid)
	x.ss = squares(x.resid)
	const h = 1e-4
	th := append([]float64(nil), x.theta...)
	for j := range p {
		col := make([]float64, len(ts))
		for i, t := range ts {
			th[j] = x.theta[j] + h
			up := f(th, t)
			th[j] = x.theta[j] - h
			col[i] = (up - f(th, t)) / (2 * h)
		}
		x.jac.SetCol(j, x.white.apply(col))
		th[j] = x.theta[j]
	}
}

// normal returns the normal matrix with priors and damping, and its right side.
func (x *fit) normal(damp float64) (*mat.SymDense, *mat.VecDense) {
	p := len(x.theta)
	a := mat.NewSymDense(p, nil)
	a.SymOuterK(1, x.jac.T())
	g := mat.NewVecDense(p, nil)
	g.MulVec(x.jac.T(), mat.NewVecDense(len(x.resid), x.resid))
	for i, q := range x.prior {
		if q.sd > 0 {
			w := x.sigma * x.sigma / (q.sd * q.sd)
			a.SetSym(i, i, a.At(i, i)+w)
			g.SetVec(i, g.AtVec(i)+w*(q.mean-x.theta[i]))
		}
	}
	for i := range p {
		a.SetSym(i, i, a.At(i, i)*(1+damp)+1e-12)
	}
	return a, g
}

func (x *fit) step(damp float64) ([]float64, bool) {
	a, g := x.normal(damp)
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return nil, false
	}
	var s mat.VecDense
	if err := ch.SolveVecTo(&s, g); err != nil && !nearlySingular(err) {
		return nil, false
	}
	return s.RawVector().Data, true
}

func (x *fit) invert() bool {
	a, _ := x.normal(0)
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return false
	}
	x.inv = mat.NewSymDense(len(x.theta), nil)
	err := ch.InverseTo(x.inv)
	return err == nil || nearlySingular(err)
}

// nearlySingular reports gonum's warning of a bad condition, which damping deals with.
func nearlySingular(err error) bool {
	_, ok := err.(mat.Condition)
	return ok
}

// weights returns how much a quantity with this gradient moves with each datum, and the
// variance that the priors leave in it.
func (x *fit) weights(grad []float64) (c []float64, fromPriors float64) {
	p := len(x.theta)
	g := mat.NewVecDense(p, append([]float64(nil), grad...))
	var h mat.VecDense
	h.MulVec(x.inv, g)
	var w mat.VecDense
	w.MulVec(x.jac, &h)
	for i, q := range x.prior {
		if q.sd > 0 {
			v := h.AtVec(i) * x.sigma * x.sigma / q.sd
			fromPriors += v * v
		}
	}
	return x.white.applyT(w.RawVector().Data), fromPriors
}

// riding returns the variance that the ride's own unevenness adds to a quantity of these
// weights: what the curve leaves beyond the recorder's jitter, correlated over a second.
func (x *fit) riding(ts, c []float64, white float64) float64 {
	free := float64(x.n - len(x.theta))
	if free < 1 {
		return math.Inf(1)
	}
	excess := x.ss/free - white*white*(1+2*math.Sqrt(2/free))
	if excess <= 0 {
		return 0
	}
	d := doubt{wander: 1, tau: 1}
	ws := make([]weight, len(ts))
	for i := range ts {
		ws[i] = weight{t: ts[i], wx: c[i]}
	}
	return excess * d.of(ws)[1].variance
}
