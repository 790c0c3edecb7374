package measure_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"strings"

	"ringcraft/internal/track"
)

const tick = 0.02 // seconds of the ride's own clock

// done is a ride as it went, before any recorder saw it.
type done struct {
	*drawn
	s           []float64 // way along the path at each of its points
	tangent     []float64
	heading     []float64
	own, speed  []float64 // the pace's own speed as the horse could take it up, and what was ridden
	pace        []string
	t, way      []float64 // by tick
	x, y, h, tt []float64
	v           []float64 // over the ground
	aside       []float64
}

// finish rides the drawn path.
func (d *drawn) finish() *done {
	r := &done{drawn: d}
	r.soften()
	r.speeds()
	r.ride()
	r.ground()
	return r
}

func mean(z []float64, half int) []float64 {
	out := make([]float64, len(z))
	for i := range z {
		var sum float64
		for k := -half; k <= half; k++ {
			j := i + k // beyond the ends the line is carried on
			switch {
			case j < 0:
				sum += 2*z[0] - z[min(-j, len(z)-1)]
			case j >= len(z):
				sum += 2*z[len(z)-1] - z[max(2*(len(z)-1)-j, 0)]
			default:
				sum += z[j]
			}
		}
		out[i] = sum / float64(2*half+1)
	}
	return out
}

// waves is a smooth random function of the way: a few waves of these lengths.
func (d *drawn) waves(s []float64, size float64, lengths ...float64) []float64 {
	out := make([]float64, len(s))
	for _, l := range lengths {
		a, ph := size*d.rng.NormFloat64(), d.between(0, 2*math.Pi)
		for i := range s {
			out[i] += a * math.Sin(2*math.Pi*s[i]/l+ph)
		}
	}
	return out
}

func (r *done) measureWay() {
	n := len(r.pts)
	r.s, r.tangent = make([]float64, n), make([]float64, n)
	for i := range n {
		if i > 0 {
			r.s[i] = r.s[i-1] + float64(r.pts[i].Dist(r.pts[i-1]))
		}
		a := float64(r.pts[min(i+1, n-1)].Sub(r.pts[max(i-1, 0)]).Heading())
		if i > 0 {
			a = r.tangent[i-1] + turnBy(a-r.tangent[i-1])
		}
		r.tangent[i] = a
	}
}

// soften takes the edges off the drawn line and lets it waver by a few centimetres; where the
// horse turns on the spot it stays as drawn.
func (r *done) soften() {
	n := len(r.pts)
	xs, ys := make([]float64, n), make([]float64, n)
	for i, p := range r.pts {
		xs[i], ys[i] = p.X, p.Y
	}
	xs, ys = mean(xs, 9), mean(ys, 9)
	r.measureWay()
	w := r.waves(r.s, 0.03, 45, 27, 16)
	spot := func(i int) bool {
		for k := max(0, i-9); k <= min(n-1, i+9); k++ {
			if !math.IsNaN(r.face[k]) {
				return true
			}
		}
		return false
	}
	for i := range r.pts {
		if !spot(i) {
			r.pts[i] = pt{X: xs[i], Y: ys[i]}
		}
		r.pts[i] = r.pts[i].Add(unit(r.tangent[i]).Left().Mul(w[i]))
	}
	r.measureWay()
	slant := mean(r.slant, 20)
	r.heading = make([]float64, n)
	for i := range r.heading {
		r.heading[i] = r.tangent[i] + slant[i]*math.Pi/180
		if !math.IsNaN(r.face[i]) {
			r.heading[i] = r.tangent[i] + turnBy(r.face[i]-r.tangent[i])
		}
	}
}

// speeds lays the paces along the path: changes of three shapes, slower in bends, uneven.
func (r *done) speeds() {
	n := len(r.pts)
	r.own, r.pace = make([]float64, n), make([]string, n)
	for i := range n {
		r.own[i], r.pace[i] = r.paces[0].v, r.paces[0].name
	}
	for k, p := range r.paces[1:] {
		c, shape := r.s[p.i]+p.off, r.rng.IntN(3)
		p.before, p.mid = r.paces[k].v, sort.SearchFloat64s(r.s, c)
		for i := range n {
			q := math.Min(1, math.Max(0, (r.s[i]-c)/p.over+0.5))
			switch {
			case p.sudden:
				q = 0
				if i >= p.i {
					q = 1
				}
			case shape == 1:
				q = q * q * (3 - 2*q)
			case shape == 2:
				q = 0.5 - 0.5*math.Cos(math.Pi*q)
			}
			r.own[i] += (p.v - r.own[i]) * q
			if i >= p.mid {
				r.pace[i] = p.name
			}
		}
	}
	r.rideSpeeds()
	r.takeUp()
}

