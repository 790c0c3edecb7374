package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// takeSide is "track left": the turn onto the track where a line meets the boards.
func (c *compiler) takeSide(a actRef, arr arrival) {
	h := Hand(a.Hand)
	if h == NoHand && a.Lead != "" {
		h = Hand(a.Lead)
	}
	if c.onTrack {
		if h != NoHand {
			c.checkRein(a, h)
		}
		c.say("On the track, %s rein.", c.rein)
		c.routeOn(a, arr)
		return
	}
	if h == NoHand {
		h = c.sideFromNext()
	}
	from := c.here()
	if !c.perp {
		c.straightTo(c.track.hit(c.at, c.facing), c.radius(), nil)
		c.arrive()
	}
	if !c.perp && c.slant() != h && len(c.pending) > 0 {
		c.problem(a.Pos, sheet.Warning, "", "the line meets the track on the %s rein; turning %s there is a sharp turn back", c.slant(), h)
	}
	c.takeTrack(h)
	c.reinAt = a.Pos
	l := firstLetter(a)
	if l == "" {
		l, _ = c.board.NearestLetter(c.at)
	}
	c.figure(terms.Track, from, c.ahead(c.pendingLength()), Figure{At: l, Hand: h})
	c.say("Turn %s onto the track%s: %s rein.", h, atLetterWords(l), h)
	c.routeOn(a, arr)
}

// trackBehind reports a track taken at a letter that the line ridden has left behind; the track
// is then taken where the line meets it.
func (c *compiler) trackBehind(a actRef) actRef {
	if a.Kind != "track" || c.onTrack || c.perp || len(c.pending) > 0 || a.At == nil || a.At.Kind != sheet.At || len(a.At.Letters) != 1 || c.k == 0 {
		return a
	}
	l := a.At.Letters[0]
	q, ok := c.point(l)
	if !ok || !c.onBoards(l) || q.Sub(c.at).Dot(c.facing.Unit()) > -1 && !(c.isHere(q) && !c.halted && c.movedFrom(q)) {
		return a
	}
	meets, _ := c.board.NearestLetter(c.track.hit(c.at, c.facing))
	c.problem(a.Pos, sheet.Error, meets, "the track cannot be taken at %s, which lies behind; the line meets it at %s", l, meets)
	c.also(c.acts[c.k-1].Pos)
	a.At = nil
	return a
}

// movedFrom reports whether the horse faces away from the boards at q.
func (c *compiler) movedFrom(q arena.Point) bool {
	return c.track.isOn(q) && c.facing.Unit().Dot(c.track.inward(c.track.metre(q)).Unit()) > 0.9
}

// sideFromNext is the side that the next letters of the sheet show.
func (c *compiler) sideFromNext() Hand {
	for n := 1; n < 4; n++ {
		b, ok := c.peek(n)
		if !ok {
			break
		}
		if b.At == nil || len(b.At.Letters) == 0 || !c.onBoards(b.At.Letters[0]) {
			continue
		}
		keep := c.at
		hit := c.track.hit(c.at, c.facing)
		if c.perp {
			hit = c.at
		}
		c.at = hit
		h := c.handTowards(b.At.Letters[0])
		c.at = keep
		return h
	}
	return c.otherIf(false)
}

// routeOn rides the rest of a route after a turn.
func (c *compiler) routeOn(a actRef, arr arrival) {
	for _, l := range arr.route {
		c.leg(l)
	}
	if a.To != nil && len(arr.route) == 0 {
		for _, l := range c.known(a.To) {
			c.leg(l)
		}
	}
}

// turn leaves the track across the arena, or takes the track at the end of such a line.
func (c *compiler) turn(a actRef, arr arrival) {
	if b, ok := c.peek(1); ok && b.Kind == "quarter line" && b.At == nil && b.mov == a.mov && b.part == a.part {
		return // "turn left down the quarter line": the turn is at the line
	}
	if toQuarterLine(a) {
		a.To = nil
		c.quarterLine(a, arr)
		return
	}
	c.flush()
	h := Hand(a.Hand)
	if len(arr.route) > 0 && c.onTrack && h != NoHand && c.sideRoute(a, arr, h) {
		return
	}
	switch {
	case c.perp, !c.onTrack && a.At == nil:
		c.takeSide(a, arr)
		return
	case !c.onTrack:
		c.turnInside(a, h)
	default:
		if a.At == nil && a.Kind == "turn across" {
			c.nextSideLetter()
		}
		c.turnAcross(a, h)
	}
	c.routeOn(a, arr)
}

