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
		return math.Max(smallest(c.variety), math.Min(limit, d))
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
	d.noPlace, d.Spiral = true, a.Is("spiral")
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
	if q, ok := c.point(l); ok && q.Dist(c.at) > 3 { // "X change through the circle": its middle is named
		l, _ = c.board.NearestLetter(c.at)
	}
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
