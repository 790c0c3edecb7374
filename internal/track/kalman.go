package track

import "math"

// The smoother's motion model, one axis at a time: position, velocity and acceleration, where the
// acceleration is a wandering quantity with standard deviation sigma and memory tau (an
// Ornstein-Uhlenbeck process, the manoeuvre model of Singer 1970, IEEE Trans AES 6:473-483). Both
// axes share the noise, so one covariance serves both and the two axes are filtered as one.

type vec3 [3]float64
type mat3 [3][3]float64

func (a mat3) mul(b mat3) (c mat3) {
	for i := range 3 {
		for j := range 3 {
			c[i][j] = a[i][0]*b[0][j] + a[i][1]*b[1][j] + a[i][2]*b[2][j]
		}
	}
	return c
}

func (a mat3) transpose() (c mat3) {
	for i := range 3 {
		for j := range 3 {
			c[i][j] = a[j][i]
		}
	}
	return c
}

func (a mat3) plus(b mat3, k float64) (c mat3) {
	for i := range 3 {
		for j := range 3 {
			c[i][j] = a[i][j] + k*b[i][j]
		}
	}
	return c
}

func (a mat3) apply(v vec3) (w vec3) {
	for i := range 3 {
		w[i] = a[i][0]*v[0] + a[i][1]*v[1] + a[i][2]*v[2]
	}
	return w
}

// symmetric removes what rounding put between a matrix and its transpose.
func (a mat3) symmetric() mat3 { return a.plus(a.transpose(), 1).scale(0.5) }

func (a mat3) scale(k float64) mat3 { return mat3{}.plus(a, k) }

// inverseSPD inverts a symmetric positive definite matrix by its Cholesky factor; ok is false when
// it is not positive definite.
func (a mat3) inverseSPD() (inv mat3, ok bool) {
	var l mat3
	for i := range 3 {
		for j := 0; j <= i; j++ {
			s := a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
			} else if s <= 0 {
				return inv, false
			} else {
				l[i][i] = math.Sqrt(s)
			}
		}
	}
	for c := range 3 {
		var y, x vec3
		for i := range 3 {
			s := 0.0
			if i == c {
				s = 1
			}
			for k := range i {
				s -= l[i][k] * y[k]
			}
			y[i] = s / l[i][i]
		}
		for i := 2; i >= 0; i-- {
			s := y[i]
			for k := i + 1; k < 3; k++ {
				s -= l[k][i] * x[k]
			}
			x[i] = s / l[i][i]
			inv[i][c] = x[i]
		}
	}
	return inv, true
}

// motion is the model of one axis.
type motionModel struct {
	sigma float64 // m/s2, standard deviation of the acceleration
	tau   float64 // s, its memory
}

// response is what a unit of acceleration now does to position, velocity and acceleration after s.
func (m motionModel) response(s float64) vec3 {
	a := 1 / m.tau
	x := a * s
	em := -math.Expm1(-x) // 1 - e^-x
	pos := (x - em) / (a * a)
	if x < 0.02 { // the difference above cancels: use its series
		pos = s * s / 2 * (1 - x/3*(1-x/4*(1-x/5)))
	}
	return vec3{pos, em / a, 1 - em}
}

// step returns the transition and the process noise over dt seconds.
func (m motionModel) step(dt float64) (f, q mat3) {
	r := m.response(dt)
	f = mat3{{1, dt, r[0]}, {0, 1, r[1]}, {0, 0, r[2]}}
	// Q is the integral of r(s) r(s)' over the step, times 2 sigma^2/tau: five-point Gauss-Legendre
	// on panels no longer than half the memory, exact to 1e-12 there
	n := max(1, int(math.Ceil(dt/(m.tau/2))))
	n = min(n, 400)
	h := dt / float64(n)
	k := 2 * m.sigma * m.sigma / m.tau
	for p := range n {
		for i, x := range gaussX {
			g := m.response((float64(p) + 0.5 + x/2) * h)
			w := gaussW[i] * h / 2 * k
			for a := range 3 {
				for b := range 3 {
					q[a][b] += w * g[a] * g[b]
				}
			}
		}
	}
	return f, q
}

// nodes and weights of five-point Gauss-Legendre on [-1, 1] (Abramowitz and Stegun, table 25.4).
var (
	gaussX = [5]float64{-0.9061798459386640, -0.5384693101056831, 0, 0.5384693101056831, 0.9061798459386640}
	gaussW = [5]float64{0.2369268850561891, 0.4786286704993665, 0.5688888888888889, 0.4786286704993665, 0.2369268850561891}
)

// node is one instant of the smoother: a fix, or an instant asked for (weight 0).
type node struct {
	t      float64
	z      Local
	weight float64 // of the fix: 1 full, 0 none
	fix    int     // index of the fix, -1 when asked for
	onGrid bool    // an instant asked for
	burst  bool    // part of a burst, see markBursts
}

// state of both axes at one instant.
type state struct {
	x, y vec3
	p    mat3
}

// pass holds a forward-backward run over nodes.
type pass struct {
	filtered, predicted, smoothed []state
	gain                          []mat3 // RTS gain from node k+1 back to node k
	logLik                        float64
	model                         motionModel
	steps                         map[int64]*stepped
	last                          *stepped
	lastKey                       int64

	step    Step
	runs    int // how many runs the whole takes, 0 where that is not known
	done    int // nodes gone over, there and back each once
	share   float64
	stopped error // what the step said to end the work; all later runs end at once
}

