package track

import (
	"math"
)

// The clocks of two devices. A rider's phone and the receiver on the horse feel the same turns: the turn
// rate about the vertical is that of the way's course. One is slid along the other; a shift is taken only where it clearly wins.
// Halts and changes of pace alone, which a sensor without a gyroscope feels as well, found one ride in five
// and once took another sheet's ride for this one: they are not used.
const (
	clockBin     = 0.25      // s, of the series of motion
	clockStep    = 1.0       // s, between looks at the way
	clockLongest = 4 * 3600  // s: longer recordings are not compared
	clockLeast   = 60.0      // s of looks that must overlap
	clockMoving  = 1.0       // m/s: slower, the way does not show its turning
	clockWins    = 9.0       // by which the log likelihood of the best must beat that of the next: e^9 to 1
	clockMirror  = 3.0       // what a best with turns the other way round must win more
	clockAlike   = 0.5       // least correlation
	clockPart    = 45.0      // s of looks in a part
	clockReach   = 4.0       // s to either side within which each part finds its own best
	clockApart   = 1.0       // s by which a part may lie from the middle one
	clockScatter = 0.5       // s, standard deviation of the parts: more is another ride of the same sheet
	clockDrift   = 300e-6    // more is no clock
	clockZone    = 30 * 60.0 // s: a clock without a zone is off by multiples of this
	clockOff     = 15 * 60.0 // s by which clocks with a time of day may be off
)

// clockAsk is how many shifts are tried between two looks at the step: each costs a look at all of the way.
const clockAsk = 32

// clockAgrees is by how many seconds two times of day may differ and yet agree.
const clockAgrees = 0.5

// turnsFloor is the least doubt of a matched shift in seconds: heads turn before the way does and receivers
// smooth (assumption, no source).
const turnsFloor = 0.15

// clockFit is how the clock of motion lies against that of positions: T + Shift + Drift*(T-Mid).
type clockFit struct {
	Shift, SD, Mid Seconds
	Drift          float64
}

// series is one quantity at even times; NaN where it is not known.
type series struct {
	t0, step float64
	v        []float64
}

func (s series) at(t float64) float64 {
	x := (t - s.t0) / s.step
	k := int(math.Floor(x))
	if k < 0 || k+1 >= len(s.v) {
		return math.NaN()
	}
	u := x - float64(k)
	return s.v[k] + u*(s.v[k+1]-s.v[k])
}

func (s series) end() float64 { return s.t0 + s.step*float64(len(s.v)-1) }

// matchClocks finds the shift between two recordings of one ride; ok is false where none clearly wins. The
// error is the step's.
func matchClocks(positions, motion *Track, step Step) (fit clockFit, ok bool, err error) {
	m, f := motion.Motion, positions.Fixes
	if !motion.HasGyro || len(f) < MinFixes || len(m) < MinMotion || f[len(f)-1].T-f[0].T > clockLongest || m[len(m)-1].T-m[0].T > clockLongest {
		return fit, false, nil
	}
	if err := step.at(0); err != nil {
		return fit, false, err
	}
	smoothing := step.within(0, 0.5)
	var stopped error
	sm, err := Smooth(positions, NoiseFor("", positions), SmoothOptions{RateHz: 1 / clockBin, Step: func(share float64) error {
		stopped = smoothing.at(share)
		return stopped
	}})
	if err != nil || len(sm.States) == 0 { // what cannot be smoothed is not matched
		return fit, false, stopped
	}
	felt, ok := feltTurns(motion)
	if !ok {
		return fit, false, nil
	}
	c := comparer{way: wayTurns(sm), felt: felt, step: step.within(0.5, 1)}
	fit, ok = c.match()
	return fit, ok, c.stopped
}

// wayTurns is the course's rate of turn, looked at every clockStep and taken over a second or so.
func wayTurns(sm *Smoothed) series {
	every := int(math.Round(clockStep / clockBin))
	out := series{t0: float64(sm.States[0].T), step: clockStep}
	for i := 0; i < len(sm.States); i += every {
		s, turn := sm.States[i], math.NaN()
		if v := s.Speed(); !s.Gap && v >= clockMoving {
			turn = math.Max(-1, math.Min(1, (s.V.X*s.A.Y-s.V.Y*s.A.X)/(v*v)))
		}
		out.v = append(out.v, turn)
	}
	return out
}