// quickens is how fast these horses gain speed, in m/s2.
const quickens = 1.1

// takeUp makes of the paces' own speeds, which step up at once, what the horse could take up of them: the
// middle of a change upwards lies where it was ridden and not where it was wanted.
func (r *done) takeUp() {
	for i := 1; i < len(r.own); i++ {
		r.own[i] = math.Min(r.own[i], math.Sqrt(r.own[i-1]*r.own[i-1]+2*quickens*(r.s[i]-r.s[i-1])))
	}
}

func (r *done) rideSpeeds() {
	n := len(r.pts)
	uneven, slower, brake := r.waves(r.s, 0.009, 60, 33, 18, 10), r.between(0, 0.12), r.between(0.7, 1.3)
	bend := make([]float64, n)
	for i := 1; i < n; i++ {
		bend[i] = math.Abs(r.tangent[i]-r.tangent[i-1]) / math.Max(1e-3, r.s[i]-r.s[i-1])
	}
	bend = mean(bend, 20)
	r.speed = make([]float64, n)
	for i := range n {
		v := r.own[i] * (1 + uneven[i]) * (1 - slower*math.Min(1, 5*bend[i]))
		for _, s := range r.slow {
			off := math.Max(0, math.Max(r.s[s.a]-r.s[i], r.s[i]-r.s[s.z]))
			v = math.Min(v, math.Sqrt(s.v*s.v+1.2*off))
		}
		for _, s := range r.stops {
			if to := r.s[s.i] - r.s[i]; to >= 0 {
				v = math.Min(v, math.Sqrt(2*brake*to))
			}
		}
		r.speed[i] = v
	}
}

func at(xs, ys []float64, x float64) float64 {
	i := sort.SearchFloat64s(xs, x)
	if i == 0 {
		return ys[0]
	}
	if i >= len(xs) {
		return ys[len(ys)-1]
	}
	f := (x - xs[i-1]) / math.Max(1e-12, xs[i]-xs[i-1])
	return ys[i-1] + f*(ys[i]-ys[i-1])
}

// ride goes along the path in time, stands, steps and goes back where it is to.
func (r *done) ride() {
	var now, aside, v float64
	s, k := r.s[0], 0
	v = r.paces[0].v * 0.8
	emit := func(x, a float64) {
		r.t, r.way, r.aside = append(r.t, now), append(r.way, x), append(r.aside, a)
		now += tick
	}
	for s < r.s[len(r.s)-1]-0.02 {
		if k < len(r.stops) && s >= r.s[r.stops[k].i]-0.012 {
			s, aside = r.stand(r.stops[k], now, aside, emit)
			s += 0.005
			k, v = k+1, 0.02
			continue
		}
		want := math.Max(at(r.s, r.speed, s), 0.05)
		v = math.Min(want, v+quickens*tick)
		v = math.Max(v, 0.03)
		emit(s, aside)
		s += v * tick
		aside *= math.Exp(-v * tick / 2.5)
	}
	r.way, r.aside = blur(r.way), blur(r.aside)
}

// stand holds a halt, with a step forward and a rein-back when there are such.
func (r *done) stand(h *stop, now, aside float64, emit func(s, aside float64)) (s, a float64) {
	s, h.began = r.s[h.i], now
	hold := func(seconds float64) {
		for range int(seconds / tick) {
			emit(s, aside)
		}
	}
	move := func(way, sideways, seconds float64) {
		n := int(seconds / tick)
		from, fromA := s, aside
		for j := 1; j <= n; j++ {
			q := 0.5 - 0.5*math.Cos(math.Pi*float64(j)/float64(n))
			emit(from+way*q, fromA+sideways*q)
		}
		s, aside = from+way, fromA+sideways
	}
	hold(h.seconds)
	if h.ahead > 0 {
		move(h.ahead, 0, 1)
		hold(0.4)
	}
	if h.back > 0 {
		move(-h.back, h.crook, h.back/0.7)
		hold(0.5)
	}
	return s, aside
}