// ask asks the step every stepEvery nodes of a run over n; ok is false when the work is to end.
func (p *pass) ask(n int) (ok bool) {
	if p.done++; p.stopped != nil || p.step == nil || p.done%stepEvery != 1 {
		return p.stopped == nil
	}
	if p.runs > 0 {
		p.share = min(1, float64(p.done)/float64(2*n*p.runs))
	}
	p.stopped = p.step(p.share)
	return p.stopped == nil
}

// asked is the step of work in between, during which the share stays.
func (p *pass) asked() Step {
	if p.step == nil {
		return nil
	}
	return func(float64) error {
		if p.stopped == nil {
			p.stopped = p.step(p.share)
		}
		return p.stopped
	}
}

// stepped keeps the matrices of one length of step: recorders have few different ones.
type stepped struct{ f, q mat3 }

// over returns the matrices for dt under the pass's model, computed once for each length.
func (p *pass) over(dt float64) *stepped {
	key := int64(math.Round(dt * 1e11))
	if key == p.lastKey && p.last != nil {
		return p.last
	}
	s, ok := p.steps[key]
	if !ok {
		if len(p.steps) > 1000 {
			clear(p.steps)
		}
		s = new(stepped)
		s.f, s.q = p.model.step(dt)
		p.steps[key] = s
	}
	p.last, p.lastKey = s, key
	return s
}

func (p *pass) setModel(m motionModel) {
	if p.steps == nil || p.model != m {
		p.model, p.steps, p.last = m, map[int64]*stepped{}, nil
	}
}

// prior widths of the first state: its position is known only from the first fix.
const (
	priorPosSD = 100.0 // m
	priorVelSD = 5.0   // m/s
)

// run filters forward; backward too when both is set. white is the one-axis SD of a full fix.
func run(nodes []node, m motionModel, white float64, both bool, p *pass) {
	n := len(nodes)
	p.resize(n, both)
	p.setModel(m)
	p.logLik = 0
	cur := start(nodes[0], m)
	for k := range nodes {
		if !p.ask(n) {
			return
		}
		if k > 0 {
			cur = p.predict(cur, nodes[k].t-nodes[k-1].t)
		}
		if both {
			p.predicted[k] = cur
		}
		if w := nodes[k].weight; w > 0 {
			p.update(&cur, nodes[k].z, white*white/w)
		}
		if both {
			p.filtered[k] = cur
		}
	}
	if both {
		p.backward(nodes)
	}
}

// start is what is known before the first fix: that it is somewhere near it.
func start(first node, m motionModel) state {
	return state{x: vec3{first.z.X}, y: vec3{first.z.Y},
		p: mat3{{priorPosSD * priorPosSD}, {0, priorVelSD * priorVelSD}, {0, 0, m.sigma * m.sigma}}}
}

func (p *pass) predict(c state, dt float64) state {
	s := p.over(dt)
	return state{x: s.f.apply(c.x), y: s.f.apply(c.y), p: s.f.mul(c.p).mul(s.f.transpose()).plus(s.q, 1)}
}

func (p *pass) resize(n int, both bool) {
	if both && len(p.smoothed) != n {
		p.filtered, p.predicted, p.smoothed = make([]state, n), make([]state, n), make([]state, n)
		p.gain = make([]mat3, n)
	}
}

// update takes one fix in with variance r per axis (Joseph form, which keeps the covariance positive).
func (p *pass) update(s *state, z Local, r float64) {
	v := s.p[0][0] + r
	k := vec3{s.p[0][0] / v, s.p[1][0] / v, s.p[2][0] / v}
	ex, ey := z.X-s.x[0], z.Y-s.y[0]
	p.logLik -= math.Log(2*math.Pi*v) + (ex*ex+ey*ey)/(2*v)
	for i := range 3 {
		s.x[i] += k[i] * ex
		s.y[i] += k[i] * ey
	}
	a := mat3{{1 - k[0], 0, 0}, {-k[1], 1, 0}, {-k[2], 0, 1}}
	s.p = a.mul(s.p).mul(a.transpose())
	for i := range 3 {
		for j := range 3 {
			s.p[i][j] += k[i] * k[j] * r
		}
	}
}

// backward is the Rauch-Tung-Striebel pass (AIAA Journal 3:1445-1450, 1965).
func (p *pass) backward(nodes []node) {
	n := len(nodes)
	p.smoothed[n-1] = p.filtered[n-1]
	for k := n - 2; k >= 0; k-- {
		if !p.ask(n) {
			return
		}
		f := &p.over(nodes[k+1].t - nodes[k].t).f
		inv, ok := p.predicted[k+1].p.inverseSPD()
		if !ok { // cannot happen with a positive process noise; keep the filtered state
			p.smoothed[k] = p.filtered[k]
			continue
		}
		fl, pr, nx := &p.filtered[k], &p.predicted[k+1], &p.smoothed[k+1]
		c := fl.p.mul(f.transpose()).mul(inv)
		p.gain[k] = c
		var dx, dy vec3
		for i := range 3 {
			dx[i], dy[i] = nx.x[i]-pr.x[i], nx.y[i]-pr.y[i]
		}
		cx, cy := c.apply(dx), c.apply(dy)
		s := state{p: fl.p.plus(c.mul(nx.p.plus(pr.p, -1)).mul(c.transpose()), 1).symmetric()}
		for i := range 3 {
			s.x[i], s.y[i] = fl.x[i]+cx[i], fl.y[i]+cy[i]
		}
		p.smoothed[k] = s
	}
}