// feltTurns is the sensor's rate of turn about gravity; ok is false where it feels none.
func feltTurns(t *Track) (out series, ok bool) {
	m := t.Motion
	n := int(float64(m[len(m)-1].T-m[0].T)/clockBin) + 1
	var sums [6][]float64
	for c := range sums {
		sums[c] = make([]float64, n)
	}
	count := make([]float64, n)
	for _, x := range m {
		k := min(int(float64(x.T-m[0].T)/clockBin), n-1)
		count[k]++
		for c, v := range [6]float64{x.AccX, x.AccY, x.AccZ, x.GyrX, x.GyrY, x.GyrZ} {
			sums[c][k] += v
		}
	}
	out = series{float64(m[0].T) + clockBin/2, clockBin, make([]float64, n)}
	gravity := 0.0
	for k := range n {
		g, w, seen := around(sums, count, k)
		if !seen {
			out.v[k] = math.NaN()
			continue
		}
		size := math.Sqrt(g[0]*g[0] + g[1]*g[1] + g[2]*g[2])
		gravity += size / float64(n)
		out.v[k] = (g[0]*w[0] + g[1]*w[1] + g[2]*w[2]) / math.Max(size, 1e-9)
	}
	const leastGravity = 5.0 // m/s2: less is a sensor that takes it out
	return out, gravity > leastGravity
}

// around gives, about one bin, the mean acceleration of three seconds and the turn rate of one and a
// quarter; seen is false where there are no samples.
func around(sums [6][]float64, count []float64, k int) (g, w [3]float64, seen bool) {
	var long, short float64
	for j := max(0, k-6); j <= min(len(count)-1, k+6); j++ {
		near := j >= k-2 && j <= k+2
		long += count[j]
		if near {
			short += count[j]
		}
		for a := range 3 {
			g[a] += sums[a][j]
			if near {
				w[a] += sums[3+a][j]
			}
		}
	}
	if short == 0 {
		return g, w, false
	}
	for a := range 3 {
		g[a], w[a] = g[a]/long, w[a]/short
	}
	return g, w, true
}

// comparer slides what was felt along the way.
type comparer struct {
	way, felt series
	step      Step
	stopped   error // what the step said to end the work
}

// alike is the correlation at one shift over the looks from a to z, and how many looks it is over.
func (c *comparer) alike(shift float64, a, z int) (r float64, n float64) {
	var sx, sy, xx, yy, xy float64
	lo := int(math.Floor((c.felt.t0 + shift - c.way.t0) / c.way.step))
	hi := int(math.Ceil((c.felt.end() + shift - c.way.t0) / c.way.step))
	for i := max(a, lo); i < min(z, hi+1); i++ {
		x := c.way.v[i]
		if x != x {
			continue
		}
		y := c.felt.at(c.way.t0 + c.way.step*float64(i) - shift)
		if y != y {
			continue
		}
		n++
		sx, sy, xx, yy, xy = sx+x, sy+y, xx+x*x, yy+y*y, xy+x*y
	}
	if n < 10 {
		return 0, n
	}
	vx, vy := xx-sx*sx/n, yy-sy*sy/n
	if vx <= 1e-9*xx || vy <= 1e-9*yy {
		return 0, n
	}
	return (xy - sx*sy/n) / math.Sqrt(vx*vy), n
}

// worth is how many seconds one independent look is worth: products of two series that both go slowly
// agree by chance for as long as the products of their likenesses to themselves sum to (Bartlett 1935).
func (c *comparer) worth() float64 {
	sum := 1.0
	for lag := 1; lag <= 20; lag++ {
		a := selfAlike(c.way, float64(lag)*c.way.step)
		b := selfAlike(c.felt, float64(lag)*c.way.step)
		sum += 2 * a * b
	}
	return c.way.step * math.Max(1, sum)
}

func selfAlike(s series, lag float64) float64 {
	k := int(math.Round(lag / s.step))
	var n, sx, xx, xy float64
	for i := 0; i+k < len(s.v); i++ {
		x, y := s.v[i], s.v[i+k]
		if x == x && y == y {
			n, sx, xx, xy = n+1, sx+x, xx+x*x, xy+x*y
		}
	}
	if n == 0 || xx-sx*sx/n <= 0 {
		return 0
	}
	return (xy - sx*sx/n) / (xx - sx*sx/n)
}

