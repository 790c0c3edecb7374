package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// Sideways angles of work along a line (FEI text as printed by national bodies: shoulder-in
// about 30 degrees, travers and renvers about 35, leg-yield along the wall about 35).
var lateralAngle = map[string]float64{"shoulder-in": 30, "shoulder-out": 30, "travers": 35, "renvers": 35, "leg-yield": 35}

var lateralKind = map[string]terms.Kind{"shoulder-in": terms.ShoulderIn, "shoulder-out": terms.ShoulderOut, "travers": terms.Travers,
	"renvers": terms.Renvers, "half-pass": terms.HalfPass, "leg-yield": terms.LegYield}

// alongStance is how the body stands in work along a line. Shoulder-in and -out: bent to the
// named side, forehand on that side of the line. Travers and renvers: bent to the named side
// too, but the quarters are there and the forehand on the other.
func alongStance(kind string, h Hand) *lateral {
	l := &lateral{kind: kind, hand: h, bend: h, side: h, angle: arena.Degrees(lateralAngle[kind])}
	switch kind {
	case "travers", "renvers":
		l.side = other(h)
	case "leg-yield": // head to the wall or tail to the wall: slight flexion away from travel
		l.bend, l.side = other(h), other(h)
	}
	return l
}

// pivot is the part of the body that stays on the line, metres ahead of the rider's body.
func (l *lateral) pivot() arena.Metres {
	switch l.kind {
	case "shoulder-in", "renvers":
		return -arena.Metres(value("hind_legs_m"))
	case "travers", "shoulder-out":
		return arena.Metres(value("fore_legs_m"))
	}
	return 0
}

// alongAct rides shoulder-in, travers and the like along the track or a line.
func (c *compiler) alongAct(a actRef, arr arrival) {
	c.flush()
	h := c.alongHand(a)
	if c.onTrack && math.Abs(c.at.X) < 1 && len(arr.route) == 0 && a.To == nil && a.SizeM == 0 {
		c.toNextSide() // "C shoulder-in": along the side after the corner
		c.flush()
		a.At = nil
	}
	from := c.here()
	start := c.letterAt(a)
	if c.perp {
		c.leavePerp("")
	}
	n := len(c.pending)
	end := c.alongEnd(a, arr)
	l := alongStance(a.Kind, h)
	for i := n; i < len(c.pending); i++ {
		c.pending[i].lat = l
	}
	c.figure(lateralKind[a.Kind], from, c.ahead(c.pendingLength()), Figure{At: start, To: end, Hand: h, Bend: l.bend, Angle: l.angle})
	c.say("%s %s from %s to %s.", sentence(a.Kind), h, start, end)
}

// alongHand is the named side, or the inside (the outside for renvers and shoulder-out).
func (c *compiler) alongHand(a actRef) Hand {
	h := Hand(a.Hand)
	inside := c.rein
	if a.Kind == "renvers" || a.Kind == "shoulder-out" {
		inside = other(inside)
	}
	if a.Kind == "leg-yield" && h != NoHand {
		return h
	}
	if h == NoHand && inside == NoHand {
		return Left
	}
	if h == NoHand {
		return inside
	}
	if c.onTrack && inside != NoHand && h != inside && (a.Kind == "renvers" || a.Kind == "shoulder-out") {
		c.problem(a.Pos, sheet.Note, string(inside), "%s on the %s rein is read as bent %s", a.Kind, c.rein, inside)
		return inside
	}
	if c.onTrack && inside != NoHand && h != inside {
		c.problem(a.Pos, sheet.Error, string(inside), "%s %s is asked on the %s rein; there it is %s", a.Kind, h, c.rein, inside)
		c.also(c.reinAt)
	}
	return h
}

