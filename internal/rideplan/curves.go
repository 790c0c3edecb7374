package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// serpentine rides n loops from one short side to the other, touching the long sides, or to
// a depth either side of the centre line.
func (c *compiler) serpentine(a actRef, arr arrival) {
	if c.onTrack && math.Abs(c.at.X) > 1 && a.At != nil && c.sideLoop(a, arr) {
		return
	}
	if c.onTrack && math.Abs(c.at.X) > 1 {
		c.toNextEnd()
	}
	c.flush()
	n := a.Count
	if n < 2 {
		n = 3
		c.say("The number of loops is not given; 3 are taken.")
		c.problem(a.Pos, sheet.Note, "serpentine of 3 loops", "the number of loops is not given; 3 are taken")
	}
	if n > 8 {
		c.problem(a.Pos, sheet.Error, "3 to 6 loops", "a serpentine of %d loops has no room in this arena", n)
		n = 6
	}
	width := c.track.hw
	if a.SizeM > 0 && a.SizeM < 9 || a.Is("round centre") {
		width = a.SizeM
		if width == 0 {
			width = float64(c.board.Width) / 4
		}
		width = math.Min(width, c.track.hw)
	}
	if c.perp {
		c.leavePerp("")
	}
	c.serpentineFrom(a, n, width)
}

func (c *compiler) serpentineFrom(a actRef, n int, width float64) {
	from := c.here()
	l := c.letterAt(a)
	h := c.otherIf(false)
	if a.Hand != "" && !c.onTrack {
		h = Hand(a.Hand)
	}
	y, to := c.serpentineEnd(a)
	free := !c.onTrack
	loop := math.Abs(y-c.at.Y) / float64(n)
	if !free {
		loop = float64(c.board.Length) / float64(n)
	}
	c.serpentineLine(y, n, width, h)
	end := h
	if n%2 == 0 {
		end = other(h)
	}
	if c.track.isOn(c.at) && c.touching() {
		c.takeTrack(end)
	} else {
		c.onTrack, c.perp, c.facing = false, false, c.bodyTowards(y)
	}
	c.reinAt = a.Pos
	if n := len(c.pending); n > 0 {
		c.serpentineTo, c.serpentineMov = c.pending[n-1].end(), c.mov
	}
	c.figure(terms.Serpentine, from, c.ahead(c.pendingLength()), Figure{At: l, To: to, Hand: h, Count: n, Nominal: arena.Metres(loop), Asked: arena.Metres(loop)})
	c.say("Serpentine of %d loops from %s to %s, %s first, each %.1f m long; it ends on the %s rein.", n, l, to, h, loop, end)
	if a.EndHand != "" && Hand(a.EndHand) != end {
		c.problem(a.Pos, sheet.Error, "check the number of loops and the rein before", "%d loops begun to the %s end on the %s rein, not on the %s", n, h, end, a.EndHand)
		c.also(c.reinAt)
	}
}

// bodyTowards is the direction along the centre line that leads on past y.
func (c *compiler) bodyTowards(y float64) arena.Angle {
	if y > float64(c.board.Length)/2 {
		return arena.Degrees(90)
	}
	return arena.Degrees(-90)
}

// serpentineEnd is y where the serpentine ends, and the letter there: the far short side, or
// a letter of the centre line when it starts on that line.
func (c *compiler) serpentineEnd(a actRef) (float64, string) {
	y, to := c.track.y1, "C"
	if c.at.Y > float64(c.board.Length)/2 {
		y, to = c.track.y0, "A"
	}
	last := ""
	if a.To != nil && len(a.To.Letters) > 0 {
		last = a.To.Letters[len(a.To.Letters)-1]
	} else if a.At != nil && len(a.At.Letters) > 1 {
		last = a.At.Letters[len(a.At.Letters)-1]
	}
	if q, ok := c.point(last); ok && math.Abs(q.X) < 0.5 && math.Abs(q.Y-c.at.Y) > 10 {
		return q.Y, last
	}
	return y, to
}

// serpentineLine pushes the loops from here to y1: straight over the centre line, half
// circles at the sides.
func (c *compiler) serpentineLine(y1 float64, n int, width float64, h Hand) {
	dir := math.Copysign(1, y1-c.at.Y)
	side := 1.0 // first loop towards the B side
	if (h == Right) == (dir > 0) {
		side = -1
	}
	base := c.at.Y
	loop := math.Abs(y1-base) / float64(n)
	if c.track.isOn(c.at) { // the loops divide the arena between the boards
		base = 0
		if dir < 0 {
			base = float64(c.board.Length)
		}
		loop = (math.Abs(y1-base) + float64(c.plan.Inset)*boolTo1(math.Abs(y1-c.track.y1) < 0.01 || math.Abs(y1-c.track.y0) < 0.01)) / float64(n)
	}
	y := c.at.Y
	for i := 0; i < n; i++ {
		next := base + dir*loop*float64(i+1)
		if i+1 == n {
			next = y1
		}
		r := math.Min(math.Abs(next-y)/2, width)
		c.corner(arena.Point{X: side * width, Y: y}, r)
		c.corner(arena.Point{X: side * width, Y: next}, r)
		c.corner(arena.Point{X: 0, Y: next}, r)
		y, side = next, -side
	}
	c.onTrack = false
}