func toQuarterLine(a actRef) bool {
	return a.Kind == "quarter line" || a.Kind == "turn" && a.To != nil && a.To.Line == "quarter line"
}

// sideRoute reads "K-A turn left" as riding on along the track.
func (c *compiler) sideRoute(a actRef, arr arrival, h Hand) bool {
	q, _ := c.point(arr.route[0])
	if c.acrossFrom(q) || !c.onBoards(arr.route[0]) || h != c.rein {
		return false
	}
	c.routeOn(a, arr)
	return true
}

// nextSideLetter rides on to E or B.
func (c *compiler) nextSideLetter() {
	u := c.track.metre(c.at)
	e, _ := c.point("E")
	b, _ := c.point("B")
	if c.track.between(u, c.track.metre(e), c.rein) < c.track.between(u, c.track.metre(b), c.rein) {
		c.followTo(e)
	} else {
		c.followTo(b)
	}
	c.flush()
}

// turnAcross turns square off the track.
func (c *compiler) turnAcross(a actRef, h Hand) {
	if h != NoHand && h != c.rein {
		c.checkRein(a, h)
	}
	u := c.track.metre(c.at)
	from := c.here()
	c.facing, c.onTrack = c.track.inward(u), false
	l := c.letterAt(a)
	c.wish = NoHand
	kind := terms.TurnAcross
	if math.Abs(c.at.X) < 0.5 {
		kind = terms.CentreLine
	}
	hit := c.track.hit(c.at, c.facing)
	c.figure(kind, from, c.ahead(float64(hit.Dist(c.at))), Figure{At: l, Hand: c.rein})
	c.say("Turn %s off the track at %s.", c.rein, l)
}

// turnInside turns by a right angle on a line inside the arena.
func (c *compiler) turnInside(a actRef, h Hand) {
	if h == NoHand {
		h = c.sideFromNext()
	}
	turn := arena.Degrees(90)
	if h == Right {
		turn = -turn
	}
	c.facing = (c.squareHeading() + turn).Norm()
	c.figure(terms.TurnAcross, c.here(), c.ahead(float64(c.track.hit(c.at, c.facing).Dist(c.at))), Figure{At: c.letterAt(a), Hand: h})
	c.say("Turn %s%s.", h, spaced(placeWords(a.At)))
}

// squareHeading is the facing rounded to the sides of the arena.
func (c *compiler) squareHeading() arena.Angle {
	return arena.Degrees(math.Round(c.facing.Deg()/90) * 90)
}

// centreLine turns onto the centre line.
func (c *compiler) centreLine(a actRef, arr arrival) {
	l := firstLetter(a)
	if l == "" && c.onTrack {
		c.toNextEnd()
	}
	c.flush()
	if c.perp && math.Abs(c.at.X) > 1 { // "B turn, centre line": met while crossing
		c.leavePerp("")
	}
	switch {
	case c.onTrack && math.Abs(c.at.X) > 1:
		c.turnAcross(a, Hand(a.Hand))
	case c.onTrack || c.perp:
		c.upCentre(a)
	case math.Abs(c.at.X) < 0.5 && math.Abs(c.facing.Unit().X) > 0.9 && a.Hand != "":
		c.turnInside(a, Hand(a.Hand))
	default:
		c.say("On the centre line.")
	}
	c.routeOn(a, arr)
}

func (c *compiler) toNextEnd() {
	u := c.track.metre(c.at)
	qa, _ := c.point("A")
	qc, _ := c.point("C")
	if c.track.between(u, c.track.metre(qa), c.rein) < c.track.between(u, c.track.metre(qc), c.rein) {
		c.followTo(qa)
	} else {
		c.followTo(qc)
	}
}

func (c *compiler) upCentre(a actRef) {
	if h := Hand(a.Hand); h != NoHand && c.onTrack {
		c.checkRein(a, h)
	}
	from := c.here()
	c.facing, c.onTrack, c.perp = c.track.inward(c.track.metre(c.at)), false, false
	l, _ := c.board.NearestLetter(c.at)
	end := c.ahead(float64(c.track.hit(c.at, c.facing).Dist(c.at)))
	if s, ok := c.nextOnLine(); ok {
		end = c.ahead(s)
	}
	c.figure(terms.CentreLine, from, end, Figure{At: l, Hand: c.rein})
	c.say("Turn %s down the centre line at %s.", c.otherIf(false), l)
}

