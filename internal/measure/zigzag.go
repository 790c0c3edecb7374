package measure

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// handChange is a turning point of the plan, where sideways work to one side becomes work to the
// other.
type handChange struct {
	m       float64     // metre of the plan
	lo, hi  float64     // most of the way to the turning points beside it
	out     arena.Point // to the side that is reached there
	along   arena.Point // the way the horse goes on along the arena
	axis    float64     // of the line that the sides are counted from, along out
	side    rideplan.Hand
	letter  string
	nominal float64
	free    bool // the sheet gives no metres
}

// zigZag measures every turning point of a zig-zag and the evenness of its sides.
func (r *ride) zigZag(b *book, f *rideplan.Figure) {
	var left, right []turned
	missed := false
	for _, c := range r.handChanges(b.movement, f) {
		t, ok := r.turningPoint(b, c)
		switch {
		case !ok:
			missed = true
		case c.side == rideplan.Left:
			left = append(left, t)
		default:
			right = append(right, t)
		}
	}
	if missed {
		e := entry{what: "sides difference", letter: f.At, atM: float64(f.StartM+f.EndM) / 2}
		b.cannot(e, "not every turning point was measured")
		return
	}
	r.sides(b, f, left, right)
}

// counterChange measures the turning point between two works to the side that follow each other
// to opposite hands, where the sheet names the letters and not a zig-zag. It stands in the place of
// the arrival, which would say the same; false where f does not go on to the other side.
func (r *ride) counterChange(b *book, f *rideplan.Figure) bool {
	next := r.otherWayAfter(f)
	if next == nil || r.inZigZag(b.movement, f) {
		return false
	}
	c, ok := r.handChange(f, next)
	if ok {
		c.letter = f.To
		r.turningPoint(b, c)
	}
	return ok
}

func sideways(k terms.Kind) bool { return k == terms.HalfPass || k == terms.LegYield }

// otherWayAfter is the work to the other side that begins where f ends, nil when there is none.
func (r *ride) otherWayAfter(f *rideplan.Figure) *rideplan.Figure {
	for i := range r.plan.Movements {
		for k := range r.plan.Movements[i].Figures {
			g := &r.plan.Movements[i].Figures[k]
			if sideways(g.Kind) && g != f && math.Abs(float64(g.StartM-f.EndM)) < 0.5 && g.Hand != f.Hand {
				return g
			}
		}
	}
	return nil
}

const (
	// legEnds is the share of a way to the side of a zig-zag left out at either end: near them the line
	// may still go to the other side.
	legEnds = 0.3
	// legMoved is how far, in metres, the way that is ridden may lie along the planned one (assumption):
	// by as much the swaying that is averaged is another's.
	legMoved = 2.0
	// legBent is what is left of a direction, in degrees, where so short a line is not straight (assumption).
	legBent = 0.8
)

// legAngle is the mean angle between body and line over the middle of one way to the side of a zig-zag.
func (r *ride) legAngle(b *book, f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	mid := r.plan.SampleAtM(metres((a + z) / 2))
	e := entry{what: "angle", letter: f.At, asked: math.Abs(mid.Angle.Deg()), nominal: math.Abs(f.Angle.Deg()), atM: (a + z) / 2}
	if !r.rec.HasHeading {
		if b.names["angle"] {
			return // said once of a zig-zag is enough
		}
		b.lacks(LacksHeading, e, "the angle of the body needs a recorded heading; positions do not show it")
		return
	}
	os, covered := r.over(a+legEnds*(z-a), z-legEnds*(z-a))
	e.at = during(os)
	list, _ := r.bodyAngles(os, mid)
	if len(list) < 4 || covered < 0.6 {
		b.cannot(e, "too little heading was recorded")
		return
	}
	mean, sd := meanSD(list)
	jitter := jitterOf(list)
	e.value = mean
	sway := math.Max(0, sd*sd-jitter) * math.Min(1, 2*legMoved/((1-2*legEnds)*(z-a)))
	e.parts = append(r.d.of(lineTurn(os)), part{fromHeading, jitter/float64(len(list)) + 0.3*0.3}, part{fromRiding, sway + legBent*legBent}, r.pairTurn(os, evenly(len(os))))
	b.addAngle(e)
}

func (r *ride) inZigZag(mv *rideplan.Movement, f *rideplan.Figure) bool {
	for _, z := range mv.Figures {
		if z.Kind == terms.ZigZag && f.StartM >= z.StartM-0.1 && f.EndM <= z.EndM+0.1 {
			return true
		}
	}
	return false
}

