package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
)

// Where the line goes between the acts: from wherever pending ends to the next letter, along
// the track, down a line begun before, or straight.

const (
	nearLetter = 0.8 // metres: on a line through a letter
	atLetter   = 1.0 // metres: standing at a letter already
	shortSide  = 34  // metres: "H-M" is ridden round the short side, not across
)

// point returns where the rider's body passes a letter: on the track for letters on the
// boards. Unknown letters are reported once and give the nearest sensible place.
func (c *compiler) point(letter string) (arena.Point, bool) {
	p, ok := c.board.Letter(letter)
	if !ok {
		return arena.Point{}, false
	}
	x := math.Max(-c.track.hw, math.Min(c.track.hw, p.X))
	y := math.Max(c.track.y0, math.Min(c.track.y1, p.Y))
	return arena.Point{X: x, Y: y}, true
}

// known keeps the letters this arena has and reports the others.
func (c *compiler) known(p *sheet.Place) []string {
	var out []string
	for _, l := range p.Letters {
		if _, ok := c.board.Letter(l); ok {
			out = append(out, l)
			continue
		}
		c.problem(p.Pos, sheet.Error, "letters: A K E H C M B F D X G", "the 20 x %g arena has no letter %s", float64(c.board.Length), l)
	}
	return out
}

func (c *compiler) onBoards(letter string) bool {
	s, ok := c.board.SideOf(letter)
	return ok && s != arena.OnCentreLine
}

// goLetter rides to a letter: along what is pending when the letter lies on it, else on.
func (c *compiler) goLetter(l string) {
	q, ok := c.point(l)
	if !ok {
		return
	}
	if c.lineFirst(l, q) {
		c.flush()
	}
	if d, ok := c.findPending(q, nearLetter, false); ok && !(d < 0.3 && c.acts[c.k].first && !staying[c.acts[c.k].Kind]) {
		c.ride(d)
		return
	}
	if c.circleLetter(l, q) {
		return
	}
	c.flush()
	c.reach(l)
	c.flush()
}

// reach pushes the line from the end of pending to a letter.
func (c *compiler) reach(l string) {
	q, _ := c.point(l)
	if len(c.ridden)+len(c.pending) == 0 && !c.begun() {
		c.startAt(l)
		return
	}
	if c.isHere(q) || c.justPast(q) {
		return
	}
	if c.perp {
		c.leavePerp(l)
	}
	switch {
	case c.onTrack && c.onBoards(l):
		c.followTo(q)
	case c.onTrack:
		c.fromTrackInward(l, q)
	case c.isAhead(q):
		c.straightJoin(l, q)
	case c.onBoards(l):
		c.joinTowards(l)
		c.reach(l)
	default:
		c.direct(l)
	}
}

func (c *compiler) begun() bool { return c.started }

// followTo pushes the track to q on the rein.
func (c *compiler) followTo(q arena.Point) {
	u := c.track.metre(c.at)
	d := c.track.between(u, c.track.metre(q), c.rein)
	if d > c.track.total()-1 { // a little past it: already there
		return
	}
	c.follow(d)
}

// follow pushes d metres of the track.
func (c *compiler) follow(d float64) {
	u := c.track.metre(c.at)
	for _, q := range c.track.stops(u, d, c.rein) {
		c.straightTo(q, c.radius(), nil)
	}
	c.facing = c.track.heading(c.track.metre(c.at), c.rein)
}

// straightJoin pushes the straight to q and takes the track there when it is on the boards.
func (c *compiler) straightJoin(l string, q arena.Point) {
	c.straightTo(q, c.radius(), nil)
	if c.onBoards(l) {
		c.arrive()
	}
}

// arrive settles where a line has met the track: squarely, or slanting into the rein it points to.
func (c *compiler) arrive() {
	u := c.track.metre(c.at)
	in := c.track.inward(u)
	if square := -c.facing.Unit().Dot(in.Unit()); square > 0.95 {
		c.perp, c.onTrack = true, false
		return
	}
	c.takeTrack(c.slant())
}

// slant is the rein that the line's direction points to.
func (c *compiler) slant() Hand {
	left := c.track.heading(c.track.metre(c.at), Left)
	if c.facing.Unit().Dot(left.Unit()) >= 0 {
		return Left
	}
	return Right
}