// alongEnd pushes the line of the movement and names where it ends.
func (c *compiler) alongEnd(a actRef, arr arrival) string {
	route := arr.route
	if a.To != nil && a.To.Line == "" {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	if len(route) > 0 {
		for _, l := range route {
			c.leg(l)
		}
		return route[len(route)-1]
	}
	if a.SizeM > 0 {
		c.pushOn(a.SizeM)
		return ""
	}
	if b, ok := c.peek(1); ok && b.At != nil && len(b.At.Letters) > 0 && b.At.Kind != sheet.Before {
		l := b.At.Letters[0]
		if q, ok := c.point(l); ok && c.plainAhead(q) {
			c.leg(l)
			c.say("The end is not given; the next letter, %s, is taken.", l)
			return l
		}
	}
	if !c.onTrack {
		c.pushOn(math.Max(2, float64(c.track.hit(c.at, c.facing).Dist(c.at))-6))
		return ""
	}
	l := c.sideEnd()
	c.leg(l)
	c.say("The end is not given; the end of the side, %s, is taken.", l)
	return l
}

// toNextSide rides through the corner to the first letter of the long side ahead.
func (c *compiler) toNextSide() {
	u, best := c.track.metre(c.at), math.Inf(1)
	for _, l := range []string{"F", "M", "H", "K"} {
		q, _ := c.point(l)
		if d := c.track.between(u, c.track.metre(q), c.rein); d > 1 && d < best {
			best = d
		}
	}
	c.follow(best)
}

// plainAhead reports whether q is ahead on this side or on this straight.
func (c *compiler) plainAhead(q arena.Point) bool {
	v := q.Sub(c.at)
	return v.Dot(c.facing.Unit()) > 4 && math.Abs(c.facing.Unit().Cross(v)) < 0.6
}

// sideEnd is the last letter of the side ridden along.
func (c *compiler) sideEnd() string {
	best, bd := "", 0.0
	for _, l := range c.board.Letters() {
		q, _ := c.point(l)
		if d := q.Sub(c.at).Dot(c.facing.Unit()); c.onBoards(l) && c.plainAhead(q) && d > bd {
			best, bd = l, d
		}
	}
	if best == "" {
		best = "A"
		if c.at.Y > float64(c.board.Length)/2 && c.facing.Unit().Y < 0.5 {
			best = "C"
		}
	}
	return best
}

// obliqueAct rides half-pass and leg-yield: sideways and forward to a letter or a line.
func (c *compiler) obliqueAct(a actRef, arr arrival) {
	if a.Count > 1 && a.Unit != "steps" || len(a.List) > 0 {
		c.zigZag(a, arr)
		return
	}
	c.flush()
	if a.At == nil {
		c.straighten()
	}
	route := arr.route
	if n := len(route); n > 0 && a.Kind == "leg-yield" && c.onTrack {
		if q, ok := c.point(route[n-1]); ok && math.Abs(q.X-c.at.X) < 1 && math.Abs(c.at.X) > 1 {
			c.alongAct(a, arr) // along the wall
			return
		}
	}
	if len(route) > 1 {
		for _, l := range route[:len(route)-1] { // "A-D-H": up to where it starts
			c.leg(l)
		}
		c.flush()
		route = route[len(route)-1:]
	}
	if c.perp {
		c.leavePerp("")
	}
	body := c.bodyHeading()
	q, end, ok := c.obliqueTarget(a, route, body)
	if !ok {
		c.problem(a.Pos, sheet.Error, "half-pass right K-X", "where the %s leads is not clear", a.Kind)
		return
	}
	start := c.letterAt(a)
	if c.noSideRoom(a, q, start, end) {
		if q.Sub(c.at).Dot(body.Unit()) > 1 {
			c.straightJoin(end, q)
		}
		return
	}
	body = c.obliqueRein(a, q, body, start, end)
	h := c.obliqueHand(a, q, body, start, end)
	c.checkOblique(a, q, body, start, end)
	c.againstLead(a, h)
	from := c.here()
	c.pushOblique(a, q, body, h, from, start, end)
}

// straighten rides out of a turn and a horse's length straight on, before work to the side.
func (c *compiler) straighten() {
	n := len(c.ridden)
	c.pastTurn()
	if len(c.ridden) > n {
		c.pushOn(value("before_m"))
		c.flush()
	}
}

func (c *compiler) pushOblique(a actRef, q arena.Point, body arena.Angle, h Hand, from mark, start, end string) {
	l := &lateral{kind: a.Kind, hand: h, bend: h, side: other(h), parallel: true, body: body}
	if a.Kind == "leg-yield" {
		l.bend = other(h)
	}
	angle := q.Sub(c.at).Heading().Diff(body)
	c.onTrack = false
	n := len(c.pending)
	c.straightTo(q, 3, l)
	for i := n; i < len(c.pending); i++ {
		c.pending[i].lat = l
	}
	c.facing = body
	if c.track.isOn(c.at) {
		c.takeTrack(c.slantOf(body))
		c.reinAt = a.Pos
	}
	c.figure(lateralKind[a.Kind], from, c.ahead(c.pendingLength()), Figure{At: start, To: end, Hand: h, Bend: l.bend, Angle: arena.Angle(math.Abs(float64(angle)))})
	c.say("%s %s from %s to %s, %.0f degrees to the side.", sentence(a.Kind), h, start, end, math.Abs(angle.Deg()))
}

// bodyHeading is the direction the body keeps: along the long side, the way it is facing.
func (c *compiler) bodyHeading() arena.Angle {
	h := c.facing
	if math.Abs(h.Unit().Y) < 0.2 { // on a short side or across: the way into the arena
		if c.at.Y > float64(c.board.Length)/2 {
			return arena.Degrees(-90)
		}
		return arena.Degrees(90)
	}
	return arena.Angle(math.Copysign(math.Pi/2, h.Unit().Y))
}

// obliqueTarget is the point a half-pass or leg-yield leads to.
func (c *compiler) obliqueTarget(a actRef, route []string, body arena.Angle) (arena.Point, string, bool) {
	if len(route) > 0 {
		q, ok := c.point(route[0])
		return q, route[0], ok
	}
	if a.To != nil && len(a.To.Letters) > 0 && a.To.Line == "track" {
		a.To.Line = ""
	}
	if a.To != nil && len(a.To.Letters) > 0 && a.To.Line == "" {
		ls := c.known(a.To)
		if len(ls) == 0 {
			return arena.Point{}, "", false
		}
		q, _ := c.point(ls[0])
		return q, ls[0], true
	}
	if b, ok := c.peek(1); ok && b.At != nil && a.To == nil && len(b.At.Letters) > 0 && a.SizeM == 0 {
		if q, ok := c.point(b.At.Letters[0]); ok && c.obliqueFits(q, body) {
			return q, b.At.Letters[0], true
		}
	}
	return c.obliqueLine(a, body)
}

// obliqueFits reports whether q is ahead and to the side at a slope that is ridden.
func (c *compiler) obliqueFits(q arena.Point, body arena.Angle) bool {
	v := q.Sub(c.at)
	f, s := v.Dot(body.Unit()), math.Abs(body.Unit().Cross(v))
	return f > 3 && s > 1.5 && s/f < 1.2
}

// obliqueLine is the target on a line: the centre line, the quarter line, the track, or so
// many metres to the side, reached at the slope of a long half-pass (D-H: 10 m in 24).
func (c *compiler) obliqueLine(a actRef, body arena.Angle) (arena.Point, string, bool) {
	h := Hand(a.Hand)
	if h == NoHand {
		h = c.otherIf(false)
	}
	x, name := c.lineX(a, h, body)
	dx := x - c.at.X
	side := body.Unit().Left().X
	if h == Right {
		side = -side
	}
	if dx*side < 0.5 {
		return arena.Point{}, "", false
	}
	y := c.at.Y + body.Unit().Y*math.Abs(dx)*2.4
	if a.To != nil && len(a.To.Letters) > 0 {
		p, _ := c.point(a.To.Letters[0])
		q, _ := c.point(a.To.Letters[len(a.To.Letters)-1])
		y = (p.Y + q.Y) / 2
	} else if a.At != nil && len(c.acts) > c.k && c.acts[c.k].At != nil {
		y = c.clampY(y)
	}
	return arena.Point{X: x, Y: c.clampY(y)}, name, true
}

func (c *compiler) clampY(y float64) float64 {
	return math.Max(c.track.y0+4, math.Min(c.track.y1-4, y))
}

// lineX is x of the line named, or of the track on the side ridden to.
func (c *compiler) lineX(a actRef, h Hand, body arena.Angle) (float64, string) {
	side := body.Unit().Left().X
	if h == Right {
		side = -side
	}
	line := ""
	if a.To != nil {
		line = a.To.Line
	}
	switch {
	case line == "centre line":
		return 0, "the centre line"
	case line == "quarter line":
		q := float64(c.board.Width) / 4
		if math.Abs(c.at.X) > q && c.quarterFar(a) == 0 || c.at.X*side > 0 {
			return math.Copysign(q, c.at.X), "the quarter line"
		}
		if f := c.quarterFar(a); f != 0 {
			return f * q, "the quarter line"
		}
		return math.Copysign(q, side), "the quarter line"
	case a.SizeM > 0:
		return math.Max(-c.track.hw, math.Min(c.track.hw, c.at.X+side*a.SizeM)), "the line asked"
	case line == "" && math.Abs(c.at.X) > c.track.hw-1:
		return 0, "the centre line"
	}
	return math.Copysign(c.track.hw, side), "the track"
}

// quarterFar is the side, -1 or 1, of the quarter line that letters name, 0 when none does.
func (c *compiler) quarterFar(a actRef) float64 {
	if a.To == nil || len(a.To.Letters) == 0 {
		return 0
	}
	for _, l := range a.To.Letters {
		if p, ok := c.board.Letter(l); ok && math.Abs(p.X) > 1 {
			return math.Copysign(1, p.X)
		}
	}
	return 0
}

// obliqueHand is the side of travel; a named side that points the other way is an error.
func (c *compiler) obliqueHand(a actRef, q arena.Point, body arena.Angle, start, end string) Hand {
	h := Left
	if body.Unit().Cross(q.Sub(c.at)) < 0 {
		h = Right
	}
	if a.Hand != "" && Hand(a.Hand) != h {
		c.problem(a.Pos, sheet.Error, string(h), "%s %s from %s cannot lead to %s; that is to the %s", a.Kind, a.Hand, start, end, h)
		if a.To != nil {
			c.also(a.To.Pos)
		} else if a.At != nil {
			c.also(a.At.Pos)
		}
	}
	return h
}

// noSideRoom reports work to the side whose letters lie on one line along the arena.
func (c *compiler) noSideRoom(a actRef, q arena.Point, start, end string) bool {
	if math.Abs(q.X-c.at.X) > 1.5 {
		return false
	}
	c.problem(a.Pos, sheet.Error, "name a letter to the side, or travers or shoulder-in along the line", "%s from %s to %s has no room to the side: both lie on one line", a.Kind, start, end)
	if a.To != nil {
		c.also(a.To.Pos)
	} else if a.At != nil {
		c.also(a.At.Pos)
	}
	return true
}

// obliqueRein reports a half-pass or leg-yield off the track that starts on the other rein, and
// goes on as if the rein had been changed.
func (c *compiler) obliqueRein(a actRef, q arena.Point, body arena.Angle, start, end string) arena.Angle {
	if !c.onTrack || math.Abs(c.at.X) < 1 || c.rein == NoHand || q.Sub(c.at).Dot(body.Unit()) > -3 {
		return body
	}
	c.problem(a.Pos, sheet.Error, "change the rein first, or name another line", "%s lies behind at %s; this %s starts on the %s rein, but the horse is on the %s rein", end, start, a.Kind, other(c.rein), c.rein)
	c.also(c.reinAt)
	c.turnAbout()
	return c.bodyHeading()
}

// againstLead reports work to the side in canter that is not to the side of the lead.
func (c *compiler) againstLead(a actRef, h Hand) {
	if !c.inCanter() || c.lead == NoHand || h == c.lead || a.Kind == "leg-yield" {
		return
	}
	for n := 1; n < 4; n++ { // "half-passes left and right with a flying change at X": said after it
		if b, ok := c.peek(n); ok && b.mov == a.mov && changesLead[b.Kind] {
			return
		}
	}
	c.problem(a.Pos, sheet.Error, "begin to the "+string(c.lead)+", or change the lead first", "%s %s is asked, but the horse canters on the %s lead", a.Kind, h, c.lead)
	c.also(c.leadAt)
}

// changesLead are the acts that change the leading leg.
var changesLead = map[string]bool{"flying change": true, "simple change": true, "trot change": true, "change leg": true, "change": true}

// checkOblique reports a slope that is not ridden: over 50 degrees, or backwards. The
// steepest half-pass of published tests, K-B, is 40 degrees in 20 x 60 and 55 in 20 x 40.
func (c *compiler) checkOblique(a actRef, q arena.Point, body arena.Angle, start, end string) {
	v := q.Sub(c.at)
	f, s := v.Dot(body.Unit()), math.Abs(body.Unit().Cross(v))
	if f > 1 && math.Atan2(s, f) < float64(arena.Degrees(56)) {
		return
	}
	c.problem(a.Pos, sheet.Error, "name a letter further on", "%s from %s cannot reach %s: it lies %.0f m to the side and %.0f m ahead", a.Kind, start, end, s, f)
	if a.To != nil {
		c.also(a.To.Pos)
	} else if a.At != nil {
		c.also(a.At.Pos)
	}
}

// zigZag rides half-passes to either side of the centre line, by metres or strides.
func (c *compiler) zigZag(a actRef, arr arrival) {
	a = c.inLegYield(a)
	c.flush()
	for _, l := range arr.route {
		if q, ok := c.point(l); ok && c.isAhead(q) && l != arr.route[len(arr.route)-1] {
			c.leg(l)
		}
	}
	widths, h := c.zigWidths(a)
	body := c.bodyHeading()
	if c.onTrack {
		c.facing, c.onTrack = body, false
	}
	end := c.zigEnd(a, arr)
	forward := math.Abs(end - c.at.Y)
	total := 0.0
	for _, w := range widths {
		total += math.Abs(w)
	}
	if total <= 0 || forward < 6 {
		c.problem(a.Pos, sheet.Error, "", "there is no room for the half-passes here")
		return
	}
	if total/forward > 1.2 {
		c.problem(a.Pos, sheet.Error, "fewer or narrower half-passes", "the half-passes need %.0f m to the side in %.0f m; that is too steep", total, forward)
	}
	c.againstLead(a, h)
	c.pushZig(a, widths, forward/total, h, body)
}

// inLegYield reads "zig-zag in leg-yield" as one thing.
func (c *compiler) inLegYield(a actRef) actRef {
	b, ok := c.peek(1)
	if a.Kind != "zig-zag" || !ok || b.Kind != "leg-yield" || b.mov != a.mov || b.part != a.part || b.At != nil {
		return a
	}
	a.Kind, c.skip = "leg-yield", c.k+1
	if a.Count == 0 {
		a.Count = max(b.Count, 3)
	}
	if a.SizeM == 0 {
		a.SizeM = b.SizeM
	}
	if a.Hand == "" {
		a.Hand = b.Hand
	}
	if a.To == nil {
		a.To = b.To
	}
	return a
}

// zigWidths are the metres to the side of each half-pass, in order.
func (c *compiler) zigWidths(a actRef) ([]float64, Hand) {
	h := Hand(a.Hand)
	if h == NoHand {
		h = c.otherIf(false)
		if c.inCanter() && c.lead != NoHand {
			h = c.lead
		}
	}
	n := max(a.Count, 2)
	if a.Count == 0 && a.Kind == "zig-zag" {
		n = 3
	}
	n = min(n, 12)
	stride := c.stride(c.variety)
	if len(a.List) > 0 {
		var w []float64
		for _, k := range a.List[:min(len(a.List), 12)] {
			w = append(w, float64(k)*stride*0.45)
		}
		return w, h
	}
	amp := zigSize(a)
	if amp == 0 {
		amp = 5
		c.say("The width is not given; 5 m either side is taken.")
	}
	w := make([]float64, n)
	for i := range w {
		w[i] = 2 * amp
	}
	w[0], w[n-1] = amp, amp
	return w, h
}

// zigSize is the metres to either side that the sheet asks of a zig-zag, 0 when it asks none that can be ridden.
func zigSize(a actRef) float64 {
	if len(a.List) > 0 || a.SizeM > 9 {
		return 0
	}
	return a.SizeM
}

// zigEnd is y where a zig-zag ends.
func (c *compiler) zigEnd(a actRef, arr arrival) float64 {
	last := ""
	if n := len(arr.route); n > 0 {
		last = arr.route[n-1]
	}
	if a.To != nil && len(a.To.Letters) > 0 {
		last = a.To.Letters[len(a.To.Letters)-1]
	}
	if last == "" {
		if b, ok := c.peek(1); ok && b.At != nil && len(b.At.Letters) > 0 {
			if q, ok := c.point(b.At.Letters[0]); ok && q.Sub(c.at).Dot(c.bodyHeading().Unit()) > 15 && math.Abs(q.X) < 1 {
				last = b.At.Letters[0]
			}
		}
	}
	y := float64(c.board.Length) - 6
	if c.bodyHeading().Unit().Y < 0 {
		y = 6
	}
	if q, ok := c.point(last); ok {
		y = q.Y
	}
	return math.Max(6, math.Min(float64(c.board.Length)-6, y))
}

func (c *compiler) pushZig(a actRef, widths []float64, slope float64, h Hand, body arena.Angle) {
	from := c.here()
	start := c.letterAt(a)
	first := h
	for i, w := range widths {
		side := body.Unit().Left()
		if h == Right {
			side = side.Mul(-1)
		}
		q := c.at.Add(side.Mul(w)).Add(body.Unit().Mul(w * slope))
		q.X = math.Max(-c.track.hw, math.Min(c.track.hw, q.X))
		q.Y = math.Max(c.track.y0, math.Min(c.track.y1, q.Y))
		l := &lateral{kind: "half-pass", hand: h, bend: h, side: other(h), parallel: true, body: body}
		if a.Kind == "leg-yield" {
			l.kind, l.bend = a.Kind, other(h)
		}
		s0 := c.ahead(c.pendingLength())
		if i > 0 && c.inCanter() {
			c.flush()
			s0 = c.here()
			c.flip(a, "")
		}
		angle := math.Abs(q.Sub(c.at).Heading().Diff(body).Deg())
		c.straightTo(q, 3, l)
		c.figure(lateralKind[l.kind], s0, c.ahead(c.pendingLength()), Figure{Hand: h, Bend: l.bend, Angle: arena.Degrees(angle)})
		h = other(h)
	}
	c.facing = body
	c.figure(terms.ZigZag, from, c.ahead(c.pendingLength()), Figure{At: start, Hand: first, Count: len(widths), Nominal: arena.Metres(zigSize(a))})
	work := "half-passes"
	if a.Kind == "leg-yield" {
		work = "leg-yields"
	}
	c.say("Zig-zag of %d %s from %s, %s first.", len(widths), work, start, first)
}
