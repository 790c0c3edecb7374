package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// askedDiameter is what the rider's body rides of a board size d, starting here and turning
// to the hand: the inset comes off once for every wall that the figure touches across its
// size. A 20 m circle at A, E or B spans wall to wall (twice), a 10 m circle at B one wall.
func (c *compiler) askedDiameter(d float64, hand Hand) float64 {
	inset := float64(c.plan.Inset)
	n := c.facing.Unit().Left()
	if hand == Right {
		n = n.Mul(-1)
	}
	start := c.at
	walls := 0
	if c.track.isOn(c.at) && (c.onTrack || c.touching()) {
		start = c.at.Sub(n.Mul(inset))
		walls = 1
	}
	if c.atWall(start.Add(n.Mul(d)), n) {
		walls++
	}
	centre, t := start.Add(n.Mul(d/2)), c.facing.Unit()
	cross := 0
	for _, k := range []float64{-d / 2, d / 2} {
		if c.atWall(centre.Add(t.Mul(k)), t.Mul(k)) {
			cross++
		}
	}
	return d - inset*float64(max(walls, cross))
}

// touching is true at the boards while facing along them.
func (c *compiler) touching() bool {
	in := c.track.inward(c.track.metre(c.at))
	return math.Abs(c.facing.Unit().Dot(in.Unit())) < 0.1
}

// atWall reports whether p lies on the boards that n points to, within 0.3 m.
func (c *compiler) atWall(p, n arena.Point) bool {
	half, l := float64(c.board.Width)/2, float64(c.board.Length)
	const tol = 0.3
	return n.X > 0.5 && math.Abs(p.X-half) < tol || n.X < -0.5 && math.Abs(p.X+half) < tol ||
		n.Y > 0.5 && math.Abs(p.Y-l) < tol || n.Y < -0.5 && math.Abs(p.Y) < tol
}

// fit returns how far a circle of diameter d goes outside the track, ahead and behind its
// start and on its far side.
func (c *compiler) fit(d float64, hand Hand) (over float64) {
	n := c.facing.Unit().Left()
	if hand == Right {
		n = n.Mul(-1)
	}
	centre := c.at.Add(n.Mul(d / 2))
	for _, v := range []arena.Point{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}} {
		p := centre.Add(v.Mul(d / 2))
		over = math.Max(over, math.Max(math.Abs(p.X)-c.track.hw, math.Max(p.Y-c.track.y1, c.track.y0-p.Y)))
	}
	return over
}

// figureHand is the side a figure turns to: as said, else the rein, else what comes next.
func (c *compiler) figureHand(a actRef) Hand {
	h := Hand(a.Hand)
	if h == NoHand && a.Lead != "" {
		h = Hand(a.Lead)
	}
	if h == NoHand {
		if !c.onTrack && c.perp {
			c.takeTrack(c.sideFromNext())
			return c.rein
		}
		return c.otherIf(false)
	}
	if c.perp {
		c.takeTrack(h)
	}
	if c.onTrack && !c.checkRein(a, h) {
		return c.rein
	}
	return h
}

// size is the diameter asked for, or the usual one, in metres of board size.
func (c *compiler) size(a actRef, usual float64) float64 {
	d := a.SizeM
	if d == 0 {
		c.say("The size is not given; %g m is taken.", usual)
		c.problem(a.Pos, sheet.Note, "circle left 20 m", "the size of the %s is not given; %g m is taken", a.Kind, usual)
		return usual
	}
	if limit := float64(c.board.Width); d > limit || d < 3 {
		c.problem(a.Pos, sheet.Error, "6 to 20 m", "a %s of %g m is not possible in this arena; allowed: 3 to %g m", a.Kind, d, limit)
		return math.Max(3, math.Min(limit, d))
	}
	if s := smallest(c.variety); d < s-0.01 {
		c.problem(a.Pos, sheet.Error, "ask a larger circle or a shorter pace", "a %g m %s in %s is a turn no horse can make; the smallest is %g m", d, a.Kind, c.variety, s)
		c.also(c.paceAt)
	}
	return d
}

