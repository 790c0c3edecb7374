package sim

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
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
		if f := r.figure(h.Movement, h.Nth, "halt"); f != nil && r.backAfter(float64(f.StartM)) == 0 {
			add(f, float64(h.Late))
		}
	}
	r.addShifts()
}

// addShifts lists all changes of pace between two ways of going, moved or not.
func (r *rider) addShifts() {
	for _, mv := range r.plan.Movements {
		nth := -1
		for k := range mv.Figures {
			f := &mv.Figures[k]
			if string(f.Kind) != "transition" {
				continue
			}
			nth++
			if quiet(f.From.PaceOf()) || quiet(f.Variety.PaceOf()) {
				continue
			}
			late := 0.0
			for _, t := range r.faults.Transitions {
				if t.Movement == mv.Number && t.Nth == nth {
					late = float64(t.Late)
				}
			}
			r.shifts = append(r.shifts, r.shiftOf(f, late))
		}
	}
}

// quiet reports a pace that does not go forward.
func quiet(p gait.Pace) bool { return p == gait.Halt || p == gait.ReinBack || p == "" }

// backAfter is how far the plan goes back right after metre m.
func (r *rider) backAfter(m float64) float64 {
	d := 0.0
	for r.goesBack(m + d + 0.2) {
		d += 0.2
	}
	return d
}

func (r *rider) goesBack(m float64) bool {
	a, b := r.plan.SampleAtM(arena.Metres(m-0.1)), r.plan.SampleAtM(arena.Metres(m+0.1))
	return b.Point.Sub(a.Point).Dot(a.Heading.Unit()) < -0.01
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
	if f, t := r.turnAt(m); f != nil {
		return float64(t.Longer)
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
	m, late, v1, v2, acc float64 // m: where the sheet asks it
	mid                  float64 // where the plan is halfway through it
	from, to             gait.Variety
	lo, hi               float64 // metres within which the pace before and after is ridden
}

// shiftOf reads a change of pace off the plan: the speeds on the straight before and after,
// and how fast one becomes the other at the letter.
func (r *rider) shiftOf(f *rideplan.Figure, late float64) shift {
	s := shift{m: float64(f.StartM+f.EndM) / 2, late: late, from: f.From, to: f.Variety}
	s.lo, s.hi, s.mid = s.m, s.m, s.m
	same := func(m float64, v gait.Variety) bool {
		return m > 0 && m < float64(r.plan.Length) && r.plan.SampleAtM(arena.Metres(m)).Variety == v
	}
	for ; s.m-s.lo < 22 && same(s.lo-0.3, f.From); s.lo -= 0.2 {
		s.v1 = math.Max(s.v1, r.flatSpeed(s.lo, s.m))
	}
	for ; s.hi-s.m < 22 && same(s.hi+0.3, f.Variety); s.hi += 0.2 {
		s.v2 = math.Max(s.v2, r.flatSpeed(s.hi, s.m))
	}
	var accs []float64
	for m := s.m - 5; m <= s.m+5; m += 0.25 {
		a, b := float64(r.plan.SampleAtM(arena.Metres(m-0.25)).Speed), float64(r.plan.SampleAtM(arena.Metres(m+0.25)).Speed)
		if acc := b*b - a*a; acc*(s.v2-s.v1) > 0 && math.Abs(acc) > 0.15 {
			accs = append(accs, acc)
		}
	}
	s.acc = math.Copysign(0.8, s.v2-s.v1)
	if len(accs) > 2 {
		sort.Float64s(accs)
		s.acc = accs[len(accs)/2]
	}
	if s.v1 > 0 && s.v2 > 0 && s.v1 != s.v2 {
		s.mid = float64(r.plan.MiddleOfChange(rideplan.SpeedChange{M: s.m, V1: s.v1, V2: s.v2, Acc: s.acc}, arena.Metres(s.lo), arena.Metres(s.hi)))
	}
	return s
}

// flatSpeed is the planned speed at m where it keeps for a metre or so, else 0.
func (r *rider) flatSpeed(m, change float64) float64 {
	if math.Abs(m-change) < 2 {
		return 0
	}
	return r.keptSpeed(m)
}

// pace is the speed without bends when the change is at metre m.
func (s shift) pace(at, m float64) float64 {
	return rideplan.SpeedChange{M: m, V1: s.v1, V2: s.v2, Acc: s.acc}.At(at)
}

// speedFactor is how much faster than planned a metre is ridden: because changes of pace are
// early or late, and because the horse goes faster or slower in the pace it is in.
func (r *rider) speedFactor(c *cell) float64 {
	var near *shift
	for i := range r.shifts {
		s := &r.shifts[i]
		if c.m > s.lo && c.m < s.hi && s.v1 > 0 && s.v2 > 0 && (near == nil || math.Abs(c.m-s.m) < math.Abs(c.m-near.m)) {
			near = s
		}
	}
	if near == nil {
		return r.own(c.plan.Variety) * r.bendFactor(c.m, r.flat(c.plan.Variety))
	}
	share := r.changed(near, c.m)
	v1, v2 := near.v1*r.own(near.from), near.v2*r.own(near.to)
	planned := near.pace(c.m, near.mid)
	return (v1 + share*(v2-v1)) / planned * r.bendFactor(c.m, planned)
}

// own is the factor on the planned speed of a variety.
func (r *rider) own(v gait.Variety) float64 {
	if k, ok := r.faults.Speed[v]; ok && k > 0 {
		return k
	}
	return 1
}