func boolTo1(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// corner pushes the straight to p, rounding the kink at its start by r.
func (c *compiler) corner(p arena.Point, r float64) {
	if p.Dist(c.at) < 1e-6 {
		return
	}
	n := len(c.pending)
	c.straightTo(p, r, nil)
	for i := n; i < len(c.pending); i++ {
		c.pending[i].radius = r
	}
	c.facing = c.lastHeading()
}

// sideLoop reads a "simple serpentine" on a long side as a loop.
func (c *compiler) sideLoop(a actRef, arr arrival) bool {
	if len(arr.route) == 0 {
		return false
	}
	q, _ := c.point(arr.route[len(arr.route)-1])
	if math.Abs(q.X-c.at.X) > 1 {
		return false
	}
	c.loop(a, arr)
	return true
}

// loop rides one or two shallow loops on a long side.
func (c *compiler) loop(a actRef, arr arrival) {
	if a.Count >= 3 && a.Kind == "loop" {
		c.serpentine(a, arrival{ok: true})
		return
	}
	c.flush()
	depth := a.SizeM
	l := c.letterAt(a)
	end, via := c.loopEnd(a, arr)
	if depth == 0 && via != "" {
		depth = float64(c.board.Width) / 2
	}
	if depth == 0 {
		depth = 5
		c.say("The depth is not given; 5 m is taken.")
		c.problem(a.Pos, sheet.Note, "loop 5 m", "the depth of the loop is not given; 5 m is taken")
	}
	if depth > 15 || depth < 1 {
		c.problem(a.Pos, sheet.Error, "3 to 10 m", "a loop of %g m is not possible; allowed: 1 to 15 m", depth)
		depth = 5
	}
	if !c.onTrack || math.Abs(c.at.X) < 1 {
		c.problem(a.Pos, sheet.Error, "HK loop 5 m", "a shallow loop starts on a long side")
		return
	}
	if !c.headsToward(end) {
		c.problem(a.Pos, sheet.Error, "change the rein first, or name the letters the other way round", "the loop to %s lies behind; the horse is on the %s rein", end, c.rein)
		c.also(c.reinAt)
		return
	}
	n := 1
	if a.Kind == "double loop" || a.Count == 2 {
		n = 2
	}
	q, _ := c.point(end)
	if l := math.Abs(q.Y-c.at.Y) / float64(n); l < 8 || math.Abs(q.X-c.at.X) > 0.5 || depth > l {
		c.problem(a.Pos, sheet.Error, "HK loop 5 m", "there is no room for %d loop(s) of %g m from %s to %s", n, depth, c.letterAt(a), end)
		return
	}
	from, asked := c.here(), depth-float64(c.plan.Inset)
	length := math.Abs(q.Y-c.at.Y) / float64(n)
	for i := 0; i < n; i++ {
		c.pushLoop(length/2, asked)
	}
	c.onTrack = true
	c.facing = c.track.heading(c.track.metre(c.at), c.rein)
	c.figure(terms.Loop, from, c.ahead(c.pendingLength()), Figure{At: l, To: end, Hand: c.rein, Count: n, Nominal: arena.Metres(depth), Asked: arena.Metres(asked)})
	c.say("Loop of %g m from %s to %s (%.1f m from the track for the rider's body).", depth, l, end, asked)
}

// loopEnd is the letter where a loop comes back, and the letter it is ridden through.
func (c *compiler) loopEnd(a actRef, arr arrival) (end, via string) {
	route := arr.route
	if a.To != nil {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	for _, l := range route {
		q, _ := c.point(l)
		if c.onBoards(l) && math.Abs(q.X-c.at.X) < 0.5 {
			end = l
		} else if !c.onBoards(l) {
			via = l
		}
	}
	if end != "" {
		return end, via
	}
	for _, l := range []string{"K", "H", "F", "M"} {
		q, _ := c.point(l)
		if math.Abs(q.X-c.at.X) < 0.5 && c.headsToward(l) {
			end = l
		}
	}
	if end == "" {
		end = "A"
	}
	return end, via
}

// pushLoop pushes one loop of half length l and depth b: in, over, and back, as three arcs
// of one radius with straights between where there is room.
func (c *compiler) pushLoop(l, b float64) {
	h := c.rein
	full := l / (2 * math.Sin(2*math.Atan2(b, l)))
	r := math.Min(full, math.Max(10, b))
	theta := loopAngle(l, b, r)
	straight := math.Max(0, (l-2*r*math.Sin(theta))/math.Cos(theta))
	line := func() {
		c.push(elem{start: c.at, heading: c.facing, length: straight})
	}
	c.arcRoom(h, r, theta)
	c.arc(h, r, theta, c.radius(), 0, nil)
	line()
	c.arc(other(h), r, 2*theta, c.radius(), 0, nil)
	line()
	c.arc(h, r, theta, c.radius(), 0, nil)
}

// loopAngle solves 2r(1-cos t) + s sin t = b with s the straight that is left, for t.
func loopAngle(l, b, r float64) float64 {
	lo, hi := 0.0, math.Min(1.4, math.Asin(math.Min(1, l/(2*r)))) // beyond it no straight is left
	for i := 0; i < 60; i++ {
		t := (lo + hi) / 2
		s := (l - 2*r*math.Sin(t)) / math.Cos(t)
		if 2*r*(1-math.Cos(t))+s*math.Sin(t) < b {
			lo = t
		} else {
			hi = t
		}
	}
	return (lo + hi) / 2
}
