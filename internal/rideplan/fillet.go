package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// Rounding the kinks.
//
// The nominal line is straights and arcs; straights may meet at an angle, at a corner of the
// track, where a diagonal leaves it, on a turn across. No horse turns on a point, so each
// kink is replaced by an arc tangent to both straights, with the radius that the pace allows,
// or less where a straight is too short for both of its ends. Metres of the nominal line map
// to metres of the rounded line: the two halves of the cut-off straights become the two
// halves of the arc, so a letter at a kink stays the middle of the turn.

// run is a maximal stretch of the nominal line of constant curvature without a stop.
type run struct {
	first, last int // indices into ridden
	s0, length  float64
	start       arena.Point
	heading     arena.Angle
	curv        float64
	back, spot  bool
	radius      float64
	cutA, cutB  float64 // metres taken from its start and its end by rounding
}

// runs groups pieces that continue each other straight or on the same arc.
func runs(pieces []elem) []run {
	var out []run
	for i, e := range pieces {
		if n := len(out); n > 0 {
			l := &out[n-1]
			alike := math.Abs(l.curv-e.curv) < 1e-12 && !l.spot && !e.spot && l.back == e.back
			if alike && math.Abs(float64(e.heading.Diff(pieces[l.last].endHeading()))) < 1e-9 {
				l.last, l.length = i, l.length+e.length
				continue
			}
		}
		out = append(out, run{i, i, e.s0, e.length, e.start, e.heading, e.curv, e.back, e.spot, e.radius, 0, 0})
	}
	return out
}

// kink returns the turn between run i and the next, 0 where they join smoothly.
func kink(rs []run, i int, pieces []elem) float64 {
	if i+1 >= len(rs) || rs[i+1].spot {
		return 0
	}
	h := pieces[rs[i].last].endHeading()
	return float64(rs[i+1].heading.Diff(h))
}

// round chooses how much each kink cuts from its straights.
func round(rs []run, pieces []elem, radius func(elem) float64) {
	for i := range rs {
		k := kink(rs, i, pieces)
		if math.Abs(k) < 1e-9 || rs[i].spot || rs[i].back || rs[i+1].back {
			continue
		}
		r := rs[i+1].radius
		if r == 0 {
			r = radius(pieces[rs[i+1].first])
		}
		if pieces[rs[i+1].first].variety.PaceOf() == gait.Walk && (rs[i].curv != 0 || rs[i+1].curv != 0) {
			r = walkFlow
		}
		rs[i].cutB, rs[i+1].cutA = cuts(rs[i], rs[i+1], k, r)
	}
	for pass := 0; pass < 4; pass++ {
		for i := range rs {
			if sum := rs[i].cutA + rs[i].cutB; sum > rs[i].length && sum > 0 && rs[i].curv == 0 {
				shrink(rs, i, pieces)
			}
		}
	}
}

// shrink makes the two cuts of a straight fit its length, taking from the larger first.
func shrink(rs []run, i int, pieces []elem) {
	a, b, l := rs[i].cutA, rs[i].cutB, rs[i].length
	switch {
	case a <= l/2:
		b = l - a
	case b <= l/2:
		a = l - b
	default:
		a, b = l/2, l/2
	}
	if rs[i].cutA > a {
		rs[i].cutA, rs[i-1].cutB = a, rs[i-1].cutFor(a, kink(rs, i-1, pieces))
	}
	if rs[i].cutB > b {
		rs[i].cutB, rs[i+1].cutA = b, rs[i+1].cutFor(b, kink(rs, i, pieces))
	}
}

// sharp is a kink that could only be rounded tighter than a horse can turn.
type sharp struct {
	piece  int
	radius float64
}

// rounded is the final line with the map from nominal to final metres.
type rounded struct {
	path    arena.Path
	nominal []float64 // break points, rising
	final   []float64
	sharps  []sharp
}

