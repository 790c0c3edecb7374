package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// crossover is the change from one circle to the next: both touch at a point of the line
// between their centres. Where the walls make the ridden circles smaller than the boards'
// word, a short straight at the wall takes up the difference.
type crossover struct {
	at      arena.Point // where the circles touch
	first   arena.Point // centre of the first
	second  arena.Point
	dir     arena.Point // unit, from the first centre to the second
	r, gap  float64
	hand    Hand // on the first circle
	nominal float64
	ridden  bool // up to where they touch
}

// readCrossover reads "X change the rein onto a 20 m circle right", said while on a circle, as a
// change from circle to circle.
func (c *compiler) readCrossover(a actRef) actRef {
	b, ok := c.peek(1)
	if a.Kind != "change rein" || !ok || b.Kind != "circle" || b.mov != a.mov || b.part != a.part || b.At != nil || c.circle == nil {
		return a
	}
	here := len(c.pending) > 0 && c.pending[0].figure != 0 || len(c.pending) == 0 && math.Abs(float64(c.at.Dist(c.circle.centre))-c.circle.diameter/2) < 0.05
	if !here || a.At != nil && len(a.At.Letters) > 1 || c.onBoards(firstLetter(a)) {
		return a
	}
	a.Kind, c.skip = "change circles", c.k+1
	return a
}

// toCrossover rides to where a change from circle to circle begins: at the touching point
// when its letter is named, else where the first circle is.
func (c *compiler) toCrossover(a actRef) arrival {
	l := firstLetter(a)
	if l != "" && c.onBoards(l) {
		c.goLetter(l)
	}
	c.flush()
	if c.perp {
		c.leavePerp("")
	}
	c.over = nil
	if q, ok := c.point(l); ok && c.circle != nil && q.Dist(c.circle.centre) < 2 {
		return arrival{ok: true} // over the middle: a change through the circle
	}
	x := &crossover{hand: c.otherIf(false)}
	c.circleHere(x)
	ok := c.findCrossover(x, l, arena.Point{})
	if !ok {
		c.problem(a.Pos, sheet.Error, "A change out of the circle", "there is no room for a second circle beside this one")
		return arrival{}
	}
	c.over = x
	if l != "" && !c.onBoards(l) || a.At != nil && a.At.Line == "centre line" {
		c.rideFirst(x)
		c.flush()
	}
	return arrival{ok: true}
}

// findCrossover chooses the second circle: over the letter named, else in the direction
// preferred, with the next letter of the sheet on it, or the one that is reached first.
func (c *compiler) findCrossover(x *crossover, l string, prefer arena.Point) bool {
	x.gap = 0
	if x.nominal-2*x.r > 1.5*float64(c.plan.Inset) {
		x.gap = (x.nominal - 2*x.r) / 2
	}
	best := math.Inf(1)
	for _, dir := range []arena.Point{{Y: 1}, {Y: -1}, {X: 1}, {X: -1}} {
		y := *x
		y.dir = dir
		y.at = x.first.Add(dir.Mul(x.r + x.gap))
		y.second = x.first.Add(dir.Mul(2 * (x.r + x.gap)))
		if !c.roomFor(y.second, x.r) {
			continue
		}
		if cost := c.crossoverCost(y, l) - 20*dir.Dot(prefer); cost < best {
			best, x.dir, x.at, x.second = cost, dir, y.at, y.second
		}
	}
	return !math.IsInf(best, 1)
}

// circleHere sets the circle ridden now, or a 20 m circle from here, as the first.
func (c *compiler) circleHere(x *crossover) {
	if k := c.circle; k != nil && math.Abs(float64(c.at.Dist(k.centre))-k.diameter/2) < 0.05 {
		x.first, x.r, x.hand, x.nominal = k.centre, k.diameter/2, k.hand, k.nominal
		return
	}
	x.nominal = float64(c.board.Width)
	c.circleFrom(x, c.askedDiameter(x.nominal, x.hand))
}

// circleFrom sets a first circle that starts here.
func (c *compiler) circleFrom(x *crossover, asked float64) {
	x.first, x.r = c.halfEnd(asked/2, x.hand), asked/2
}

// roomFor reports whether a circle lies inside the track.
func (c *compiler) roomFor(q arena.Point, r float64) bool {
	t := c.track
	return math.Abs(q.X)+r < t.hw+0.05 && q.Y-r > t.y0-0.05 && q.Y+r < t.y1+0.05
}

// crossoverCost prefers the touching point named, then the next letter, then the nearer one.
func (c *compiler) crossoverCost(x crossover, l string) float64 {
	cost := c.firstSweep(x)
	if q, ok := c.point(l); ok && !c.onBoards(l) {
		cost += 10 * float64(q.Dist(x.at))
	}
	if _, _, ok := c.nextOn(x.second, x.r); !ok {
		cost += 7
	}
	return cost
}

// nextOn is the next letter of the sheet when it lies on the circle.
func (c *compiler) nextOn(q arena.Point, r float64) (string, arena.Point, bool) {
	for n := 1; n < 4; n++ {
		b, ok := c.peek(n)
		if !ok || b.At == nil || len(b.At.Letters) == 0 {
			continue
		}
		p, ok := c.point(b.At.Letters[0])
		if ok && math.Abs(float64(p.Dist(q))-r) < 1.2 {
			return b.At.Letters[0], p, true
		}
		return "", arena.Point{}, false
	}
	return "", arena.Point{}, false
}