// circleAct rides full circles.
func (c *compiler) circleAct(a actRef, arr arrival) {
	c.flush()
	h := c.figureHand(a)
	usual := 20.0
	if a.Kind == "volte" {
		usual = 10
		if c.lvl.Corner <= 3 {
			usual = 8
		}
	}
	d := c.size(a, usual)
	c.arcRoom(h, d/2, 2*math.Pi)
	asked := c.fitted(a, d, h)
	n := max(1, a.Count)
	if a.Unit != "" {
		n = 1
	}
	sweep := 2 * math.Pi
	if a.Frac == 0.25 || a.Frac == 0.75 {
		sweep *= a.Frac
	}
	for i := 0; i < min(n, 5); i++ {
		c.pushCircle(a, d, asked, sweep, h)
	}
	c.say("%s %s %g m%s (ridden %.1f m).", sentence(a.Kind), h, d, spaced(placeWords(a.At)), asked)
	c.routeOn(a, arr)
}

// fitted is the asked diameter, made smaller with an error where the boards are in the way.
func (c *compiler) fitted(a actRef, d float64, h Hand) float64 {
	asked := c.askedDiameter(d, h)
	over := c.fit(asked, h)
	if over < 0.05 {
		return asked
	}
	if c.behindOver(asked, h) {
		c.problem(a.Pos, sheet.Warning, "", "a %g m %s here would cross the boards behind; it starts %.1f m later", d, a.Kind, over)
		c.pushOn(over)
		c.flush()
		return c.askedDiameter(d, h)
	}
	if over < 1.2 {
		return asked - over
	}
	for asked > 4 && c.fit(asked, h) > 0.02 {
		asked -= 0.1
	}
	c.problem(a.Pos, sheet.Error, "name a letter with room, or a smaller size", "a %g m %s %s%s does not fit inside the boards; it goes %.1f m over", d, a.Kind, h, spaced(placeWords(a.At)), over)
	return asked
}

// behindOver reports whether only the part behind the start goes over.
func (c *compiler) behindOver(d float64, h Hand) bool {
	keep := c.at
	over := c.fit(d, h)
	c.at = c.at.Add(c.facing.Unit().Mul(over))
	ok := c.fit(d, h) < 0.05 && (c.track.isOn(c.at) || !c.onTrack)
	c.at = keep
	return ok
}

func (c *compiler) pushCircle(a actRef, nominal, asked, sweep float64, h Hand) *draft {
	c.arcRoom(h, asked/2, sweep)
	c.figures++
	start := c.ahead(c.pendingLength())
	if len(c.pending) == 0 {
		start = c.here()
	}
	c.onTrack = c.onTrack && c.track.isOn(c.at)
	n := c.facing.Unit().Left()
	if h == Right {
		n = n.Mul(-1)
	}
	centre := c.at.Add(n.Mul(asked / 2))
	l := c.letterAt(a)
	place := c.at
	keepTrack := c.onTrack && sweep > 6
	if before, ok := c.last(); ok && c.flowsInto(h, asked/2, sweep) && math.Abs(float64(c.facing.Diff(before.endHeading()))) > 0.8 {
		c.say("The turn%s flows into the figure as one.", atLetterWords(c.letterHere(a)))
	}
	c.arc(h, asked/2, sweep, c.radius(), c.figures, nil)
	if !keepTrack {
		c.onTrack = false
	}
	kind := terms.Circle
	if nominal < 10.5 {
		kind = terms.Volte
	}
	length := asked / 2 * sweep
	c.circle = &circleNow{c.figures, start, length, asked, h, l, c.mov, centre, nominal}
	d := c.figure(kind, start, mark{start.s + length, 0}, Figure{At: l, Hand: h, Bend: h, Place: place, Centre: centre,
		Nominal: arena.Metres(nominal), Asked: arena.Metres(asked)})
	d.noPlace = true
	return d
}

// arcRoom rounds a kink before an arc of radius r that the line does not flow into: the arc
// needs a short straight to start from.
func (c *compiler) arcRoom(h Hand, r, sweep float64) {
	before, ok := c.last()
	if !ok || c.flowsInto(h, r, sweep) {
		return
	}
	kink := math.Abs(float64(c.facing.Diff(before.endHeading())))
	if kink < 1e-7 {
		return
	}
	if before.spot || before.curv != 0 || before.back {
		c.facingFromLast(before)
		return
	}
	d := c.radius()*math.Tan(math.Min(kink, 2)/2) + 0.01
	d = math.Min(d, float64(c.track.hit(c.at, c.facing).Dist(c.at)))
	c.push(elem{start: c.at, heading: c.facing, length: d, figure: c.figures + 1})
}