// blur eases every start and stop over a third of a second.
func blur(z []float64) []float64 {
	const half = 20
	var w [2*half + 1]float64
	var sum float64
	for k := range w {
		x := float64(k-half) * tick / 0.13
		w[k] = math.Exp(-x * x / 2)
		sum += w[k]
	}
	out := make([]float64, len(z))
	for i := range z {
		for k, g := range w {
			out[i] += g / sum * z[min(max(i+k-half, 0), len(z)-1)]
		}
	}
	return out
}

// ground is where the body was at each tick.
func (r *done) ground() {
	n := len(r.t)
	px, py := make([]float64, len(r.pts)), make([]float64, len(r.pts))
	for i, p := range r.pts {
		px[i], py[i] = p.X, p.Y
	}
	r.x, r.y, r.h, r.tt, r.v = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, s := range r.way {
		r.tt[i], r.h[i] = at(r.s, r.tangent, s), at(r.s, r.heading, s)
		r.x[i] = at(r.s, px, s) - math.Sin(r.tt[i])*r.aside[i]
		r.y[i] = at(r.s, py, s) + math.Cos(r.tt[i])*r.aside[i]
	}
	for i := 1; i < n; i++ {
		r.v[i] = math.Hypot(r.x[i]-r.x[i-1], r.y[i]-r.y[i-1]) / tick
	}
}

// recorder is what wrote the file and where it sat.
type recorder struct {
	class, worn string
	factor      float64 // of the noise that the class declares
	hz          float64
	jumps       bool // now and then the place jumps aside for some seconds
	heading     bool
}

// record writes the ride as the recorder saw it: a CSV in the arena frame.
func (r *done) record(c recorder, seed uint64) ([]byte, error) {
	figures, err := track.ClassByName(c.class)
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	white, slow := figures.WhiteSD*c.factor, figures.WanderSD*c.factor
	drift := slow * math.Sqrt(2*(1-math.Exp(-20/float64(figures.WanderTau))))
	ts := r.instants(c.hz, rng)
	xs, ys := r.seat(c.worn, rng)
	ex, ey := coloured(ts, slow, drift, rng), coloured(ts, slow, drift, rng)
	if c.jumps {
		jump(ts, ex, slow, rng)
		jump(ts, ey, slow, rng)
	}
	off := 0.4 * rng.NormFloat64()
	var b bytes.Buffer
	b.WriteString("t_s,x_m,y_m")
	if c.heading {
		b.WriteString(",heading_deg")
	}
	b.WriteByte('\n')
	for i, t := range ts {
		row := fmt.Sprintf("%.3f,%.3f,%.3f", t, at(r.t, xs, t)+ex[i]+white*rng.NormFloat64(), at(r.t, ys, t)+ey[i]+white*rng.NormFloat64())
		if c.heading {
			h := at(r.t, r.h, t)*180/math.Pi + off + 1.5*rng.NormFloat64()
			row += fmt.Sprintf(",%.1f", h-360*math.Floor(h/360))
		}
		b.WriteString(row + "\n")
		if rng.Float64() < 0.004 {
			b.WriteString(row + "\n") // a row written twice
		}
	}
	return b.Bytes(), nil
}

// instants are uneven, with a few gaps.
func (r *done) instants(hz float64, rng *rand.Rand) []float64 {
	end := r.t[len(r.t)-1]
	var gaps [][2]float64
	for range rng.IntN(4) {
		a := end * rng.Float64()
		gaps = append(gaps, [2]float64{a, a + 0.3 + 2.2*rng.Float64()})
	}
	var out []float64
	for t := 0.0; t < end; t += 1 / hz {
		u := math.Round(1000*math.Max(0, t+(rng.Float64()-0.5)*0.3/hz)) / 1000
		lost := len(out) > 0 && u <= out[len(out)-1]
		for _, g := range gaps {
			lost = lost || u > g[0] && u < g[1]
		}
		if !lost {
			out = append(out, u)
		}
	}
	return out
}

