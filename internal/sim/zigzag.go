package sim

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// sideTurn is a turning point of the plan from work to one side to work to the other.
type sideTurn struct {
	m, from, to float64     // where, and from where to where the two ways to the side go
	out, along  arena.Point // to the side reached, and along the arena
	axis        float64     // of the line the sides are counted from, along out
	side        string
}

func isSideways(k string) bool { return k == "half-pass" || k == "leg-yield" }

// sideTurns lists the turning points within a zig-zag.
func (r *rider) sideTurns(z *rideplan.Figure) []sideTurn {
	var legs []*rideplan.Figure
	for i := range r.plan.Movements {
		for k := range r.plan.Movements[i].Figures {
			f := &r.plan.Movements[i].Figures[k]
			if isSideways(string(f.Kind)) && f.StartM > z.StartM-0.1 && f.EndM < z.EndM+0.1 {
				legs = append(legs, f)
			}
		}
	}
	sort.SliceStable(legs, func(i, k int) bool { return legs[i].StartM < legs[k].StartM })
	var out []sideTurn
	for i := 1; i < len(legs); i++ {
		t := r.sideTurn(legs[i-1], legs[i])
		base := r.at(z.StartM)
		if math.Abs(base.X) < 0.5 {
			base.X = 0
		}
		t.axis = base.Dot(t.out)
		out = append(out, t)
	}
	return out
}

func (r *rider) sideTurn(f, g *rideplan.Figure) sideTurn {
	a, z := r.at(f.StartM), r.at(g.EndM)
	t := sideTurn{m: float64(f.EndM+g.StartM) / 2, from: float64(f.StartM), to: float64(g.EndM), side: string(f.Hand)}
	t.along = arena.Point{Y: math.Copysign(1, z.Y-a.Y)}
	t.out = t.along.Left()
	if f.Hand == rideplan.Right {
		t.out = t.out.Mul(-1)
	}
	return t
}

// after is the work to the other side that begins where f ends, outside any zig-zag.
func (r *rider) after(f *rideplan.Figure) *rideplan.Figure {
	var next *rideplan.Figure
	for i := range r.plan.Movements {
		for k := range r.plan.Movements[i].Figures {
			g := &r.plan.Movements[i].Figures[k]
			if string(g.Kind) == "zig-zag" && f.StartM > g.StartM-0.1 && f.EndM < g.EndM+0.1 {
				return nil
			}
			if next == nil && isSideways(string(g.Kind)) && g != f && math.Abs(float64(g.StartM-f.EndM)) < 0.5 && g.Hand != f.Hand {
				next = g
			}
		}
	}
	return next
}

// zigZags moves turning points, bows the ways between them and rides straight on at them.
func (r *rider) zigZags() {
	for _, f := range r.faults.ZigZags {
		z := r.figure(f.Movement, f.Nth, "zig-zag")
		var ts []sideTurn
		if z != nil {
			ts = r.sideTurns(z)
		} else if g := r.figure(f.Movement, f.Nth, "half-pass", "leg-yield"); g != nil {
			if h := r.after(g); h != nil {
				ts = []sideTurn{r.sideTurn(g, h)}
			}
		}
		if len(ts) > 0 {
			r.moveTurns(ts, f)
		}
	}
}

func (r *rider) moveTurns(ts []sideTurn, f ZigZagFault) {
	knots := []float64{ts[0].from}
	by := []arena.Point{{}}
	for i, t := range ts {
		d := arena.Point{}
		if i < len(f.Wider) {
			d = d.Add(t.out.Mul(float64(f.Wider[i])))
		}
		if i < len(f.Late) {
			d = d.Add(t.along.Mul(float64(f.Late[i])))
		}
		knots, by = append(knots, t.m), append(by, d)
	}
	knots, by = append(knots, ts[len(ts)-1].to), append(by, arena.Point{})
	for i := range r.cells {
		c := &r.cells[i]
		k := sort.SearchFloat64s(knots, c.m)
		if k == 0 || k == len(knots) {
			continue
		}
		share := (c.m - knots[k-1]) / (knots[k] - knots[k-1])
		c.p = c.p.Add(by[k-1].Lerp(by[k], share)).Add(ts[0].out.Mul(float64(f.Bow) * math.Sin(math.Pi*share)))
	}
	for _, t := range ts {
		r.straightOn(t, float64(f.Straight)/2)
	}
}