// facingFromLast gives up a turn that cannot be ridden from a halt or an arc on the spot.
func (c *compiler) facingFromLast(before elem) {
	room := float64(c.track.hit(c.at, c.facing).Dist(c.at))
	if room < 4 {
		c.pivot(before.endHeading(), c.facing)
		return
	}
	h := c.facing
	c.straightTo(c.at.Add(h.Unit().Mul(math.Min(2.5*c.radius(), room-1))), c.radius(), nil)
	c.facing = c.lastHeading()
}

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
	d = c.size(a, 10)
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

// figureEight rides two circles of one size.
func (c *compiler) figureEight(a actRef, arr arrival) {
	c.flush()
	h := c.figureHand(a)
	d := c.size(a, 10)
	if !c.onTrack {
		from := c.here()
		for _, side := range []Hand{h, other(h)} {
			c.pushCircle(a, d, c.fitted(a, d, side), 2*math.Pi, side)
		}
		c.figure(terms.FigureEight, from, c.ahead(c.pendingLength()), Figure{At: c.letterAt(a), Hand: h, Nominal: arena.Metres(d), Count: 2})
		c.say("Figure of eight%s, circles of %g m, %s first.", spaced(placeWords(a.At)), d, h)
		return
	}
	// from the track: half of the first circle, the whole second, the rest of the first
	asked := c.fitted(a, d, h)
	from := c.here()
	l := c.letterAt(a)
	if c.eight(a, d, asked, h) {
		c.figure(terms.FigureEight, from, c.ahead(c.pendingLength()), Figure{At: l, Hand: h, Nominal: arena.Metres(d), Count: 2})
		c.say("Figure of eight from %s, circles of %g m, %s first.", l, d, h)
		return
	}
	c.pushCircle(a, d, asked, math.Pi, h)
	c.onTrack = false
	second := math.Min(asked, c.room(other(h), asked))
	if second < 0.8*asked {
		c.problem(a.Pos, sheet.Error, "name a letter with room, or a smaller size", "the second circle of a figure of eight of %g m has no room at %s; it is ridden %.0f m", d, l, second)
	}
	c.pushCircle(a, d, second, 2*math.Pi, other(h))
	c.pushCircle(a, d, asked, math.Pi, h)
	c.onTrack = true
	c.facing = c.lastHeading()
	c.figure(terms.FigureEight, from, c.ahead(c.pendingLength()), Figure{At: l, Hand: h, Nominal: arena.Metres(d), Count: 2})
	c.say("Figure of eight from %s, circles of %g m, %s first.", l, d, h)
}

// room shrinks a circle until it fits.
func (c *compiler) room(h Hand, d float64) float64 {
	for d > 5 && c.fit(d, h) > 0.01 {
		d -= 0.1
	}
	return d
}

// changeInCircle changes the rein through a circle by two half circles of half its size.
func (c *compiler) changeInCircle(a actRef, arr arrival) {
	c.flush()
	h := c.otherIf(false)
	whole := c.askedDiameter(float64(c.board.Width), h)
	if c.circle != nil && c.circle.hand == h && c.circle.diameter > 14 {
		whole = c.circle.diameter
	}
	from := c.here()
	l := c.letterAt(a)
	middle := c.halfEnd(whole/2, h)
	for i, side := range []Hand{h, other(h), other(h)} {
		r := whole / 4
		if i == 2 {
			r = whole / 2 // the rest of the large circle back to its letter
		}
		c.figures++
		c.arcRoom(side, r, math.Pi)
		c.arc(side, r, math.Pi, c.radius(), c.figures, nil)
	}
	c.circle = &circleNow{c.figures, from, c.pendingLength(), whole, other(h), l, c.mov, middle, float64(c.board.Width)}
	if c.track.isOn(c.at) {
		c.takeTrack(other(h))
	}
	c.rein = other(h)
	c.reinAt = a.Pos
	c.figure(terms.ChangeInCircle, from, c.ahead(whole/4*2*math.Pi), Figure{At: l, Hand: other(h), Nominal: 10, Asked: arena.Metres(whole / 2), Count: 2})
	c.say("Change through the circle: half circles of %.1f m, then the circle %s back to %s.", whole/2, other(h), l)
}