// finalLine rounds the nominal line.
func finalLine(pieces []elem, radius func(elem) float64) *rounded {
	rs := runs(pieces)
	round(rs, pieces, radius)
	out := &rounded{}
	s := 0.0
	add := func(nom float64) {
		if n := len(out.nominal); n > 0 && nom <= out.nominal[n-1] {
			return
		}
		out.nominal, out.final = append(out.nominal, nom), append(out.final, s)
	}
	add(0)
	for i, r := range rs {
		if r.spot {
			out.path = append(out.path, arena.Segment{Start: r.start, Heading: r.heading, Turn: pieces[r.first].turn})
			continue
		}
		s += out.straightPart(r)
		add(r.s0 + r.length - r.cutB)
		if k := kink(rs, i, pieces); r.cutB > 0 && math.Abs(k) > 1e-9 {
			before, length := out.corner(r, rs[i+1], k)
			if r.curv != 0 || rs[i+1].curv != 0 {
				s += before
				add(r.s0 + r.length)
				s -= before
			}
			s += length
			add(r.s0 + r.length + rs[i+1].cutA)
		} else if math.Abs(k) > 1e-6 && i+1 < len(rs) {
			out.sharps = append(out.sharps, sharp{rs[i+1].first, 0})
		}
	}
	return out
}

// straightPart adds what rounding left of the run and returns its length.
func (o *rounded) straightPart(r run) float64 {
	l := r.length - r.cutA - r.cutB
	if l <= 1e-9 {
		return 0
	}
	seg := arena.Segment{Start: r.start, Heading: r.heading, Length: arena.Metres(r.length), Curvature: r.curv, Backward: r.back}
	if r.cutA > 0 {
		at := seg.At(arena.Metres(r.cutA))
		seg.Start, seg.Heading = at.Point, r.heading+arena.Angle(r.curv*r.cutA)
	}
	seg.Length = arena.Metres(l)
	o.path = append(o.path, seg)
	return l
}

// corner adds the arc that rounds the kink k between two runs. It returns the arc's length up
// to where the run before would have ended, and the whole.
func (o *rounded) corner(r, next run, k float64) (before, length float64) {
	size := math.Abs(k)
	radius := r.cutB / math.Tan(size/2)
	turn := size
	before = radius * size / 2
	switch {
	case next.curv != 0:
		radius, turn = flowRadius(math.Abs(next.curv), size, r.cutB), size+next.cutA*math.Abs(next.curv)
		before = radius * size
	case r.curv != 0:
		radius, turn = flowRadius(math.Abs(r.curv), size, next.cutA), size+r.cutB*math.Abs(r.curv)
		before = radius * r.cutB * math.Abs(r.curv)
	}
	if radius < tightest-1e-6 && size > 0.3 {
		o.sharps = append(o.sharps, sharp{next.first, radius})
	}
	whole := arena.Segment{Start: r.start, Heading: r.heading, Length: arena.Metres(r.length), Curvature: r.curv}
	at := whole.At(arena.Metres(r.length - r.cutB))
	heading := r.heading + arena.Angle(r.curv*(r.length-r.cutB))
	seg := arena.Arc(at.Point, heading, arena.Metres(math.Max(radius, 1e-6)), arena.Angle(math.Copysign(turn, k)))
	o.path = append(o.path, seg)
	return before, float64(seg.Length)
}

// metre maps nominal to final metres.
func (o *rounded) metre(nom float64) float64 {
	n := len(o.nominal)
	if n == 0 || nom <= o.nominal[0] {
		return 0
	}
	if nom >= o.nominal[n-1] {
		return o.final[n-1]
	}
	lo, hi := 0, n-1
	for hi-lo > 1 {
		m := (lo + hi) / 2
		if o.nominal[m] <= nom {
			lo = m
		} else {
			hi = m
		}
	}
	f := (nom - o.nominal[lo]) / (o.nominal[hi] - o.nominal[lo])
	return o.final[lo] + f*(o.final[hi]-o.final[lo])
}
