package sim

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

var turnKinds = []string{"turn on the haunches", "turn on the forehand", "walk pirouette", "canter pirouette"}

const (
	usualHaunches = 0.7  // metres behind the body
	usualForelegs = 0.55 // metres ahead of it
)

func onForehand(f *rideplan.Figure) bool { return string(f.Kind) == "turn on the forehand" }

// turnAt is the turn on the spot at metre m of the plan, with its fault; nil when there is none.
func (r *rider) turnAt(m float64) (*rideplan.Figure, TurnFault) {
	for i := range r.plan.Movements {
		mv := &r.plan.Movements[i]
		nth := -1
		for k := range mv.Figures {
			f := &mv.Figures[k]
			if !isTurn(string(f.Kind)) {
				continue
			}
			nth++
			if math.Abs(float64(f.StartM)-m) > 0.05 {
				continue
			}
			for _, t := range r.faults.Turns {
				if t.Movement == mv.Number && t.Nth == nth {
					return f, t
				}
			}
			return f, TurnFault{}
		}
	}
	return nil, TurnFault{}
}

func isTurn(kind string) bool {
	for _, k := range turnKinds {
		if k == kind {
			return true
		}
	}
	return false
}

// arm is how far ahead of the place about which the horse goes round the body is kept.
func (t TurnFault) arm(f *rideplan.Figure) float64 {
	switch {
	case t.Size == 0:
		return 0
	case onForehand(f):
		return float64(t.Size)/2 - t.behind(f)
	}
	return t.behind(f) - float64(t.Size)/2
}

func (t TurnFault) behind(f *rideplan.Figure) float64 {
	switch {
	case t.Behind != 0:
		return float64(t.Behind)
	case onForehand(f):
		return usualForelegs
	}
	return usualHaunches
}

// further is the turn beyond the one asked, left positive.
func (t TurnFault) further(f *rideplan.Figure) arena.Angle {
	if f.Hand == rideplan.Right {
		return -arena.Degrees(t.Further)
	}
	return arena.Degrees(t.Further)
}

// size is the diameter of the circle of the haunches, or of the forelegs.
func (t TurnFault) size(f *rideplan.Figure) float64 {
	if t.Size == 0 {
		return 2 * t.behind(f)
	}
	return float64(t.Size)
}

// turnedBy is where a turn ends, seen from where it began.
func (r *rider) turnedBy(f *rideplan.Figure, t TurnFault) arena.Point {
	ss := r.plan.Samples
	i := sort.Search(len(ss), func(i int) bool { return ss[i].T >= f.StartS-1e-6 })
	j := sort.Search(len(ss), func(i int) bool { return ss[i].T >= f.EndS-1e-6 })
	j = min(j, len(ss)-1)
	return ss[j].Heading.Unit().Sub(ss[i].Heading.Unit()).Mul(t.arm(f))
}

// uneven is the share of a turn that is done after a share of its time.
func (t TurnFault) uneven(share float64) float64 {
	return share - t.Uneven*math.Sin(2*math.Pi*share)/(2*math.Pi)
}

// turnOn leaves the body turned so many degrees further after a turn on the spot, for a few metres.
func (r *rider) turnOn(f *rideplan.Figure, degrees float64) {
	const stays, gone = 3.5, 6.0
	by := float64(TurnFault{Further: degrees}.further(f))
	for i := range r.cells {
		c := &r.cells[i]
		if d := c.m - float64(f.StartM); d > 1e-6 && d < gone {
			c.head += by * math.Min(1, (gone-d)/(gone-stays))
		}
	}
}

// turn tells how large and how long a turn on the spot was.
func (t *teller) turn(f *rideplan.Figure) {
	_, fault := t.r.turnAt(float64(f.StartM))
	t.say("turn size", f.At, fault.size(f))
	if onForehand(f) {
		t.say("turn angle", f.At, f.Angle.Deg()+fault.Further)
	}
	for i := range t.r.cells {
		c := &t.r.cells[i]
		if d := t.r.planDwell(float64(f.StartM)); c.dwell > 0 && d > 0 && math.Abs(t.r.warp(c.m)-float64(f.StartM)) < 0.05 {
			t.say("turn duration", f.At, float64(f.EndS-f.StartS)*c.dwell/d)
			return
		}
	}
	t.say("turn duration", f.At, math.NaN())
}

// sway lets the body sway about its sideways angle, and about the line.
func (r *rider) sway() {
	if by := r.faults.Askew * math.Pi / 180; by > 0 {
		w := newWalk(r.rng, 3, by)
		for i := range r.cells {
			if d := w.next(step); r.cells[i].plan.Angle == 0 {
				r.cells[i].head += d
			}
		}
	}
	if r.faults.AngleSway == 0 {
		return
	}
	const reach = 4.0 // metres
	w := newWalk(r.rng, reach, r.faults.AngleSway*math.Pi/180)
	for i := range r.cells {
		d := step
		if i > 0 {
			d = r.cells[i].m - r.cells[i-1].m
		}
		if by := w.next(d); r.cells[i].plan.Angle != 0 {
			r.cells[i].head += by
		}
	}
}

// steadiness is how much the angle of the body varies over the middle of a figure.
func (t *teller) steadiness(f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	ease := math.Min(4, (z-a)/4)
	lo, hi := t.cellsIn(a+ease, z-ease)
	if hi-lo < 10 {
		t.say("angle steadiness", f.At, math.NaN())
		return
	}
	var w, s, ss float64
	for i := lo; i < min(hi, len(t.at)-1); i++ { // each second counts alike, as in a recording
		c := &t.r.cells[i]
		d := t.at[i+1] - t.at[i]
		x := arena.Angle(c.head).Diff(c.plan.Heading).Deg()
		w, s, ss = w+d, s+d*x, ss+d*x*x
	}
	t.say("angle steadiness", f.At, math.Sqrt(math.Max(0, ss/w-s*s/(w*w))))
}

// stepForward begins a rein-back at metre m with a step of so many metres forward, and back.
func (r *rider) stepForward(m, by float64) {
	const seconds, parts = 1.0, 10
	var out []cell
	done := false
	for _, c := range r.cells {
		out = append(out, c)
		if done || c.dwell == 0 || math.Abs(c.m-m) > 0.05 {
			continue
		}
		done = true
		u := c.plan.Heading.Unit()
		for k := 1; k <= 2*parts; k++ {
			q := c
			q.dwell, q.slow = 0, seconds/parts
			share := 0.5 - 0.5*math.Cos(math.Pi*float64(k)/parts)
			if k > parts { // back at half a metre a second
				q.slow = by / 0.5 / parts
				share = float64(2*parts-k) / parts
			}
			q.p = c.p.Add(u.Mul(by * share))
			out = append(out, q)
		}
	}
	r.cells = out
}

// backwards tells how straight a rein-back was and whether it began forward.
func (t *teller) backwards(f *rideplan.Figure) {
	lo, hi := t.cellsIn(float64(f.StartM), float64(f.EndM))
	if hi-lo < 3 {
		return
	}
	u := t.r.cells[lo].plan.Heading.Unit()
	first := t.r.cells[lo].p
	var far, most float64
	last := first
	for i := lo; i < hi; i++ {
		d := t.r.cells[i].p.Sub(first)
		most = math.Max(most, d.Dot(u))
		if -d.Dot(u) > far {
			far, last = -d.Dot(u), t.r.cells[i].p
		}
	}
	t.say("rein-back straightness", f.At, last.Sub(first).Dot(u.Left()))
	t.say("forward first", f.At, most)
}
