package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// middle is where a change through a circle or from circle to circle changes the bend.
type middle struct {
	m    float64
	at   arena.Point
	u, n arena.Point // of travel there; from the first circle to the second
}

// middleOf finds the change of bend on the planned line.
func (r *rider) middleOf(f *rideplan.Figure) (middle, bool) {
	ss := r.plan.Samples
	bend, from := 0.0, arena.Metres(0)
	for i := range ss {
		if ss[i].M < f.StartM-2 || ss[i].M > f.EndM || math.Abs(ss[i].Curvature) < 0.02 {
			continue
		}
		if bend != 0 && (bend < 0) != (ss[i].Curvature < 0) {
			s := r.plan.SampleAtM((from + ss[i].M) / 2)
			c := middle{m: float64(s.M), at: s.Point, u: s.Heading.Unit()}
			c.n = c.u.Left()
			if bend > 0 {
				c.n = c.n.Mul(-1)
			}
			return c, true
		}
		bend, from = ss[i].Curvature, ss[i].M
	}
	return middle{}, false
}

// circleChanges rides changes through circles and from circle to circle with their faults.
func (r *rider) circleChanges() {
	for _, x := range r.faults.Changes {
		f := r.figure(x.Movement, x.Nth, "change through the circle")
		if f == nil {
			continue
		}
		c, ok := r.middleOf(f)
		if !ok {
			continue
		}
		one, two := x.First, x.Second
		if one == 0 || f.Asked == 0 {
			one = 1
		}
		if two == 0 {
			two = 1
		}
		late := c.u.Mul(float64(x.Late))
		if f.Asked > 0 {
			late = arena.Point{}
		}
		r.resize(f, c, one, two, late)
		for i := range r.cells {
			if k := &r.cells[i]; math.Abs(k.m-c.m) < 6 {
				w := math.Cos((k.m - c.m) / 12 * math.Pi)
				k.p = k.p.Add(c.n.Mul(float64(x.Past) * w * w))
			}
		}
	}
}

// resize makes the first round part larger about its beginning and the second about where it
// then begins; late moves the second on.
func (r *rider) resize(f *rideplan.Figure, c middle, one, two float64, late arena.Point) {
	a, z := float64(f.StartM), float64(f.EndM)
	start, end := r.at(f.StartM), r.at(f.EndM)
	moved := c.at.Sub(start).Mul(one - 1)
	if c.m <= a {
		moved = arena.Point{}
	}
	for i := range r.cells {
		switch k := &r.cells[i]; {
		case k.m < a && k.m < c.m || k.m > z:
		case k.m < c.m:
			k.p = start.Add(k.p.Sub(start).Mul(one))
		default:
			ease := math.Min(1, (k.m-c.m)/4)
			k.p = c.at.Add(moved).Add(k.p.Sub(c.at).Mul(two)).Add(late.Mul(ease))
		}
	}
	r.stretchAfter(z, moved.Add(end.Sub(c.at).Mul(two-1)).Add(late))
}

// circleChange tells the sizes and places of the round parts and where the middle was crossed.
func (t *teller) circleChange(f *rideplan.Figure) {
	c, ok := t.r.middleOf(f)
	if !ok {
		return
	}
	if f.Asked > 0 {
		a := t.roundPart(f, "first half", float64(f.StartM), c.m)
		b := t.roundPart(f, "second half", c.m, float64(f.EndM))
		t.say("circle halves difference", f.At, a-b)
	} else if t.r.roundOf(c.m, float64(f.EndM)) > 0.4 {
		t.roundPart(f, "new circle", c.m, float64(f.EndM))
		asked, _ := bestCircle(t.r.planCells(c.m, float64(f.EndM)), &rideplan.Figure{Centre: c.at.Add(c.n.Mul(7)), Asked: f.Nominal})
		lo, hi := t.cellsIn(c.m, float64(f.EndM))
		got, _ := bestCircle(t.r.cells[lo:hi], &rideplan.Figure{Centre: asked, Asked: f.Nominal})
		t.say("circle opening new circle", "", got.Sub(asked).Dot(c.u))
	}
	t.say("circle change place", f.At, t.crossed(c))
}

// roundOf is how far round a part of the plan goes, in half turns.
func (r *rider) roundOf(a, z float64) float64 {
	x := r.plan.SampleAtM(arena.Metres(a)).Heading
	turn := 0.0
	for m := a; m < z; m += 1 {
		y := r.plan.SampleAtM(arena.Metres(m)).Heading
		turn += math.Abs(float64(y.Diff(x)))
		x = y
	}
	return turn / math.Pi
}

func (r *rider) planCells(a, z float64) []cell {
	var out []cell
	for m := a + 0.5; m < z-0.5; m += 0.25 {
		out = append(out, cell{m: m, p: r.at(arena.Metres(m))})
	}
	return out
}

// roundPart tells the best circle through a part of the ridden line.
func (t *teller) roundPart(f *rideplan.Figure, part string, a, z float64) float64 {
	guess := &rideplan.Figure{Centre: t.r.at(arena.Metres((a+z)/2)).Lerp(t.r.at(arena.Metres(a)).Lerp(t.r.at(arena.Metres(z)), 0.5), 0.9), Asked: f.Asked}
	asked, rad := bestCircle(t.r.planCells(a, z), guess)
	lo, hi := t.cellsIn(a, z)
	c, got := bestCircle(t.r.cells[lo:hi], &rideplan.Figure{Centre: asked, Asked: arena.Metres(2 * rad)})
	t.say("circle diameter "+part, "", 2*got)
	t.say("circle place "+part, "", float64(c.Dist(asked)))
	return 2 * got
}

// crossed is how far past the middle the ridden line goes over the line between the centres.
func (t *teller) crossed(c middle) float64 {
	lo, hi := t.cellsIn(c.m-5, c.m+5)
	best := math.NaN()
	for i := lo + 1; i < hi; i++ {
		p, q := t.r.cells[i-1].p.Sub(c.at), t.r.cells[i].p.Sub(c.at)
		if a, b := p.Dot(c.u), q.Dot(c.u); a < 0 && b >= 0 {
			best = p.Lerp(q, a/(a-b)).Dot(c.n)
		}
	}
	return best
}
