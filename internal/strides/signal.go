package strides

import (
	"math"

	"ringcraft/internal/track"
)

// All work is done at one rate: 50 Hz holds every pace's beat and three overtones.
const (
	rate      = 50.0
	windowS   = 3.0
	hopS      = 0.5
	windowLen = int(windowS * rate)
	hopLen    = int(hopS * rate)
	maxHold   = 0.5 // s: a longer pause between samples is missing data
)

// signal is the motion at the common rate, split into vertical and horizontal.
type signal struct {
	inputHz float64
	t0      Seconds
	vert    []float64    // vertical acceleration less gravity, 0.5 to 8 Hz, m/s2, up positive
	side    [2][]float64 // horizontal acceleration along two fixed axes, same band
	yaw     []float64    // turn rate about the vertical, rad/s, left positive; nil without gyroscope
	turn    [2][]float64 // turn rates about two horizontal axes
	raw     []float64    // size of the acceleration, unfiltered
	missing [][2]Seconds
	absent  []bool // samples bridged over missing data
	upless  bool   // the file holds no gravity: up or down is not known
	notes   []string
}

func (s *signal) time(i int) Seconds { return s.t0 + Seconds(float64(i)/rate) }

func (s *signal) index(t Seconds) int {
	return min(max(int(math.Round(float64(t-s.t0)*rate)), 0), len(s.vert)-1)
}

// newSignal resamples, finds the vertical and filters.
func newSignal(t *track.Track) *signal {
	m := t.Motion
	s := &signal{t0: m[0].T, inputHz: float64(len(m)-1) / math.Max(float64(m[len(m)-1].T-m[0].T), 1e-9)}
	ch := s.resample(t)
	n := len(ch[0])
	s.raw = make([]float64, n)
	g := s.gravity(ch)
	acc := [3][]float64{make([]float64, n), make([]float64, n), make([]float64, n)}
	if t.HasGyro {
		s.yaw = make([]float64, n)
		s.turn = [2][]float64{make([]float64, n), make([]float64, n)}
	}
	var e1 [3]float64
	for i := range n {
		s.raw[i] = math.Sqrt(ch[0][i]*ch[0][i] + ch[1][i]*ch[1][i] + ch[2][i]*ch[2][i])
		up := unit([3]float64{g[0][i], g[1][i], g[2][i]})
		var e2 [3]float64
		e1, e2 = horizon(e1, up)
		a := [3]float64{ch[0][i] - g[0][i], ch[1][i] - g[1][i], ch[2][i] - g[2][i]}
		acc[0][i], acc[1][i], acc[2][i] = dot(a, up), dot(a, e1), dot(a, e2)
		if t.HasGyro {
			w := [3]float64{ch[3][i], ch[4][i], ch[5][i]}
			s.yaw[i], s.turn[0][i], s.turn[1][i] = dot(w, up), dot(w, e1), dot(w, e2)
		}
	}
	s.vert, s.side[0], s.side[1] = bandpass(acc[0], 0.5, 8), bandpass(acc[1], 0.5, 8), bandpass(acc[2], 0.5, 8)
	return s
}

// gravity is the slow part of the acceleration, which points up. A file from which it was taken out
// already (linear acceleration) gets the axis of its largest motion instead, up or down.
func (s *signal) gravity(ch [][]float64) (g [3][]float64) {
	var size []float64
	for a := range 3 {
		g[a] = lowpass(ch[a], 0.3)
	}
	for i := 0; i < len(g[0]); i += 25 {
		size = append(size, math.Sqrt(g[0][i]*g[0][i]+g[1][i]*g[1][i]+g[2][i]*g[2][i]))
	}
	if median(size) > leastGravity {
		return g
	}
	s.upless = true
	s.notes = append(s.notes, "the acceleration holds no gravity: the vertical was taken from the largest motion, and left and right cannot be told")
	var all []swing
	for i := 0; i < len(ch[0]); i += 5 {
		all = append(all, swing{v: [6]float64{ch[0][i] - g[0][i], ch[1][i] - g[1][i], ch[2][i] - g[2][i]}})
	}
	axis := mainAxis(all, [6]float64{})
	for a := range 3 {
		for i := range g[a] {
			g[a][i] = axis[a]
		}
	}
	return g
}

// leastGravity in m/s2: less is not gravity any more.
const leastGravity = 3.0

// resample brings the channels to the common rate: means over a step where the input is faster,
// straight lines between samples where it is slower.
func (s *signal) resample(t *track.Track) [][]float64 {
	m := t.Motion
	n := int(float64(m[len(m)-1].T-s.t0)*rate) + 1
	ch := make([][]float64, 6)
	for c := range ch {
		ch[c] = make([]float64, n)
	}
	s.absent = make([]bool, n)
	j := 0
	for i := range n {
		at := s.time(i)
		for j+1 < len(m) && m[j+1].T <= at {
			j++
		}
		v := between(m, j, at)
		if lo, hi := at-Seconds(0.5/rate), at+Seconds(0.5/rate); s.inputHz > 1.5*rate {
			v = meanWithin(m, j, lo, hi, v)
		}
		for c := range ch {
			ch[c][i] = v[c]
		}
		if j+1 < len(m) && m[j+1].T-m[j].T > maxHold {
			s.absent[i] = true
		}
	}
	for k := 1; k < len(m); k++ {
		if m[k].T-m[k-1].T > maxHold {
			s.missing = append(s.missing, [2]Seconds{m[k-1].T, m[k].T})
		}
	}
	return ch
}

