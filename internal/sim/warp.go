package sim

import (
	"math"

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
		add(r.figure(t.Movement, t.Nth, "transition"), float64(t.Late))
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
