package rideplan

import (
	"fmt"
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// halfCircle rides half a circle, from side to side or to the centre line and back.
func (c *compiler) halfCircle(a actRef, arr arrival) {
	c.flush()
	h := c.figureHand(a)
	to := c.halfTarget(a, arr)
	d := a.SizeM
	if d == 0 {
		d = c.inferHalf(to)
	}
	a.SizeM = d
	d = c.sizeOrLetter(a, c.size(a, 10), to, h)
	c.arcRoom(h, d/2, math.Pi)
	asked := c.fitted(a, d, h)
	sweep, ret := math.Pi, c.returnPoint(a, to, asked, h)
	if ret != nil {
		sweep = c.sweepToward(*ret, asked/2, h)
	}
	dr := c.pushHalf(a, d, asked, sweep, h, ret == nil, to)
	dr.Kind = terms.HalfCircle
	dr.To = to
	c.say("Half circle %s %g m%s (ridden %.1f m).", h, d, spaced(placeWords(a.At)), asked)
	if ret != nil {
		c.straightTo(*ret, c.radius(), nil)
		c.arrive()
		c.say("Return to the track.")
		c.reinAt = a.Pos
		if b, ok := c.peek(1); ok && b.Kind == "return" && b.mov == a.mov {
			c.skip = c.k + 1
		}
		return
	}
	c.afterHalf(h, to)
}

// pushHalf pushes the half circle. From A to X and on to C in 20 x 40 the letters lie 20 m
// apart but the body rides 18.4 m between the walls: a straight at the wall, between the two
// quarters, takes up the difference, so that the half circle ends at its letter.
func (c *compiler) pushHalf(a actRef, d, asked, sweep float64, h Hand, across bool, to string) *draft {
	gap := c.gapTo(to, asked, h)
	if !across || gap == 0 {
		return c.pushCircle(a, d, asked, sweep, h)
	}
	from := c.pendingLength()
	dr := c.pushCircle(a, d, asked, math.Pi/2, h)
	c.push(elem{start: c.at, heading: c.facing, length: gap, figure: c.figures})
	c.arc(h, asked/2, math.Pi/2, c.radius(), c.figures, nil)
	c.circle.length = c.pendingLength() - from
	dr.to = c.ahead(c.pendingLength())
	dr.Centre, dr.Asked = bestCircle(c.pending[len(c.pending)-3:])
	return dr
}

// bestCircle is the centre and diameter of the least-squares circle through pieces of line.
func bestCircle(es []elem) (arena.Point, arena.Metres) {
	var ps []arena.Point
	var mean arena.Point
	for _, e := range es {
		n := max(2, int(e.length/0.25))
		for i := range n {
			q := e.segment().At(arena.Metres(e.length * float64(i) / float64(n))).Point
			ps, mean = append(ps, q), mean.Add(q)
		}
	}
	mean = mean.Mul(1 / float64(len(ps)))
	var uu, vv, uv, p, q float64
	for _, s := range ps {
		u, v := s.X-mean.X, s.Y-mean.Y
		uu, vv, uv = uu+u*u, vv+v*v, uv+u*v
		p, q = p+u*(u*u+v*v)/2, q+v*(u*u+v*v)/2
	}
	det := uu*vv - uv*uv
	centre := arena.Point{X: (p*vv - q*uv) / det, Y: (uu*q - uv*p) / det}
	r := math.Sqrt(centre.Dot(centre) + (uu+vv)/float64(len(ps)))
	return mean.Add(centre), arena.Metres(2 * r)
}

// gapTo is how much further than the half circle's own end the letter lies that it leads to,
// 0 when it is not about there.
func (c *compiler) gapTo(to string, asked float64, h Hand) float64 {
	if b, ok := c.peek(1); ok && to == "" && b.At != nil && len(b.At.Letters) > 0 {
		to = b.At.Letters[0]
	}
	q, ok := c.point(to)
	if !ok {
		return 0
	}
	v := q.Sub(c.halfEnd(asked, h))
	n := c.halfEnd(asked, h).Sub(c.at).Mul(1 / asked)
	if gap := v.Dot(n); gap > 0.05 && gap < 2 && math.Abs(n.Cross(v)) < 0.5 {
		return gap
	}
	return 0
}

// sizeOrLetter reports a size that does not lead to the letter named, and rides to the letter
// where it lies across, since what follows goes on from there.
func (c *compiler) sizeOrLetter(a actRef, d float64, to string, h Hand) float64 {
	q, ok := c.point(to)
	if !ok {
		return d
	}
	end := c.halfEnd(c.askedDiameter(d, h), h)
	back := c.facing.Unit().Mul(-1)
	n := end.Sub(c.at).Mul(1 / float64(end.Dist(c.at)))
	on, side, reach := q.Sub(end).Dot(back), q.Sub(end).Dot(n), q.Sub(c.at).Dot(n)
	ends, _ := c.board.NearestLetter(end)
	across := c.boardAcross(to, n)
	switch {
	case on < -2 && (math.Abs(side) > 2 || on < -4): // behind where it ends
		c.problem(a.Pos, sheet.Error, "name a letter that lies ahead", "a half circle %s of %g m%s comes out facing away from %s, which lies %.0f m behind", h, d, spaced(placeWords(a.At)), to, -on)
	case math.Abs(on) <= 2 && math.Abs(side) > 2.5 && reach < 3:
		c.problem(a.Pos, sheet.Error, "name a letter across", "a half circle %s of %g m%s cannot lead to %s, which lies on the same side", h, d, spaced(placeWords(a.At)), to)
	case math.Abs(on) <= 2 && math.Abs(side) > 2.5:
		c.problem(a.Pos, sheet.Error, fmt.Sprintf("%.0f m, or to %s", across, ends), "a half circle of %g m%s cannot lead to %s: that is %.0f m across", d, spaced(placeWords(a.At)), to, across)
		if !c.nextNear(end) && across <= float64(c.board.Width) {
			d = math.Max(4, across)
		}
	default:
		return d
	}
	if a.To != nil {
		c.also(a.To.Pos)
	} else if a.At != nil {
		c.also(a.At.Pos)
	}
	return d
}

// boardAcross is how far a letter lies from here in the direction n, on the boards, metres.
func (c *compiler) boardAcross(to string, n arena.Point) float64 {
	from := c.at
	if c.track.isOn(c.at) && c.touching() {
		from = c.at.Sub(n.Mul(float64(c.plan.Inset)))
	}
	q, _ := c.board.Letter(to)
	return math.Round(q.Sub(from).Dot(n))
}

// nextNear reports whether the next place of the sheet lies at q.
func (c *compiler) nextNear(q arena.Point) bool {
	b, ok := c.peek(1)
	if !ok || b.At == nil || len(b.At.Letters) == 0 {
		return false
	}
	r, ok := c.point(b.At.Letters[0])
	return ok && r.Dist(q) < 3
}

// afterHalf takes the track where the half circle ends on it.
func (c *compiler) afterHalf(h Hand, to string) {
	if c.track.isOn(c.at) && c.touching() {
		c.takeTrack(h)
		c.rein = c.slantOf(c.lastHeading())
		return
	}
	if to != "" {
		if q, ok := c.point(to); ok && !c.isHere(q) && float64(q.Dist(c.at)) > 2 && c.isAhead(q) {
			c.straightJoin(to, q)
		}
	}
}

func (c *compiler) slantOf(h arena.Angle) Hand {
	left := c.track.heading(c.track.metre(c.at), Left)
	if h.Unit().Dot(left.Unit()) >= 0 {
		return Left
	}
	return Right
}

// halfTarget is the letter the half circle leads to, "" when not said.
func (c *compiler) halfTarget(a actRef, arr arrival) string {
	if len(arr.route) > 0 {
		return arr.route[len(arr.route)-1]
	}
	if a.To != nil && a.To.Line == "" {
		if ls := c.known(a.To); len(ls) > 0 {
			return ls[len(ls)-1]
		}
	}
	return ""
}

// inferHalf is the size of a half circle whose size is not given: wall to wall when it leads
// to the letter across, else wall to centre line.
func (c *compiler) inferHalf(to string) float64 {
	if to == "" {
		if b, ok := c.peek(1); ok && b.At != nil && len(b.At.Letters) > 0 {
			to = b.At.Letters[0]
		}
	}
	if q, ok := c.point(to); ok && c.acrossFrom(q) && math.Abs(q.Y-c.at.Y) < 1 {
		return float64(c.board.Width)
	}
	return float64(c.board.Width) / 2
}

// returnPoint is where a half circle comes back to the track it left, nil when it does not.
func (c *compiler) returnPoint(a actRef, to string, asked float64, h Hand) *arena.Point {
	if b, ok := c.peek(1); ok && b.Kind == "return" && b.mov == a.mov && b.part == a.part {
		return c.returnOf(b, asked, h)
	}
	if a.To != nil && a.To.Line == "track" {
		return c.returnOf(actRef{Act: sheet.Act{To: a.To}}, asked, h)
	}
	q, ok := c.point(to)
	if !ok || !c.onBoards(to) || !c.onTrack {
		return nil
	}
	end := c.halfEnd(asked, h)
	if q.Dist(end) < 2.5 || c.acrossFrom(q) && math.Abs(q.Y-c.at.Y) < 1 {
		return nil
	}
	return &q
}

func (c *compiler) halfEnd(asked float64, h Hand) arena.Point {
	n := c.facing.Unit().Left()
	if h == Right {
		n = n.Mul(-1)
	}
	return c.at.Add(n.Mul(asked))
}

// returnOf is the point of the track that a return names, or one 12 m back from the half
// circle, where the way back slants about as a half diagonal.
func (c *compiler) returnOf(b actRef, asked float64, h Hand) *arena.Point {
	p := b.To
	if p == nil || len(p.Letters) == 0 {
		p = b.At
	}
	if p != nil && len(p.Letters) > 0 {
		ls := c.known(p)
		if len(ls) == 0 {
			return nil
		}
		q, _ := c.point(ls[0])
		if len(ls) > 1 && p.Kind == sheet.Between {
			r, _ := c.point(ls[1])
			q = q.Lerp(r, 0.5)
		}
		if q.Dist(c.halfEnd(asked, h)) < 1 {
			return nil
		}
		return &q
	}
	u := c.track.metre(c.at)
	q := c.track.point(c.track.ahead(u, -12, c.rein))
	return &q
}

// sweepToward is how far the arc of radius r turns until it faces q.
func (c *compiler) sweepToward(q arena.Point, r float64, h Hand) float64 {
	side := 1.0
	if h == Right {
		side = -1
	}
	centre := c.at.Add(c.facing.Unit().Left().Mul(side * r))
	d := float64(q.Dist(centre))
	if d <= r {
		return math.Pi
	}
	tangent := q.Sub(centre).Heading() - arena.Angle(side*math.Acos(r/d))
	sweep := float64(tangent.Diff(c.at.Sub(centre).Heading())) * side
	if sweep < 0.1 {
		sweep += 2 * math.Pi
	}
	return sweep
}

// returnToTrack goes back to the track from inside the arena.
func (c *compiler) returnToTrack(a actRef, arr arrival) {
	if c.onTrack {
		return
	}
	route := arr.route
	if a.To != nil {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	if len(route) == 0 {
		c.pushOn(float64(c.track.hit(c.at, c.facing).Dist(c.at)))
		return
	}
	for _, l := range route {
		c.direct(l)
	}
	c.say("Return to the track at %s.", route[len(route)-1])
}

// cornerReturn is the half circle out of a corner with the way back to the track.
func (c *compiler) cornerReturn(a actRef, arr arrival) {
	a.Kind = "half circle"
	if a.SizeM == 0 {
		a.SizeM = 10
	}
	c.flush()
	h := c.figureHand(a)
	asked := c.fitted(a, c.size(a, 10), h)
	q := c.returnOf(a, asked, h)
	if a.To == nil {
		p := c.track.point(c.track.ahead(c.track.metre(c.at), -12, c.rein))
		q = &p
	}
	if q == nil {
		return
	}
	d := c.pushCircle(a, a.SizeM, asked, c.sweepToward(*q, asked/2, h), h)
	d.Kind = terms.HalfCircle
	c.straightTo(*q, c.radius(), nil)
	c.arrive()
	c.reinAt = a.Pos
	c.say("Half circle %s %g m and back to the track.", h, a.SizeM)
}
