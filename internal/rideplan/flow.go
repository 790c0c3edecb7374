package rideplan

import (
	"math"

	"ringcraft/internal/arena"
)

// Where a line flows into a circle, or a circle into a line.
//
// "C track left, C circle left 20 m": the horse comes up the centre line, which runs through
// the middle of the circle, and the circle touches the boards at C. Nobody rides into the
// corner first and back again; the turn at C flows into the circle as one. The kink between
// line and circle is rounded by a smaller arc that touches both, inside the circle, on the
// side to which both turn. "E circle left, then turn left at E" is the same the other way round.

// tightest is the smallest radius of a turn that a horse can make going forward, metres.
const tightest = 1.9

// walkFlow is the radius in walk of the turn that flows into a circle, metres: near the letter.
const walkFlow = 2.0

// flowCut is the metres of the straight that an arc of radius r takes when it leads with a
// turn of k radians into a circle of curvature curv that turns to the same side.
func flowCut(curv, k, r float64) (float64, bool) {
	big := 1 / curv
	root := big*big*math.Sin(k)*math.Sin(k) - 2*big*r*(1-math.Cos(k))
	if root < 0 {
		return 0, false
	}
	return big*math.Sin(k) - math.Sqrt(root), true
}

// flowRadius is the radius for a cut of a metres, the inverse of flowCut.
func flowRadius(curv, k, a float64) float64 {
	big := 1 / curv
	return a * (2*big*math.Sin(k) - a) / (2 * big * (1 - math.Cos(k)))
}

// flowArc is the metres of the circle that the rounding takes when it takes a of the straight.
func flowArc(curv, k, a float64) float64 {
	big, r := 1/curv, flowRadius(curv, k, a)
	// the straight runs along x and ends at 0; n is its side to the turn
	x, n := -a+big*math.Sin(k), r-big*math.Cos(k)
	return big * math.Max(0, math.Atan2(n, x)-(math.Atan2(-math.Cos(k), math.Sin(k))))
}

// flowTurn is the radius at which a line leads with a turn of k into a circle of curvature
// curv: about a third of the circle's own, so that the line comes near the letter; never so
// wide that no arc touches both.
func flowTurn(curv, k, r float64) float64 {
	share := (1 + math.Cos(k)) / curv
	return math.Min(r, math.Min(math.Max(tightest, share/3), 0.49*share))
}

// cuts is what rounding takes of two runs that meet with a kink of k, for a turn of radius r.
func cuts(a, b run, k, r float64) (cutA, cutB float64) {
	size := math.Abs(k)
	if a.curv == 0 && b.curv == 0 {
		d := r * math.Tan(size/2)
		return d, d
	}
	arc := a
	if a.curv == 0 {
		arc = b
	}
	if a.curv != 0 && b.curv != 0 || !flows(arc.curv, k, arc.length) {
		return 0, 0
	}
	curv := math.Abs(arc.curv)
	cut, ok := flowCut(curv, size, flowTurn(curv, size, r))
	if !ok {
		return 0, 0
	}
	if a.curv == 0 {
		return cut, flowArc(curv, size, cut)
	}
	return flowArc(curv, size, cut), cut
}

// cutFor is what rounding takes of this run when it takes d of the straight beside it.
func (r run) cutFor(d, k float64) float64 {
	if r.curv == 0 {
		return d
	}
	return flowArc(math.Abs(r.curv), math.Abs(k), d)
}

// flows reports whether a straight and an arc that turn to the same side can be ridden as one.
func flows(curv, k, length float64) bool {
	size := math.Abs(k)
	if curv == 0 || curv*k < 0 || size < 1e-7 || size > 2 {
		return false
	}
	c := math.Abs(curv)
	r := flowTurn(c, size, 5)
	cut, ok := flowCut(c, size, r)
	return ok && r >= tightest && flowArc(c, size, cut) < 0.6*length
}

// flowsInto reports whether the line ending at pending flows into an arc of radius r.
func (p *pen) flowsInto(hand Hand, r, sweep float64) bool {
	before, ok := p.last()
	if !ok || before.spot || before.back || before.curv != 0 {
		return false
	}
	curv := 1 / r
	if hand == Right {
		curv = -curv
	}
	return flows(curv, float64(p.facing.Diff(before.endHeading())), r*sweep)
}

// flowsOut reports whether the arc that pending ends with flows into a line to q.
func (p *pen) flowsOut(before elem, q arena.Point) bool {
	if before.curv == 0 || before.spot || before.back || before.figure == 0 {
		return false
	}
	k := float64(q.Sub(p.at).Heading().Diff(before.endHeading()))
	if !flows(before.curv, k, before.length) {
		return false
	}
	c, size := math.Abs(before.curv), math.Abs(k)
	cut, _ := flowCut(c, size, flowTurn(c, size, 5))
	return cut < float64(q.Dist(p.at))
}