func (c *compiler) takeTrack(rein Hand) {
	c.perp, c.onTrack, c.rein = false, true, rein
	c.facing = c.track.heading(c.track.metre(c.at), rein)
	c.wish = NoHand
}

// leavePerp turns at the boards to the side that the sheet shows next.
func (c *compiler) leavePerp(l string) {
	h := c.wish
	if h == NoHand {
		h = c.handTowards(l)
	}
	c.takeTrack(h)
}

// handTowards is the rein on which the letter is reached sooner.
func (c *compiler) handTowards(l string) Hand {
	q, ok := c.point(l)
	if !ok || !c.onBoards(l) {
		return c.otherIf(false)
	}
	u, v := c.track.metre(c.at), c.track.metre(q)
	dl, dr := c.track.between(u, v, Left), c.track.between(u, v, Right)
	if math.Abs(dl-dr) < 1 {
		return c.otherIf(false)
	}
	if dl < dr {
		return Left
	}
	return Right
}

// otherIf returns the present rein, or the other one; left when none is set.
func (c *compiler) otherIf(change bool) Hand {
	r := c.rein
	if r == NoHand {
		r = Left
	}
	if change {
		return other(r)
	}
	return r
}

func other(h Hand) Hand {
	if h == Left {
		return Right
	}
	if h == Right {
		return Left
	}
	return NoHand
}

// joinTowards rides straight on to the boards and turns towards a letter.
func (c *compiler) joinTowards(l string) {
	hit := c.track.hit(c.at, c.facing)
	if float64(hit.Dist(c.at)) > 0.01 {
		c.straightTo(hit, c.radius(), nil)
	}
	c.arrive()
	if c.perp {
		c.leavePerp(l)
	}
}

// fromTrackInward leaves the track for a letter on the centre line: across from the letter
// beside it, or down the centre line from A or C.
func (c *compiler) fromTrackInward(l string, q arena.Point) {
	u := c.track.metre(c.at)
	p := c.track.point(u)
	if math.Abs(p.Y-q.Y) < 0.5 || math.Abs(p.X) < 0.5 {
		c.facing, c.onTrack = c.track.inward(u), false
		c.straightTo(q, c.radius(), nil)
		return
	}
	end := "A"
	a, _ := c.point("A")
	b, _ := c.point("C")
	if c.track.between(u, c.track.metre(b), c.rein) < c.track.between(u, c.track.metre(a), c.rein) {
		end = "C"
	}
	c.say("Ride to %s, turn down the centre line to %s.", end, l)
	e, _ := c.point(end)
	c.followTo(e)
	c.facing, c.onTrack = c.track.inward(c.track.metre(c.at)), false
	c.straightTo(q, c.radius(), nil)
}

// direct pushes the straight line to a letter from wherever the line is.
func (c *compiler) direct(l string) {
	q, _ := c.point(l)
	if c.isHere(q) {
		return
	}
	if e, ok := c.last(); ok && c.onTrack && math.Abs(float64(c.facing.Diff(e.endHeading()))) > 0.3 {
		// come to the track and off again: touch it for a horse's length
		c.push(elem{start: c.at, heading: c.facing, length: 2.5})
	}
	c.warnBehind(l, q)
	c.perp, c.onTrack = false, false
	c.straightTo(q, c.radius(), nil)
	if c.onBoards(l) {
		c.arrive()
	}
}

// warnBehind says so where the next letter lies behind the horse and no turn is asked.
func (c *compiler) warnBehind(l string, q arena.Point) {
	turn := math.Abs(q.Sub(c.at).Heading().Diff(c.facing).Deg())
	if len(c.ridden) > 0 && turn > 120 {
		a := c.acts[c.k]
		if c.onTrack && math.Abs(c.at.X) > 1 && c.onTrackLetter() != "" {
			c.problem(a.Pos, sheet.Error, "change the rein first, or name another line", "%s lies behind at %s; this line starts on the %s rein, but the horse is on the %s rein", l, c.onTrackLetter(), other(c.rein), c.rein)
			c.also(c.reinAt)
			return
		}
		c.problem(a.Pos, sheet.Warning, "ask the turn, or check the side of the figure before", "%s lies behind the horse; a turn of %.0f degrees is ridden that the sheet does not ask", l, turn)
	}
}