// handChanges lists the turning points of a zig-zag, its own sides counted from the line that it
// is about.
func (r *ride) handChanges(mv *rideplan.Movement, z *rideplan.Figure) []handChange {
	var legs []*rideplan.Figure
	for i := range mv.Figures {
		if g := &mv.Figures[i]; sideways(g.Kind) && g.StartM >= z.StartM-0.1 && g.EndM <= z.EndM+0.1 {
			legs = append(legs, g)
		}
	}
	sort.SliceStable(legs, func(i, k int) bool { return legs[i].StartM < legs[k].StartM })
	base, _, _ := r.dirs(float64(z.StartM))
	if math.Abs(base.X) < 0.5 {
		base.X = 0
	}
	var out []handChange
	for i := 1; i < len(legs); i++ {
		if c, ok := r.handChange(legs[i-1], legs[i]); ok {
			c.axis, c.nominal, c.free = base.Dot(c.out), float64(z.Nominal), z.Nominal == 0
			out = append(out, c)
		}
	}
	return out
}

// mostOfLeg is the share of the ways before and after a turning point in which it is looked for.
const mostOfLeg = 0.85

// handChange is the turning point between two works to the side; the sides are counted from the
// centre line.
func (r *ride) handChange(f, g *rideplan.Figure) (handChange, bool) {
	c := handChange{m: float64(f.EndM+g.StartM) / 2, side: f.Hand}
	c.lo, c.hi = c.m-mostOfLeg*float64(f.EndM-f.StartM), c.m+mostOfLeg*float64(g.EndM-g.StartM)
	a, _, _ := r.dirs(float64(f.StartM))
	z, _, _ := r.dirs(float64(g.EndM))
	c.along = arena.Point{Y: math.Copysign(1, z.Y-a.Y)}
	c.out = c.along.Left()
	if f.Hand == rideplan.Right {
		c.out = c.out.Mul(-1)
	}
	return c, f.EndM-f.StartM > 4 && g.EndM-g.StartM > 4
}

// turningPoint measures one turning point: how far to the side it was reached and where along
// the arena. What a correct ride measures is read off the plan in the same way.
func (r *ride) turningPoint(b *book, c handChange) (turned, bool) {
	reach := entry{what: "turning point " + string(c.side), kind: "turning point", letter: c.letter, nominal: c.nominal, atM: c.m}
	place := entry{what: "turning point place " + string(c.side), kind: "turning point place", letter: c.letter, atM: c.m}
	want, ok := turnOf(r.planned(c.lo, c.hi), c, r.d.white)
	if !ok {
		return turned{}, false
	}
	reach.asked = want.reach - c.axis
	if c.free {
		reach.asked, place.asked = math.NaN(), math.NaN()
		reach.bounded = "the sheet asks no metres here, so there is nothing to judge them by"
		place.bounded = reach.bounded
	}
	os, covered := r.over(c.lo, c.hi)
	reach.at, place.at = during(os), during(os)
	got, ok := turnOf(os, c, r.d.white)
	if len(os) < 8 || covered < 0.7 || !ok {
		why := "too little of the turning point was recorded, or the ride does not turn to the other side here"
		b.cannot(reach, why)
		b.cannot(place, why)
		return turned{}, false
	}
	reach.value = got.reach - c.axis
	reach.parts = append(r.d.of(weighed(os, got.reachW, 1)), part{fromRiding, 0.05*0.05 + got.miss(r.d.white)})
	b.add(reach)
	place.value = got.place - want.place
	place.parts = append(r.d.of(weighed(os, got.placeW, 1)), part{fromRiding, math.Pow(placeWobble, 2)})
	b.add(place)
	got.asked = want.reach
	return got, true
}

// placeWobble is how far, in metres, the small waves of a ridden line move the place of a turning
// point beyond what its neighbourhood shows.
const placeWobble = 0.12

// sides compares how far a zig-zag goes to the left and to the right of its line, on average.
func (r *ride) sides(b *book, f *rideplan.Figure, left, right []turned) {
	if len(left) == 0 || len(right) == 0 {
		return
	}
	e := entry{what: "sides difference", letter: f.At, atM: float64(f.StartM+f.EndM) / 2}
	var ws []weight
	var riding float64
	at := when{from: math.Inf(1), to: math.Inf(-1), known: true}
	for i, list := range [][]turned{left, right} {
		sign := float64(1 - 2*i)
		k := sign / float64(len(list))
		for _, t := range list {
			e.value += k * (t.reach - t.change.axis)
			e.asked += k * (t.asked - t.change.axis)
			ws = append(ws, weighed(t.os, t.reachW, k)...)
			riding += k * k * (0.05*0.05 + t.miss(r.d.white))
			at.from, at.to = math.Min(at.from, t.os[0].t), math.Max(at.to, t.os[len(t.os)-1].t)
		}
	}
	sort.SliceStable(ws, func(i, k int) bool { return ws[i].t < ws[k].t })
	at.mid = (at.from + at.to) / 2
	e.at = at
	e.parts = append(r.d.of(ws), part{fromRiding, riding})
	b.add(e)
}