// seat is the way of the recorder: the body's swaying and surging with the stride, the seat's
// place on the horse, and on a helmet a third of the lean that the bend would ask.
func (r *done) seat(worn string, rng *rand.Rand) (xs, ys []float64) {
	ahead, left, lean := 0.0, 0.0, 0.0
	switch worn {
	case "helmet":
		ahead, left, lean = 0.05+0.07*rng.NormFloat64(), 0.03*rng.NormFloat64(), 0.35
	case "saddle":
		ahead, left = -0.2+0.04*rng.NormFloat64(), 0.03*rng.NormFloat64()
	case "pocket":
		ahead, left = 0.08*rng.NormFloat64(), 0.12*float64(1-2*rng.IntN(2))
	}
	turning := make([]float64, len(r.t))
	for i := 1; i < len(r.t); i++ {
		turning[i] = (r.tt[i] - r.tt[i-1]) / tick
	}
	turning = mean(turning, 25)
	sway, phase, surge := 0.02+0.02*rng.Float64(), 0.0, 2*math.Pi*rng.Float64()
	xs, ys = make([]float64, len(r.t)), make([]float64, len(r.t))
	for i := range r.t {
		f := strideHz(r.pace[min(sort.SearchFloat64s(r.s, r.way[i]), len(r.pace)-1)])
		phase += 2 * math.Pi * f * tick
		l := left + sway*math.Sin(phase)*math.Min(1, r.v[i]) + math.Max(-0.12, math.Min(0.12, lean*r.v[i]*turning[i]/9.81))
		a := ahead + 0.03*r.v[i]/(2*math.Pi*f)*math.Sin(phase+surge)
		u := unit(r.h[i])
		xs[i], ys[i] = r.x[i]+u.X*a-u.Y*l, r.y[i]+u.Y*a+u.X*l
	}
	return xs, ys
}

// strideHz is strides a second (Clayton 1994, 1995).
func strideHz(pace string) float64 {
	switch {
	case strings.HasSuffix(pace, "walk"):
		return 0.92
	case strings.HasSuffix(pace, "canter"):
		return 1.65
	}
	return 1.32
}

// coloured is slow noise of a size and a drift within 20 s: lines from 900 s to 12 s whose size
// falls with a power of the frequency, the power that gives this drift. It is not the noise of
// which the estimator thinks (first-order).
func coloured(ts []float64, size, drift float64, rng *rand.Rand) []float64 {
	const n = 60
	var fs, amp [n]float64
	for k := range fs {
		fs[k] = math.Exp(math.Log(1/900.0) + (math.Log(1/12.0)-math.Log(1/900.0))*float64(k)/(n-1))
	}
	best := math.Inf(1)
	for b := -0.5; b <= 2.5; b += 0.05 {
		var total, d float64
		for _, f := range fs {
			total += math.Pow(f, -2*b)
		}
		for _, f := range fs {
			d += math.Pow(f, -2*b) / total * 2 * size * size * (1 - math.Cos(2*math.Pi*f*20))
		}
		if off := math.Abs(math.Sqrt(d) - drift); off < best {
			best = off
			for k, f := range fs {
				amp[k] = size * math.Sqrt(math.Pow(f, -2*b)/total)
			}
		}
	}
	out := make([]float64, len(ts))
	for k, f := range fs {
		a, c := amp[k]*rng.NormFloat64(), amp[k]*rng.NormFloat64()
		for i, t := range ts {
			out[i] += a*math.Sin(2*math.Pi*f*t) + c*math.Cos(2*math.Pi*f*t)
		}
	}
	return out
}

// jump shifts the place for 3 to 15 s about once a minute, as reflected signals do.
func jump(ts, e []float64, size float64, rng *rand.Rand) {
	end := ts[len(ts)-1]
	for range max(1, int(end/60)) {
		a := end * rng.Float64()
		b, by := a+3+12*rng.Float64(), size*rng.NormFloat64()
		for i, t := range ts {
			e[i] += by * 0.5 * (math.Tanh((t-a)/0.3) - math.Tanh((t-b)/0.3))
		}
	}
}