// nextOnLine is the distance to the next place of the sheet on the line ahead.
func (c *compiler) nextOnLine() (float64, bool) {
	for n := 1; n < 5; n++ {
		b, ok := c.peek(n)
		if !ok || b.At == nil || len(b.At.Letters) == 0 {
			continue
		}
		q, ok := c.point(b.At.Letters[0])
		if ok && c.isAhead(q) {
			return float64(q.Dist(c.at)), true
		}
		return 0, false
	}
	return 0, false
}

// quarterLine turns down the quarter line after the letter.
func (c *compiler) quarterLine(a actRef, arr arrival) {
	c.flush()
	if !c.onTrack {
		c.say("On the quarter line.")
		return
	}
	u := c.track.metre(c.at)
	q := float64(c.board.Width) / 4
	best := math.Inf(1)
	for _, x := range []float64{-q, q} {
		for _, y := range []float64{c.track.y0, c.track.y1} {
			if d := c.track.between(u, c.track.metre(arena.Point{X: x, Y: y}), c.rein); d > 0.5 && d < best {
				best = d
			}
		}
	}
	c.follow(best)
	c.flush()
	from := c.here()
	c.facing, c.onTrack = c.track.inward(c.track.metre(c.at)), false
	c.figure(terms.Straight, from, c.ahead(float64(c.track.hit(c.at, c.facing).Dist(c.at))), Figure{At: c.letterAt(a), Hand: c.rein})
	c.say("Turn %s down the quarter line.", c.rein)
	c.routeOn(a, arr)
}

// diagonals are the long diagonals by the letter where they begin.
var diagonals = map[string]string{"M": "K", "K": "M", "H": "F", "F": "H"}

