package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// DipFault lets the speed fall (or rise, By negative) after a change of pace before it is picked up
// again: By of its speed at the worst, Over metres long, After metres past the middle of the change.
type DipFault struct {
	Movement, Nth int
	By            float64 // share of the speed
	Over, After   arena.Metres
}

// dip is a fault laid on the line.
type dip struct{ at, half, by float64 }

// addDips lays the dips at the changes of pace as this rider places them.
func (r *rider) addDips() {
	for _, d := range r.faults.Dips {
		f := r.figure(d.Movement, d.Nth, "transition")
		if f == nil {
			continue
		}
		for i := range r.shifts {
			if s := &r.shifts[i]; math.Abs(s.m-float64(f.StartM+f.EndM)/2) < 1e-6 {
				r.dips = append(r.dips, dip{s.mid + s.late + float64(d.After), float64(d.Over) / 2, d.By})
			}
		}
	}
}

// dipped reports whether a dip to speak of lies in a change of pace.
func (r *rider) dipped(s *shift) bool {
	for _, d := range r.dips {
		if math.Abs(d.by) > 0.05 && math.Abs(d.at-s.mid-s.late) < d.half+4 {
			return true
		}
	}
	return false
}

// dipFactor is what the dips make of the speed at metre m.
func (r *rider) dipFactor(m float64) float64 {
	f := 1.0
	for _, d := range r.dips {
		if x := (m - d.at) / d.half; math.Abs(x) < 1 {
			f *= 1 - d.by*(1-x*x)*(1-x*x)
		}
	}
	return f
}

// smoothness is how far, in metres a second over a second and six tenths, the speed leaves the even
// change that fits it best, within four seconds of its middle. Bends are left out: what counts is
// the speed that this rider would ride on a straight line.
func (t *teller) smoothness(s *shift) float64 {
	lo, hi := t.cellsIn(s.lo, s.hi)
	n := hi - lo
	if n < 20 || s.v1 <= 0 || s.v2 <= 0 {
		return math.NaN()
	}
	ts, xs := make([]float64, n), make([]float64, n)
	for i := 1; i < n; i++ {
		c := &t.r.cells[lo+i]
		v1, v2 := s.v1*t.r.own(s.from), s.v2*t.r.own(s.to)
		v := (v1 + t.r.changed(s, c.m)*(v2-v1)) * t.r.dipFactor(c.m) * t.r.heldFactor(c.m) * c.slip
		d := c.m - t.r.cells[lo+i-1].m
		xs[i], ts[i] = xs[i-1]+d, ts[i-1]+d/v
	}
	best, res := math.Inf(1), []float64(nil)
	middle := 0.0
	for tc := 0.4; tc < ts[n-1]-0.4; tc += 0.1 {
		for _, long := range []float64{0.3, 0.8, 1.4, 2, 2.8, 3.6, 4.4} {
			if r, ss := evenChange(ts, xs, tc, long); ss < best {
				best, res, middle = ss, r, tc
			}
		}
	}
	return worstSlope(ts, res, middle)
}

// evenChange fits place and two speeds of a change whose middle and seconds are given.
func evenChange(ts, xs []float64, tc, long float64) (res []float64, ss float64) {
	row := func(t float64) [3]float64 { // way since the middle at the first speed, and at the second
		x := t - tc
		second := math.Max(0, x)
		if math.Abs(x) < long/2 {
			second = (x + long/2) * (x + long/2) / (2 * long)
		}
		return [3]float64{1, x - second, second}
	}
	var n [3][4]float64
	for i := range ts {
		a := row(ts[i])
		for j := range 3 {
			for k := range 3 {
				n[j][k] += a[j] * a[k]
			}
			n[j][3] += a[j] * xs[i]
		}
	}
	x := solve3(n)
	res = make([]float64, len(ts))
	for i := range ts {
		a := row(ts[i])
		res[i] = xs[i] - x[0]*a[0] - x[1]*a[1] - x[2]*a[2]
		ss += res[i] * res[i]
	}
	return res, ss
}

// worstSlope is the steepest straight through 1.6 s of some residuals, within 4 s of a time.
func worstSlope(ts, res []float64, middle float64) float64 {
	const half = 0.8
	worst := 0.0
	for k := range ts {
		if math.Abs(ts[k]-middle) > 4 || ts[k]-ts[0] < 0.2 || ts[len(ts)-1]-ts[k] < 0.2 {
			continue
		}
		var w, st, stt, sy, sty float64
		for i := range ts {
			if math.Abs(ts[i]-ts[k]) <= half {
				w, st, stt, sy, sty = w+1, st+ts[i], stt+ts[i]*ts[i], sy+res[i], sty+ts[i]*res[i]
			}
		}
		if d := w*stt - st*st; w > 3 && d > 0 {
			worst = math.Max(worst, math.Abs((w*sty-st*sy)/d))
		}
	}
	return worst
}

// steepness is the direction in degrees of the cells between two metres of a sideways line across,
// from the line it leads to.
func (t *teller) steepness(f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	lo, hi := t.cellsIn(a+0.2*(z-a), z-0.2*(z-a))
	cs := t.r.cells[lo:hi]
	if len(cs) < 10 {
		return
	}
	u := t.direction((a + z) / 2)
	const on = 1.5 // metres past the end, from where the line it leads to is carried back
	after := t.r.plan.SampleAtM(arena.Metres(math.Min(z+on, float64(t.r.plan.Length))))
	w := (after.Heading - arena.Angle(after.Curvature*on)).Unit()
	n := w.Left()
	if n.Dot(u) < 0 {
		n = n.Mul(-1)
	}
	var m, mm, mw, mn, sw, sn float64
	for _, c := range cs {
		k := 1 / float64(len(cs))
		m, mm = m+k*c.m, mm+k*c.m*c.m
		sw, sn = sw+k*c.p.Dot(w), sn+k*c.p.Dot(n)
		mw, mn = mw+k*c.m*c.p.Dot(w), mn+k*c.m*c.p.Dot(n)
	}
	t.say("line angle", f.At, math.Atan2((mn-m*sn)/(mm-m*m), (mw-m*sw)/(mm-m*m))*180/math.Pi)
}
