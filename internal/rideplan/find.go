package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// findPending returns the metres to the place nearest p on what is pending. Circles of an
// earlier movement are not searched: their letter is met at their end.
func (c *compiler) findPending(q arena.Point, tol float64, anyCircle bool) (float64, bool) {
	s, best, bd := 0.0, 0.0, tol
	for i, e := range c.pending {
		if e.figure == 0 || anyCircle {
			if d, off := nearestOn(e, q); off < bd-1e-9 && (s+d > 0.3 || e.figure == 0) {
				if !(e.figure != 0 && i == 0 && d < 0.5) {
					best, bd = s+d, off
				}
			}
		}
		s += e.length
	}
	return best, bd < tol
}

// nearestOn returns the metres along e of its point nearest q, and its distance.
func nearestOn(e elem, q arena.Point) (d, off float64) {
	if e.spot {
		return 0, float64(q.Dist(e.start))
	}
	if e.curv == 0 {
		d = math.Max(0, math.Min(e.length, q.Sub(e.start).Dot(e.heading.Unit())))
		return d, float64(q.Dist(e.segment().At(arena.Metres(d)).Point))
	}
	n := max(8, int(e.length/0.5))
	off = math.Inf(1)
	for i := 0; i <= n; i++ {
		x := e.length * float64(i) / float64(n)
		if f := float64(q.Dist(e.segment().At(arena.Metres(x)).Point)); f < off-1e-9 {
			d, off = x, f
		}
	}
	lo, hi := math.Max(0, d-e.length/float64(n)), math.Min(e.length, d+e.length/float64(n))
	for hi-lo > 1e-6 {
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if q.Dist(e.segment().At(arena.Metres(a)).Point) < q.Dist(e.segment().At(arena.Metres(b)).Point) {
			hi = b
		} else {
			lo = a
		}
	}
	return lo, float64(q.Dist(e.segment().At(arena.Metres(lo)).Point))
}

// crossing returns the metres to the next place where pending crosses x, from after metres on.
func (c *compiler) crossing(x, after float64) (float64, bool) {
	s := 0.0
	for _, e := range c.pending {
		const step = 0.1
		for d := 0.0; d < e.length; d += step {
			a := e.segment().At(arena.Metres(d)).X - x
			b := e.segment().At(arena.Metres(math.Min(d+step, e.length))).X - x
			if a*b <= 0 && math.Abs(a) != math.Abs(b) && s+d > after {
				return s + d + step*math.Abs(a)/(math.Abs(a)+math.Abs(b)), true
			}
		}
		s += e.length
	}
	return 0, false
}

// lineFirst reports whether the line of the box before is ridden to its end although it passes
// the letter: a loop of a serpentine touches letters that the next box means to meet on the
// track, and a figure at E after "K-H shoulder-in" is met on the next way round.
func (c *compiler) lineFirst(l string, q arena.Point) bool {
	a := c.acts[c.k]
	if len(c.pending) == 0 || !a.first || staying[a.Kind] && c.onSerpentine() && !c.onBoards(l) {
		return false
	}
	if c.onSerpentine() && a.mov != c.serpentineMov {
		return true
	}
	if staying[a.Kind] || spotActs[a.Kind] || !c.onBoards(l) || c.pending[0].figure != 0 {
		return false
	}
	d, ok := c.findPending(q, nearLetter, false)
	return ok && d > 0.3 && d < c.pendingLength()-6
}

// circleLetter finds a letter on the circle of the same movement: its own letter again at the
// end, others where the circle passes nearest (a 20 m circle at A passes 2 m from X or L).
// The circle of an earlier box is ridden out first, unless what comes next happens on a
// letter inside the arena: "A circle left 20 m", then "X working canter".
func (c *compiler) circleLetter(l string, q arena.Point) bool {
	if c.circle == nil || len(c.pending) == 0 || c.pending[0].figure == 0 || c.circle.letter == l {
		return false
	}
	if a := c.acts[c.k]; c.circle.mov != a.mov && (c.onBoards(l) || !staying[a.Kind] && a.Kind != "change in circle") {
		return false
	}
	tol := nearLetter
	if !c.onBoards(l) {
		tol = 2.6
	}
	d, ok := c.findPending(q, tol, true)
	if ok {
		c.ride(d)
	}
	return ok
}

// isHere reports whether the line ends at q.
func (c *compiler) isHere(q arena.Point) bool { return float64(c.at.Dist(q)) < atLetter }

// justPast is true a little behind a letter on the line ridden, as after a rein-back or a
// short straight that leads out of a turn.
func (c *compiler) justPast(q arena.Point) bool {
	v := q.Sub(c.at)
	along := v.Dot(c.facing.Unit())
	reach := 1.6
	if n := len(c.ridden); n > 0 && c.ridden[n-1].variety == gait.Piaffe {
		reach = 4.5 // piaffe after a turn at the letter
	}
	return along < 0 && along > -reach && math.Abs(c.facing.Unit().Cross(v)) < 0.3
}

// isAhead reports whether q lies on the straight ahead.
func (c *compiler) isAhead(q arena.Point) bool {
	v := q.Sub(c.at)
	return v.Dot(c.facing.Unit()) > 0.1 && math.Abs(c.facing.Unit().Cross(v)) < nearLetter
}

// acrossFrom reports whether q is on the opposite long or short side.
func (c *compiler) acrossFrom(q arena.Point) bool {
	p := c.at
	t := c.track
	longs := math.Abs(math.Abs(p.X)-t.hw) < 0.1 && math.Abs(math.Abs(q.X)-t.hw) < 0.1 && p.X*q.X < 0
	ends := math.Abs(p.X) < 0.6 && math.Abs(q.X) < 0.6
	return longs || ends
}

// onTrackLetter is the letter of the boards where the line ends, "" between letters.
func (c *compiler) onTrackLetter() string {
	for _, l := range c.board.Letters() {
		if q, _ := c.point(l); c.onBoards(l) && c.isHere(q) {
			return l
		}
	}
	return ""
}