// changeRein rides the diagonal, or whatever line the letters name.
func (c *compiler) changeRein(a actRef, arr arrival) {
	route := arr.route
	if a.To != nil {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	if len(route) == 0 && a.At == nil && c.diagonalBegun(a) {
		return // "R-V lengthened strides across the diagonal"
	}
	if len(route) == 0 && a.At == nil && c.turnedAcross(a) {
		return // "B-E turn right, change the rein": the turn across is the change
	}
	if len(route) == 0 && a.At == nil {
		c.flush()
		c.toNextCorner()
	}
	start := c.letterAt(a)
	if len(route) == 0 {
		route = c.defaultDiagonal(a, start)
		if route == nil {
			return
		}
	}
	if math.Abs(c.at.X) < 1 && c.onTrack && (route[len(route)-1] == "A" || route[len(route)-1] == "C") {
		c.alongCentre(a, route)
		return
	}
	before := c.rein
	from := c.here()
	c.flush()
	for _, l := range route {
		if s, _ := c.board.SideOf(l); c.onTrack && s != arena.OnCentreLine && !c.farSide(l) {
			c.leg(l)
		} else {
			c.direct(l)
		}
	}
	if c.perp {
		c.wish = other(before)
	} else if c.onTrack && c.rein == before && before != NoHand {
		c.noChange(a, route)
	}
	c.reinAt = a.Pos
	end := route[len(route)-1]
	c.figure(terms.Diagonal, from, c.ahead(c.pendingLength()), Figure{At: start, To: end, Asked: arena.Metres(c.pendingLength())})
	if k := kindOfPace(c.variety); k != terms.Pace {
		c.figure(k, from, c.ahead(c.pendingLength()), Figure{At: start, To: end})
	}
	c.longer = isLonger(c.variety)
	c.say("Change the rein from %s to %s in %s.", start, end, c.variety)
}

// noChange reports a change of rein whose letters keep the rein, and goes on on the rein that
// the sheet shows next.
func (c *compiler) noChange(a actRef, route []string) {
	words := placeWords(a.At)
	if a.To != nil {
		words += " to " + route[len(route)-1]
	}
	if n := len(c.plan.Problems); n > 0 && c.plan.Problems[n-1].Pos == a.Pos && c.plan.Problems[n-1].Severity == sheet.Warning {
		c.plan.Problems = c.plan.Problems[:n-1] // the turn back on the way is this same slip
	}
	c.problem(a.Pos, sheet.Error, "name a letter on the other side, such as M-X-K", "%s does not change the rein; it stays %s", words, c.rein)
	if a.To != nil {
		c.also(a.To.Pos)
	} else if a.At != nil {
		c.also(a.At.Pos)
	}
	if c.sheetThinks(NoHand) == other(c.rein) {
		c.turnAbout()
	}
}

// diagonalBegun reports whether the act before, of the same line, already rides a diagonal.
func (c *compiler) diagonalBegun(a actRef) bool {
	if c.k == 0 {
		return false
	}
	b := c.acts[c.k-1]
	if b.mov != a.mov || b.part != a.part {
		return false
	}
	for _, d := range c.drafts {
		if d.mov == a.mov && d.Kind == terms.Diagonal && d.pos == b.Pos {
			return true
		}
	}
	return false
}

// turnedAcross reports whether the act before, of the same line, turned across the arena; the
// rein changes where that line meets the boards.
func (c *compiler) turnedAcross(a actRef) bool {
	if c.k == 0 || c.onTrack && !c.perp {
		return false
	}
	b := c.acts[c.k-1]
	if b.Kind != "turn" && b.Kind != "turn across" && b.Kind != "centre line" || b.mov != a.mov || b.part != a.part {
		return false
	}
	c.wish = other(c.rein)
	c.reinAt = a.Pos
	c.say("The rein changes where the line meets the track: %s rein.", c.wish)
	return true
}

func (c *compiler) farSide(l string) bool {
	q, _ := c.point(l)
	return c.acrossFrom(q)
}

// toNextCorner rides to the next letter from which a long diagonal starts ahead.
func (c *compiler) toNextCorner() {
	u := c.track.metre(c.at)
	names := []string{"F", "H"}
	if c.rein == Right {
		names = []string{"K", "M"}
	}
	best, bl := math.Inf(1), ""
	for _, l := range names {
		q, _ := c.point(l)
		if d := c.track.between(u, c.track.metre(q), c.rein); d < best {
			best, bl = d, l
		}
	}
	c.leg(bl)
	c.flush()
	c.say("No letter is given; the diagonal starts at %s.", bl)
}

// defaultDiagonal is the line meant by "M change rein": the long diagonal from a corner
// letter that has it ahead, else the short one to the far corner letter.
func (c *compiler) defaultDiagonal(a actRef, start string) []string {
	if a.Kind != "half arena" {
		if to, ok := diagonals[start]; ok && c.headsToward(to) {
			return []string{"X", to}
		}
	} else if _, ok := diagonals[start]; ok {
		if start == "M" || start == "F" {
			return []string{"E"}
		}
		return []string{"B"}
	}
	if math.Abs(c.at.X) > 1 && c.onTrack {
		for _, l := range []string{"K", "M", "H", "F"} {
			q, _ := c.point(l)
			if c.acrossFrom(q) && c.headsToward(l) {
				c.say("The far letter is not given; %s is taken.", l)
				return []string{l}
			}
		}
	}
	c.problem(a.Pos, sheet.Error, "KXM change rein", "from where to where the rein is changed is not clear")
	return nil
}

func (c *compiler) headsToward(l string) bool {
	q, ok := c.point(l)
	return ok && q.Sub(c.at).Dot(c.facing.Unit()) > 1
}

// lengthChange changes the rein down the centre line.
func (c *compiler) lengthChange(a actRef, arr arrival) {
	route := arr.route
	if a.At == nil {
		c.toNextEnd()
		c.flush()
	}
	if len(route) == 0 {
		route = []string{"C"}
		if c.at.Y > float64(c.board.Length)/2 {
			route = []string{"A"}
		}
	}
	c.alongCentre(a, route)
}

func (c *compiler) alongCentre(a actRef, route []string) {
	before := c.rein
	from := c.here()
	c.flush()
	if c.onTrack {
		c.facing, c.onTrack = c.track.inward(c.track.metre(c.at)), false
	}
	for _, l := range route {
		c.leg(l)
	}
	c.wish = other(before)
	c.reinAt = a.Pos
	c.figure(terms.CentreLine, from, c.ahead(c.pendingLength()), Figure{At: c.letterAt(a), To: route[len(route)-1]})
	c.say("Down the centre line to %s, then the %s rein.", route[len(route)-1], c.wish)
}

// straightness of a pace: used where a figure needs the horse's canter.
func (c *compiler) inCanter() bool { return c.variety.PaceOf() == gait.Canter }