// leg pushes the way to the next letter of a route: on along the track where the route runs
// that way, straight otherwise.
func (c *compiler) leg(l string) {
	q, ok := c.point(l)
	if !ok || c.isHere(q) {
		return
	}
	if c.perp {
		c.leavePerp(l)
	}
	d := c.track.between(c.track.metre(c.at), c.track.metre(q), c.rein)
	if c.onTrack && c.onBoards(l) && (d < shortSide || !c.acrossFrom(q)) {
		if d > c.track.total()*0.75 {
			c.wrongWay(l)
			return
		}
		c.followTo(q)
		return
	}
	if !c.onTrack && c.isAhead(q) {
		c.straightJoin(l, q)
		return
	}
	c.direct(l)
}

// wrongWay reports a route against the rein.
func (c *compiler) wrongWay(l string) {
	near, _ := c.board.NearestLetter(c.at)
	a := c.acts[c.k]
	c.problem(a.Pos, sheet.Error, "change the rein first, or name the letters the other way round",
		"%s to %s is ridden on the %s rein, but the horse is on the %s rein", near, l, other(c.rein), c.rein)
	c.also(c.reinAt)
	if c.sheetThinks(NoHand) == other(c.rein) {
		c.turnAbout()
	}
	if q, ok := c.point(l); ok && c.onTrack {
		c.followTo(q)
	}
}

// pushOn continues d metres ahead: along the track, or straight but not into the boards.
func (c *compiler) pushOn(d float64) {
	if c.perp {
		c.leavePerp("")
	}
	if c.onTrack {
		c.follow(d)
		return
	}
	hit := c.track.hit(c.at, c.facing)
	room := float64(hit.Dist(c.at))
	if d < room-0.5 {
		c.straightTo(c.at.Add(c.facing.Unit().Mul(d)), c.radius(), nil)
		return
	}
	c.straightTo(hit, c.radius(), nil)
	c.arrive()
	if c.perp {
		c.leavePerp("")
	}
	if d > room {
		c.follow(d - room)
	}
}

// ensure makes pending at least d metres long.
func (c *compiler) ensure(d float64) {
	if l := c.pendingLength(); l < d {
		c.pushOn(d - l)
	}
}

// startAt begins a sheet that has no entry: at the first letter, on the rein it shows.
func (c *compiler) startAt(l string) {
	q, _ := c.point(l)
	c.at, c.started = q, true
	c.onTrack = c.onBoards(l)
	rein := c.firstRein(l)
	c.rein = rein
	if c.onTrack {
		c.facing = c.track.heading(c.track.metre(q), rein)
	} else {
		c.facing = arena.Degrees(90)
	}
	c.say("Start at %s on the %s rein.", l, rein)
}

// firstRein guesses the rein of an exercise from its header, its first routes and hands.
func (c *compiler) firstRein(l string) Hand {
	if h, ok := c.file.Header("rein"); ok && (h.Value == "left" || h.Value == "right") {
		return Hand(h.Value)
	}
	for _, a := range c.acts {
		if a.At != nil && a.At.Kind == sheet.Route && c.onBoards(a.At.Letters[0]) && c.onBoards(a.At.Letters[1]) {
			if r := c.routeRein(a.At.Letters[0], a.At.Letters[1]); r != NoHand {
				return r
			}
		}
		switch a.Kind {
		case "circle", "volte", "half circle", "shoulder-in", "travers", "track", "turn", "pace", "turn on the haunches", "half pirouette":
			if a.Hand != "" {
				return Hand(a.Hand)
			}
			if a.Lead != "" {
				return Hand(a.Lead)
			}
		}
	}
	return Left
}

// routeRein is the rein on which two letters of one side follow each other, NoHand when they
// lie across.
func (c *compiler) routeRein(a, b string) Hand {
	p, ok1 := c.point(a)
	q, ok2 := c.point(b)
	if !ok1 || !ok2 || math.Abs(p.X-q.X) > c.track.hw*1.5 {
		return NoHand
	}
	u, v := c.track.metre(p), c.track.metre(q)
	if c.track.between(u, v, Left) < c.track.total()/2 {
		return Left
	}
	return Right
}
