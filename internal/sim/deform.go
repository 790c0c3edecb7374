package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// deform bends the planned line into the ridden one.
func (r *rider) deform() {
	for _, f := range r.faults.Circles {
		if fig := r.figure(f.Movement, f.Nth, circleKinds...); fig != nil {
			r.circle(fig, f)
		}
	}
	for _, f := range r.faults.Lines {
		if fig := r.figure(f.Movement, f.Nth, lineKinds...); fig != nil {
			r.line(fig, f)
		}
	}
	for _, f := range r.faults.ReinBacks {
		if fig := r.figure(f.Movement, f.Nth, "rein-back"); fig != nil {
			r.stretch(fig, func(frac float64) arena.Point {
				whole := r.at(fig.EndM).Sub(r.at(fig.StartM))
				side := r.plan.SampleAtM(fig.StartM).Heading.Unit().Left()
				scale := f.Scale
				if scale == 0 {
					scale = 1
				}
				return whole.Mul((scale - 1) * frac).Add(side.Mul(float64(f.Sideways) * frac))
			}, 12)
		}
	}
	for _, h := range r.faults.Halts {
		r.moveHalt(h)
	}
	for _, f := range r.faults.Arrivals {
		if fig := r.figure(f.Movement, f.Nth, "half-pass", "leg-yield"); fig != nil {
			r.arriveLate(fig, float64(f.Late))
		}
	}
	for _, f := range r.faults.Loops {
		if fig := r.figure(f.Movement, f.Nth, "serpentine", "loop"); fig != nil {
			r.loop(fig, f)
		}
	}
	r.zigZags()
	r.circleChanges()
	r.corners()
	r.wobble()
	r.sway()
	for _, f := range r.faults.ReinBacks {
		if fig := r.figure(f.Movement, f.Nth, "rein-back"); fig != nil && f.Forward > 0 {
			r.stepForward(float64(fig.StartM), float64(f.Forward))
		}
	}
	for _, f := range r.faults.Turns {
		if fig := r.figure(f.Movement, f.Nth, turnKinds...); fig != nil && f.Size > 0 {
			r.stretchAfter(float64(fig.StartM)+1e-6, r.turnedBy(fig, f))
		}
		if fig := r.figure(f.Movement, f.Nth, turnKinds...); fig != nil && f.Further != 0 {
			r.turnOn(fig, f.Further)
		}
	}
}

var (
	circleKinds = []string{"circle", "volte"}
	lineKinds   = []string{"entry", "centre line", "straight", "turn across", "diagonal"}
)

func (r *rider) at(m arena.Metres) arena.Point { return r.plan.SampleAtM(m).Point }

// stretch displaces a figure by move(share of its length) and lets what is left at its end
// fade over the metres after it.
func (r *rider) stretch(f *rideplan.Figure, move func(frac float64) arena.Point, fade float64) {
	a, b := float64(f.StartM), float64(f.EndM)
	left := move(1)
	for i := range r.cells {
		c := &r.cells[i]
		switch {
		case c.m > b && c.m < b+fade:
			c.p = c.p.Add(left.Mul(0.5 * (1 + math.Cos(math.Pi*(c.m-b)/fade))))
		case c.m >= a && c.m <= b && b > a:
			c.p = c.p.Add(move((c.m - a) / (b - a)))
		}
	}
}

// arriveLate leads a sideways movement to a place further along the line that it leads to, from
// where the rider comes back to the plan; a circle that begins there is ridden from there, whole.
func (r *rider) arriveLate(fig *rideplan.Figure, by float64) {
	fade, late := 25.0, r.plan.SampleAtM(fig.EndM+1).Heading.Unit().Mul(by)
	for i := range r.plan.Movements {
		for k := range r.plan.Movements[i].Figures {
			c := &r.plan.Movements[i].Figures[k]
			if kind := string(c.Kind); kind != "circle" && kind != "volte" || math.Abs(float64(c.StartM-fig.EndM)) > 1 {
				continue
			}
			fade, late = 0, r.plan.SampleAtM(c.StartM+0.1).Heading.Unit().Mul(by)
			for n := range r.cells {
				if x := &r.cells[n]; x.m > float64(fig.EndM) && x.m <= float64(c.EndM) {
					x.p = x.p.Add(late)
				}
			}
			r.stretchAfter(float64(c.EndM), late)
		}
	}
	r.stretch(fig, func(frac float64) arena.Point { return late.Mul(frac) }, fade)
}

// moveHalt moves a halt that is followed by a rein-back, and the rein-back with it.
func (r *rider) moveHalt(h HaltFault) {
	f := r.figure(h.Movement, h.Nth, "halt")
	if f == nil || h.Late == 0 {
		return
	}
	a := float64(f.StartM)
	back := r.backAfter(a)
	if back == 0 {
		return // moved in time, see addWarps
	}
	by := r.plan.SampleAtM(f.StartM).Heading.Unit().Mul(float64(h.Late))
	for i := range r.cells {
		if c := &r.cells[i]; c.m >= a && c.m <= a+back+0.1 {
			c.p = c.p.Add(by)
		}
	}
	r.slideIn(a, by)
	r.stretchAfter(a+back+0.1, by)
}