// straightOn rides straight on for so many metres either side of a turning point.
func (r *rider) straightOn(t sideTurn, half float64) {
	if half <= 0 {
		return
	}
	var idx []int
	most := math.Inf(1)
	for i := range r.cells {
		if c := &r.cells[i]; math.Abs(c.m-t.m) <= half {
			idx = append(idx, i)
		}
	}
	if len(idx) < 2 {
		return
	}
	for _, i := range []int{idx[0], idx[len(idx)-1]} {
		most = math.Min(most, r.cells[i].p.Dot(t.out))
	}
	for _, i := range idx {
		c := &r.cells[i]
		c.p = c.p.Add(t.out.Mul(math.Min(0, most-c.p.Dot(t.out))))
	}
}

// zigZag tells where every turning point of a zig-zag was.
func (t *teller) zigZag(z *rideplan.Figure) {
	var sum, n [2]float64
	for _, x := range t.r.sideTurns(z) {
		reach, ok := t.turning(x)
		if !ok {
			sum[0] = math.NaN()
			continue
		}
		k := 0
		if x.side == "right" {
			k = 1
		}
		sum[k], n[k] = sum[k]+reach, n[k]+1
	}
	if n[0] > 0 && n[1] > 0 {
		t.say("sides difference", z.At, sum[0]/n[0]-sum[1]/n[1])
	}
}

// counterChange tells the same of two works to the side that follow each other.
func (t *teller) counterChange(f *rideplan.Figure) bool {
	g := t.r.after(f)
	if g == nil || !isSideways(string(f.Kind)) {
		return false
	}
	t.letterOf = f.To
	t.turning(t.r.sideTurn(f, g))
	t.letterOf = ""
	return true
}

// secondOfTwo reports whether f goes on from work to the other side: where it arrives is then not
// what the faults of one say.
func (r *rider) secondOfTwo(f *rideplan.Figure) bool {
	for i := range r.plan.Movements {
		for k := range r.plan.Movements[i].Figures {
			if g := &r.plan.Movements[i].Figures[k]; isSideways(string(g.Kind)) && g != f && r.after(g) == f {
				return true
			}
		}
	}
	return false
}

// turning says how far to the side a turning point was, and where along the arena: the middle
// between where the line is a metre nearer before it and after it.
func (t *teller) turning(x sideTurn) (reach float64, ok bool) {
	lo, hi := t.cellsIn(x.m-0.85*(x.m-x.from), x.m+0.85*(x.to-x.m))
	cs := t.r.cells[lo:hi]
	ridden, planned := make([]arena.Point, len(cs)), make([]arena.Point, len(cs))
	for i, c := range cs {
		ridden[i], planned[i] = c.p, c.plan.Point
	}
	far, place, ok := topOf(ridden, x)
	_, asked, ok2 := topOf(planned, x)
	if !ok || !ok2 {
		far, place = math.NaN(), math.NaN()
	}
	t.say("turning point "+x.side, t.letterOf, far-x.axis)
	t.say("turning point place "+x.side, t.letterOf, place-asked)
	return far - x.axis, ok && ok2
}

func topOf(ps []arena.Point, x sideTurn) (far, place float64, ok bool) {
	if len(ps) < 10 {
		return 0, 0, false
	}
	top := 0
	for i, p := range ps {
		if p.Dot(x.out) > ps[top].Dot(x.out) {
			top = i
		}
	}
	far = ps[top].Dot(x.out)
	down := math.Min(1, 0.5*math.Min(far-ps[0].Dot(x.out), far-ps[len(ps)-1].Dot(x.out)))
	if down < 0.3 {
		return far, 0, false
	}
	cross := func(dir int) float64 {
		for i := top; i+dir >= 0 && i+dir < len(ps); i += dir {
			a, b := ps[i].Dot(x.out)-far+down, ps[i+dir].Dot(x.out)-far+down
			if b < 0 {
				return ps[i].Lerp(ps[i+dir], a/(a-b)).Dot(x.along)
			}
		}
		return math.NaN()
	}
	place = (cross(-1) + cross(1)) / 2
	return far, place, !math.IsNaN(place)
}

// legAngle tells the mean angle between body and line over the middle of a way to the side of a
// zig-zag; false where f is none.
func (t *teller) legAngle(f *rideplan.Figure) bool {
	const ends = 0.3
	for _, mv := range t.r.plan.Movements {
		for _, z := range mv.Figures {
			if string(z.Kind) == "zig-zag" && f.StartM > z.StartM-0.1 && f.EndM < z.EndM+0.1 {
				cut := ends * float64(f.EndM-f.StartM)
				t.meanAngle(f, float64(f.StartM)+cut, float64(f.EndM)-cut)
				return true
			}
		}
	}
	return false
}