func channels(m track.Motion) [6]float64 {
	return [6]float64{m.AccX, m.AccY, m.AccZ, m.GyrX, m.GyrY, m.GyrZ}
}

func between(m []track.Motion, j int, at Seconds) [6]float64 {
	a := channels(m[j])
	if j+1 >= len(m) || at <= m[j].T {
		return a
	}
	b := channels(m[j+1])
	u := float64(at-m[j].T) / float64(m[j+1].T-m[j].T)
	for c := range a {
		a[c] += u * (b[c] - a[c])
	}
	return a
}

func meanWithin(m []track.Motion, j int, lo, hi Seconds, instead [6]float64) [6]float64 {
	var sum [6]float64
	n := 0
	for k := j; k >= 0 && m[k].T >= lo; k-- {
		add(&sum, channels(m[k]))
		n++
	}
	for k := j + 1; k < len(m) && m[k].T < hi; k++ {
		add(&sum, channels(m[k]))
		n++
	}
	if n == 0 {
		return instead
	}
	for c := range sum {
		sum[c] /= float64(n)
	}
	return sum
}

func add(a *[6]float64, b [6]float64) {
	for c := range a {
		a[c] += b[c]
	}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func unit(a [3]float64) [3]float64 {
	n := math.Sqrt(dot(a, a))
	if n < 1e-9 {
		return [3]float64{0, 0, 1}
	}
	return [3]float64{a[0] / n, a[1] / n, a[2] / n}
}

// horizon carries the horizontal axes along as the sensor tilts slowly: the last first axis, laid
// flat again. So the axes keep their direction in the sensor's housing.
func horizon(last, up [3]float64) (e1, e2 [3]float64) {
	if last == ([3]float64{}) {
		last = [3]float64{1, 0, 0}
		if math.Abs(up[0]) > 0.8 {
			last = [3]float64{0, 1, 0}
		}
	}
	k := dot(last, up)
	flat := [3]float64{last[0] - k*up[0], last[1] - k*up[1], last[2] - k*up[2]}
	if dot(flat, flat) < 1e-6 {
		flat = [3]float64{-up[1], up[0], 0}
		if dot(flat, flat) < 1e-6 {
			flat = [3]float64{1, 0, 0}
		}
	}
	e1 = unit(flat)
	e2 = [3]float64{up[1]*e1[2] - up[2]*e1[1], up[2]*e1[0] - up[0]*e1[2], up[0]*e1[1] - up[1]*e1[0]}
	return e1, e2
}

// biquad is a second-order filter section in direct form.
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// butterworth designs a second-order Butterworth section by the bilinear transform.
func butterworth(hz float64, high bool) biquad {
	k := math.Tan(math.Pi * hz / rate)
	d := 1 + math.Sqrt2*k + k*k
	q := biquad{a1: 2 * (k*k - 1) / d, a2: (1 - math.Sqrt2*k + k*k) / d}
	if high {
		q.b0, q.b1, q.b2 = 1/d, -2/d, 1/d
	} else {
		q.b0, q.b1, q.b2 = k*k/d, 2*k*k/d, k*k/d
	}
	return q
}

// both runs the section forward and backward, so that nothing is delayed; the ends are mirrored.
func (q biquad) both(x []float64) []float64 {
	n := len(x)
	pad := min(n-1, int(4*rate))
	y := make([]float64, 0, n+2*pad)
	for i := pad; i > 0; i-- {
		y = append(y, 2*x[0]-x[i])
	}
	y = append(y, x...)
	for i := 1; i <= pad; i++ {
		y = append(y, 2*x[n-1]-x[n-1-i])
	}
	for range 2 {
		q.run(y)
		for i, j := 0, len(y)-1; i < j; i, j = i+1, j-1 {
			y[i], y[j] = y[j], y[i]
		}
	}
	return y[pad : pad+n]
}

// run filters in place, starting as if the first value had stood for ever.
func (q biquad) run(y []float64) {
	gain := (q.b0 + q.b1 + q.b2) / (1 + q.a1 + q.a2)
	x1, x2 := y[0], y[0]
	y1, y2 := gain*y[0], gain*y[0]
	for i, x := range y {
		v := q.b0*x + q.b1*x1 + q.b2*x2 - q.a1*y1 - q.a2*y2
		x2, x1 = x1, x
		y2, y1 = y1, v
		y[i] = v
	}
}

func lowpass(x []float64, hz float64) []float64 { return butterworth(hz, false).both(x) }

func bandpass(x []float64, lo, hi float64) []float64 {
	return butterworth(math.Min(hi, 0.45*rate), false).both(butterworth(lo, true).both(x))
}