// circle scales a circle about its starting point, makes it longer than wide and moves it
// along the line that it starts from.
func (r *rider) circle(fig *rideplan.Figure, f CircleFault) {
	scale := f.Scale
	if scale == 0 {
		scale = 1
	}
	start := r.plan.SampleAtM(fig.StartM)
	along := start.Heading.Unit().Mul(float64(f.Along))
	a, b := float64(fig.StartM), float64(fig.EndM)
	phase := start.Point.Sub(fig.Centre).Heading()
	for i := range r.cells {
		c := &r.cells[i]
		if c.m < a || c.m > b {
			continue
		}
		p := c.p
		if f.Egg != 0 {
			d := p.Sub(fig.Centre)
			turn := float64(d.Heading().Diff(phase))
			p = fig.Centre.Add(d.Mul(1 + f.Egg*(1-math.Cos(2*turn))/2))
		}
		c.p = start.Point.Add(p.Sub(start.Point).Mul(scale)).Add(along)
	}
	if f.Along != 0 { // ride on to the circle's new start, and on from it
		r.slideIn(a, along)
		r.stretchAfter(b, along)
	}
}

// slideIn leads the line into a displaced figure: the metres before it grow longer or shorter.
func (r *rider) slideIn(a float64, by arena.Point) {
	const reach = 12
	for i := range r.cells {
		if c := &r.cells[i]; c.m < a && c.m > a-reach {
			c.p = c.p.Add(by.Mul((c.m - a + reach) / reach))
		}
	}
}

func (r *rider) stretchAfter(b float64, by arena.Point) {
	const reach = 12
	for i := range r.cells {
		if c := &r.cells[i]; c.m > b && c.m < b+reach {
			c.p = c.p.Add(by.Mul(1 - (c.m-b)/reach))
		}
	}
}

// line shifts a straight line sideways, eased in and out over 4 m outside its measured part.
func (r *rider) line(fig *rideplan.Figure, f LineFault) {
	a, b := float64(fig.StartM), float64(fig.EndM)
	ease := math.Min(4, (b-a)/4)
	for i := range r.cells {
		c := &r.cells[i]
		if c.m < a || c.m > b {
			continue
		}
		edge := math.Min(1, math.Min(c.m-a, b-c.m)/ease)
		share := (c.m-a)/(b-a) - 0.5
		d := (float64(f.Left) + float64(f.Drift)*share) * 0.5 * (1 - math.Cos(math.Pi*edge))
		c.p = c.p.Add(r.leftAt(c).Mul(d))
	}
}

// leftAt is the unit normal of travel to the left at a cell.
func (r *rider) leftAt(c *cell) arena.Point { return c.plan.Heading.Unit().Left() }

// loop scales one loop of a serpentine (between its crossings of the centre line), or the
// depth of a shallow loop.
func (r *rider) loop(fig *rideplan.Figure, f LoopFault) {
	a, b := float64(fig.StartM), float64(fig.EndM)
	base := r.at(fig.StartM).X
	loops := 1
	if string(fig.Kind) == "serpentine" {
		base, loops = 0, max(1, fig.Count)
	}
	from := a + (b-a)*float64(f.Loop)/float64(loops)
	to := a + (b-a)*float64(f.Loop+1)/float64(loops)
	if loops > 1 {
		from, to = r.crossings(a, b, f.Loop)
	}
	for i := range r.cells {
		if c := &r.cells[i]; c.m >= from && c.m <= to {
			c.p.X = base + (c.p.X-base)*f.Scale
		}
	}
}

// crossings returns the metres of the centre line before and after a serpentine's loop.
func (r *rider) crossings(a, b float64, loop int) (from, to float64) {
	at := []float64{a}
	for i := 1; i < len(r.cells); i++ {
		p, q := r.cells[i-1], r.cells[i]
		if q.m > a+3 && q.m < b-3 && (p.plan.X < 0) != (q.plan.X < 0) {
			at = append(at, q.m)
		}
	}
	at = append(at, b)
	loop = max(0, min(loop, len(at)-2))
	return at[loop], at[loop+1]
}

// wobble moves the line sideways as no rider can help.
func (r *rider) wobble() {
	if r.faults.Wobble.LineSD == 0 {
		return
	}
	reach := float64(r.faults.Wobble.LineM)
	if reach == 0 {
		reach = 8
	}
	w := newWalk(r.rng, reach/2, float64(r.faults.Wobble.LineSD))
	smooth := 0.0
	for i := range r.cells {
		c := &r.cells[i]
		d := 0.0
		if i > 0 {
			d = c.m - r.cells[i-1].m
		}
		// a second pass of the same length makes it smooth; sqrt 2 restores its size
		smooth += (w.next(d) - smooth) * (1 - math.Exp(-d/(reach/2)))
		ease := 1.0
		if s := r.nearStill(c.m); s < 2 {
			ease = s / 2
		}
		c.p = c.p.Add(r.leftAt(c).Mul(smooth * math.Sqrt2 * ease))
	}
}

// nearStill is the distance to the nearest planned standstill: a horse that stands does not
// wobble sideways.
func (r *rider) nearStill(m float64) float64 {
	best := math.Inf(1)
	for _, d := range r.still {
		best = math.Min(best, math.Abs(d.m-r.warp(m)))
	}
	return best
}
