package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// warp moves what happens around a metre of the plan further along the line: within flat of
// the event by all of late, fading to nothing over fade.
type warp struct{ at, late, flat, fade float64 }

func (r *rider) addWarps() {
	add := func(f *rideplan.Figure, late float64) {
		if f == nil || late == 0 {
			return
		}
		r.warps = append(r.warps, warp{float64(f.StartM+f.EndM) / 2, late, float64(f.EndM-f.StartM)/2 + 5, 4 + 3*math.Abs(late)})
	}
	for _, h := range r.faults.Halts {
		add(r.figure(h.Movement, h.Nth, "halt"), float64(h.Late))
	}
	for _, t := range r.faults.Transitions {
		if f := r.figure(t.Movement, t.Nth, "transition"); f != nil && t.Late != 0 {
			r.shifts = append(r.shifts, r.shiftOf(f, float64(t.Late)))
		}
	}
}

// warp returns the metre of the plan whose speed is ridden at metre m.
func (r *rider) warp(m float64) float64 {
	out := m
	for _, w := range r.warps {
		d := math.Abs(m-w.at-w.late) - w.flat
		switch {
		case d <= 0:
			out -= w.late
		case d < w.fade:
			out -= w.late * 0.5 * (1 + math.Cos(math.Pi*d/w.fade))
		}
	}
	return math.Max(0, math.Min(float64(r.plan.Length), out))
}

// unwarp is the inverse of warp, by bisection.
func (r *rider) unwarp(m float64) float64 {
	if len(r.warps) == 0 {
		return m
	}
	lo, hi := 0.0, float64(r.plan.Length)
	for range 60 {
		mid := (lo + hi) / 2
		if r.warp(mid) < m {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// longer is how much longer than planned the halt at metre m is held.
func (r *rider) longer(m float64) float64 {
	for _, h := range r.faults.Halts {
		if f := r.figure(h.Movement, h.Nth, "halt"); f != nil && math.Abs(float64(f.StartM)-m) < 0.05 {
			return float64(h.Longer)
		}
	}
	return 0
}

// heldFactor is the factor on the speed where a bigger pace was given up or never reached.
func (r *rider) heldFactor(m float64) float64 {
	for _, h := range r.faults.Held {
		for _, kind := range biggerKinds {
			f := r.figure(h.Movement, h.Nth, kind)
			if f == nil || m < float64(f.StartM) || m > float64(f.EndM) {
				continue
			}
			v := r.speedAt(float64(f.StartM+f.EndM) / 2)
			base := math.Min(r.speedAt(float64(f.StartM)-4), r.speedAt(float64(f.EndM)+4))
			if base >= v || v == 0 {
				return 1
			}
			gain := 1.0
			if h.Gain != 0 {
				gain = h.Gain
			}
			share := (m - float64(f.StartM)) / float64(f.EndM-f.StartM)
			if h.Share > 0 && share > h.Share {
				gain = 0
			}
			now := r.speedAt(m)
			return (base + math.Max(0, now-base)*gain) / math.Max(now, base)
		}
	}
	return 1
}

var biggerKinds = []string{"medium pace", "extended pace", "lengthened strides"}

// speedAt is the planned speed around metre m.
func (r *rider) speedAt(m float64) float64 {
	dt := r.movingAt(m+0.25) - r.movingAt(m-0.25)
	if dt <= 0 {
		return 0
	}
	return 0.5 / dt
}

// figure finds the nth figure of a kind in a movement, nil when there is none.
func (r *rider) figure(movement, nth int, kinds ...string) *rideplan.Figure {
	mv := r.plan.MovementByNumber(movement)
	if mv == nil {
		return nil
	}
	for i := range mv.Figures {
		for _, k := range kinds {
			if string(mv.Figures[i].Kind) != k {
				continue
			}
			if nth == 0 {
				return &mv.Figures[i]
			}
			nth--
		}
	}
	return nil
}

// shift moves the change of speed of a transition along the line. Bends stay where they are
// and are ridden as much slower as planned.
type shift struct {
	m, late, v1, v2, acc float64
	lo, hi               float64 // metres within which the pace before and after is ridden
}

// shiftOf reads a change of pace off the plan: the speeds on the straight before and after,
// and how fast one becomes the other at the letter.
func (r *rider) shiftOf(f *rideplan.Figure, late float64) shift {
	s := shift{m: float64(f.StartM+f.EndM) / 2, late: late}
	s.lo, s.hi = s.m, s.m
	for ; s.lo > 0 && s.m-s.lo < 30 && r.plan.SampleAtM(arena.Metres(s.lo-0.3)).Variety == f.From; s.lo -= 0.2 {
		if s.m-s.lo > 3 {
			s.v1 = math.Max(s.v1, r.speedAt(s.lo))
		}
	}
	for ; s.hi < float64(r.plan.Length) && s.hi-s.m < 30 && r.plan.SampleAtM(arena.Metres(s.hi+0.3)).Variety == f.Variety; s.hi += 0.2 {
		if s.hi-s.m > 3 {
			s.v2 = math.Max(s.v2, r.speedAt(s.hi))
		}
	}
	a, b := r.speedAt(s.m-0.5), r.speedAt(s.m+0.5)
	s.acc = (b*b - a*a) / 2
	if s.acc*(s.v2-s.v1) <= 0 || math.Abs(s.acc) < 0.2 {
		s.acc = math.Copysign(0.8, s.v2-s.v1)
	}
	return s
}

// pace is the speed without bends when the change is at metre m.
func (s shift) pace(at, m float64) float64 {
	vm := (s.v1 + s.v2) / 2
	v := math.Sqrt(math.Max(0, vm*vm+2*s.acc*(at-m)))
	return math.Max(math.Min(s.v1, s.v2), math.Min(math.Max(s.v1, s.v2), v))
}

// shiftFactor is how much faster than planned a metre is ridden because changes of pace are
// early or late.
func (r *rider) shiftFactor(m float64) float64 {
	f := 1.0
	for _, s := range r.shifts {
		if m > s.lo && m < s.hi && s.v1 > 0 && s.v2 > 0 {
			f *= s.pace(m, s.m+s.late) / s.pace(m, s.m)
		}
	}
	return f
}