// match finds the best shift and accepts it where it clearly wins and all parts of the ride agree on it.
func (c *comparer) match() (fit clockFit, ok bool) {
	const step = 0.5
	first, last := c.way.t0-c.felt.end(), c.way.end()-c.felt.t0
	n := int((last-first)/step) + 1
	if n < 3 {
		return fit, false
	}
	each := c.worth()
	likely := make([]float64, n)
	best, bestR := -1, 0.0
	for k := range n {
		if k%clockAsk == 0 {
			if c.stopped = c.step.at(float64(k) / float64(n)); c.stopped != nil {
				return fit, false
			}
		}
		r, over := c.alike(first+step*float64(k), 0, len(c.way.v))
		if over*c.way.step < clockLeast {
			continue
		}
		likely[k] = -over * c.way.step / each / 2 * math.Log(math.Max(1e-9, 1-r*r))
		if r < 0 {
			likely[k] = math.Max(0, likely[k]-clockMirror)
		}
		if best < 0 || likely[k] > likely[best] {
			best, bestR = k, r
		}
	}
	if best < 0 || math.Abs(bestR) < clockAlike || likely[best]-nextBest(likely, best) < clockWins {
		return fit, false
	}
	return c.parts(first+step*float64(best), math.Copysign(1, bestR))
}

// nextBest is the greatest value outside the hump of the best one.
func nextBest(v []float64, best int) float64 {
	const ripple = 1.0
	out := 0.0
	for _, way := range []int{-1, 1} {
		low, k := v[best], best+way
		for ; k >= 0 && k < len(v) && v[k] < low+ripple; k += way {
			low = math.Min(low, v[k])
		}
		for ; k >= 0 && k < len(v); k += way {
			out = math.Max(out, v[k])
		}
	}
	return out
}

// parts lets each part of the ride find its own best near a shift: they must agree, and their scatter is
// the doubt.
func (c *comparer) parts(shift, sign float64) (fit clockFit, ok bool) {
	var at, own []float64
	for a := 0; a < len(c.way.v); {
		z, seen := a, 0.0
		for ; z < len(c.way.v) && seen < clockPart; z++ {
			if c.way.v[z] == c.way.v[z] && !math.IsNaN(c.felt.at(c.way.t0+c.way.step*float64(z)-shift)) {
				seen += c.way.step
			}
		}
		if seen >= clockPart {
			if s, found := c.nearest(shift, sign, a, z); found {
				at, own = append(at, c.way.t0+c.way.step*float64(a+z)/2), append(own, s)
			}
		}
		a = z
	}
	if len(own) < 2 {
		s, found := c.nearest(shift, sign, 0, len(c.way.v))
		return clockFit{Shift: Seconds(s), SD: 2 * turnsFloor}, found
	}
	fit, ok = agreeing(at, own)
	fit.SD = Seconds(math.Hypot(turnsFloor, float64(fit.SD)))
	return fit, ok
}

// nearest refines a shift over some looks: the top of a parabola through the best of quarter seconds.
func (c *comparer) nearest(shift, sign float64, a, z int) (float64, bool) {
	const step = 0.25
	reach := int(clockReach / step)
	v := make([]float64, 2*reach+1)
	best := 0
	for k := range v {
		r, _ := c.alike(shift+step*float64(k-reach), a, z)
		if v[k] = sign * r; v[k] > v[best] {
			best = k
		}
	}
	if best == 0 || best == len(v)-1 || v[best] < 0.3 {
		return 0, false
	}
	p, q, r := v[best-1], v[best], v[best+1]
	top := 0.0
	if d := p - 2*q + r; d < 0 {
		top = 0.5 * (p - r) / d
	}
	return shift + step*(float64(best-reach)+top), true
}

// agreeing is the shift on which parts agree, and its drift where it shows.
func agreeing(at, own []float64) (fit clockFit, ok bool) {
	mid, shift, n := median(at), median(own), float64(len(own))
	var far int
	var sq, tt, ty, sum float64
	for i := range own {
		if math.Abs(own[i]-shift) > clockApart {
			far++
			continue
		}
		sum += own[i]
	}
	kept := n - float64(far)
	if float64(far) > n/4 {
		return fit, false
	}
	mean := sum / kept
	for i := range own {
		if math.Abs(own[i]-shift) <= clockApart {
			d := own[i] - mean
			sq, tt, ty = sq+d*d, tt+(at[i]-mid)*(at[i]-mid), ty+(at[i]-mid)*d
		}
	}
	sd := math.Sqrt(sq / math.Max(1, kept-1))
	if sd > clockScatter {
		return fit, false
	}
	fit = clockFit{Shift: Seconds(mean), SD: Seconds(sd / math.Sqrt(kept)), Mid: Seconds(mid)}
	if kept >= 8 && tt > 0 {
		slope, err := ty/tt, sd/math.Sqrt(tt)
		if math.Abs(slope) > clockDrift+3*err {
			return fit, false // clocks do not run apart like this: two rides do
		}
		if math.Abs(slope) > 3*err && err < 50e-6 {
			fit.Drift = slope
		}
	}
	return fit, true
}