// quarterBefore is the unit from a centre to the place a quarter circle before direction d.
func quarterBefore(d arena.Point, h Hand) arena.Point {
	if h == Right {
		return d.Left()
	}
	return d.Left().Mul(-1)
}

// sweepTo is the turn on the hand from direction a to direction b, 0 to just under 2 pi.
func sweepTo(a, b arena.Point, h Hand) float64 {
	d := float64(b.Heading().Diff(a.Heading()))
	if h == Right {
		d = -d
	}
	if d < -1e-3 {
		d += 2 * math.Pi
	}
	return math.Max(0, d)
}

func (c *compiler) firstSweep(x crossover) float64 {
	return sweepTo(c.at.Sub(x.first), quarterBefore(x.dir, x.hand), x.hand)
}

// rideFirst pushes the first circle up to where the circles touch.
func (c *compiler) rideFirst(x *crossover) {
	c.figures++
	sweep := c.firstSweep(*x)
	c.arcRoom(x.hand, x.r, sweep)
	if sweep > 1e-6 {
		c.arc(x.hand, x.r, sweep, c.radius(), c.figures, nil)
	}
	c.push(elem{start: c.at, heading: c.facing, length: x.gap, figure: c.figures})
	c.arc(x.hand, x.r, math.Pi/2, c.radius(), c.figures, nil)
	c.onTrack, x.ridden = false, true
}

// changeCircles changes from one circle to the next.
func (c *compiler) changeCircles(a actRef, arr arrival) {
	x := c.over
	if x == nil {
		c.changeInCircle(a, arr)
		return
	}
	from, l := c.here(), c.letterAt(a)
	if !x.ridden {
		c.rideFirst(x)
	}
	h := other(x.hand)
	c.figures++
	c.arc(h, x.r, math.Pi/2, c.radius(), c.figures, nil)
	c.push(elem{start: c.at, heading: c.facing, length: x.gap, figure: c.figures})
	end := c.rideSecond(x, h)
	c.rein, c.reinAt = h, a.Pos
	if c.track.isOn(c.at) && c.touching() {
		c.takeTrack(h)
	}
	c.circle = &circleNow{c.figures, from, c.pendingLength(), 2 * x.r, h, end, c.mov, x.second, x.nominal}
	c.figure(terms.ChangeInCircle, from, c.ahead(c.pendingLength()), Figure{At: l, Hand: h, Nominal: arena.Metres(x.nominal), Count: 2})
	c.say("Change from circle to circle%s, then the %s rein.", near(c.board, x.at), h)
}

// near says the letter within three metres of a place, or the centre line.
func near(b *arena.Board, q arena.Point) string {
	if l, d := b.NearestLetter(q); d < 3 {
		return " near " + l
	}
	return " over the centre line"
}

// rideSecond rides the second circle from its first wall on: to the next letter of the sheet,
// to the far wall, or once round.
func (c *compiler) rideSecond(x *crossover, h Hand) string {
	centre := x.second
	at := c.at.Sub(centre)
	if l, q, ok := c.nextOn(centre, x.r); ok && q.Dist(x.at) > 3 {
		c.arc(h, x.r, sweepTo(at, q.Sub(centre), h), c.radius(), c.figures, nil)
		return l
	}
	if c.track.isOn(centre.Add(x.dir.Mul(x.r))) {
		c.arc(h, x.r, math.Pi/2, c.radius(), c.figures, nil)
		l, _ := c.board.NearestLetter(c.at)
		return l
	}
	c.arc(h, x.r, sweepTo(at, x.dir.Mul(-1), h), c.radius(), c.figures, nil)
	return ""
}

// eight rides a figure of eight from the track as two whole circles: over to the second where
// they touch, round it, and back to the rest of the first. false when the second has no room.
func (c *compiler) eight(a actRef, d, asked float64, h Hand) bool {
	x := &crossover{hand: h, nominal: d}
	c.circleFrom(x, asked)
	if !c.findCrossover(x, "", c.track.inward(c.track.metre(c.at)).Unit()) {
		return false
	}
	sweep, l := c.firstSweep(*x), c.letterAt(a)
	arc := func(h Hand, sweep float64) { c.arc(h, x.r, sweep, c.radius(), c.figures, nil) }
	straight := func() { c.push(elem{start: c.at, heading: c.facing, length: x.gap, figure: c.figures}) }
	part := func(h Hand, ride func()) {
		n := len(c.pending)
		from, place := c.ahead(c.pendingLength()), c.at
		if n == 0 {
			from = c.here()
		}
		ride()
		centre, size := bestCircle(c.pending[n:])
		f := c.figure(terms.Circle, from, c.ahead(c.pendingLength()), Figure{At: l, Hand: h, Bend: h, Place: place, Centre: centre,
			Nominal: arena.Metres(d), Asked: size})
		f.noPlace = true
		if d < 10.5 {
			f.Kind = terms.Volte
		}
	}
	part(h, func() { c.rideFirst(x) })
	part(other(h), func() {
		arc(other(h), math.Pi/2)
		straight()
		arc(other(h), math.Pi)
		straight()
		arc(other(h), math.Pi/2)
	})
	part(h, func() {
		arc(h, math.Pi/2)
		straight()
		arc(h, math.Pi-sweep)
	})
	c.onTrack = true
	return true
}
