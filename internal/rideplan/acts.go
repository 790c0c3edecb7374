package rideplan

import (
	"math"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// handlers ride one kind of act each, after its place is reached.
var handlers map[string]func(*compiler, actRef, arrival)

func init() {
	handlers = map[string]func(*compiler, actRef, arrival){
		"enter": (*compiler).enter, "halt": (*compiler).halt, "salute": (*compiler).salute, "pace": (*compiler).pace,
		"track": (*compiler).takeSide, "turn": (*compiler).turn, "turn across": (*compiler).turn, "centre line": (*compiler).centreLine,
		"quarter line": (*compiler).quarterLine, "straight": (*compiler).onward, "follow": (*compiler).onward, "ride": (*compiler).onward,
		"ride corner": (*compiler).onward, "change rein": (*compiler).changeRein, "half arena": (*compiler).changeRein,
		"length change": (*compiler).lengthChange, "circle": (*compiler).circleAct, "volte": (*compiler).circleAct,
		"half circle": (*compiler).halfCircle, "return": (*compiler).returnToTrack, "corner return": (*compiler).cornerReturn,
		"figure of eight": (*compiler).figureEight, "serpentine": (*compiler).serpentine, "loop": (*compiler).loop,
		"double loop": (*compiler).loop, "change in circle": (*compiler).changeInCircle, "change circles": (*compiler).changeCircles,
		"leg-yield": (*compiler).obliqueAct, "half-pass": (*compiler).obliqueAct, "zig-zag": (*compiler).zigZag,
		"shoulder-in": (*compiler).alongAct, "shoulder-out": (*compiler).alongAct, "travers": (*compiler).alongAct, "renvers": (*compiler).alongAct,
		"turn on the haunches": (*compiler).onTheSpot, "turn on the forehand": (*compiler).onTheSpot, "pirouette": (*compiler).onTheSpot,
		"half pirouette": (*compiler).onTheSpot, "quarter pirouette": (*compiler).onTheSpot, "rein-back": (*compiler).reinBack,
		"simple change": (*compiler).simpleChange, "trot change": (*compiler).simpleChange, "flying change": (*compiler).flyingChange,
		"change leg": (*compiler).changeLeg, "change": (*compiler).bareChange, "counter-canter": (*compiler).counterCanterAct,
		"next loop": (*compiler).nextLoop, "retake": (*compiler).retake,
		"stretch": (*compiler).stretchAct, "give and retake": (*compiler).giveRetake, "lengthen": (*compiler).lengthen,
		"piaffe": (*compiler).piaffe, "passage": (*compiler).passage, "leave": (*compiler).leave, "judged": (*compiler).judged,
	}
}

// ride1 rides one act: its place, its pace, the act itself.
func (c *compiler) ride1(a actRef) {
	if c.left {
		c.skipAfterLeaving(a)
		return
	}
	c.act = c.k
	a = c.readCrossover(a)
	h, ok := handlers[a.Kind]
	if !ok {
		c.problem(a.Pos, sheet.Error, "", "%q is understood but cannot be ridden", a.Kind)
		return
	}
	if a.Kind == "judged" {
		c.flush()
		c.beginMovement(a)
		h(c, a, arrival{ok: true})
		return
	}
	if c.first() && c.enterUnsaid(a) {
		return
	}
	c.start(a)
	c.shorten(a)
	arr := arrival{ok: true}
	a = c.trackBehind(a)
	if a.Kind == "enter" && c.first() {
		if a.At != nil {
			if ls := c.known(a.At); len(ls) > 1 {
				arr.route = ls[1:]
			}
		}
	} else {
		arr = c.place(a)
	}
	c.beginMovement(a)
	if !arr.ok {
		return
	}
	a, arr = c.onToRoute(a, arr)
	rest, end, inserted := c.cut(a)
	if a.Kind != "pace" && a.Kind != "lengthen" && a.Kind != "enter" && a.Kind != "stretch" && a.Kind != "counter-canter" {
		c.paceOfFigure(a)
	}
	c.turned = false
	h(c, a, arr)
	if inserted && !c.turned { // the line begun before leads the other way after a turn about
		c.resume(rest, end)
	}
}

// shorten ends a medium, extended or lengthened pace at the end of its stretch where the
// sheet goes on without saying so.
func (c *compiler) shorten(a actRef) {
	if !c.longer {
		return
	}
	says := a.Kind == "pace" || a.Kind == "lengthen" || a.Kind == "passage" || a.Kind == "piaffe" || a.Kind == "halt" || a.Pace != "" || a.Form != "" || a.Variety != ""
	if says {
		c.longer = false
		return
	}
	if a.Kind == "flying change" || a.Kind == "give and retake" || a.Kind == "change" || a.At == nil && !a.first {
		return
	}
	c.longer = false
	c.flush()
	back := gait.Variety(c.plainForm(string(c.variety.PaceOf())) + " " + string(c.variety.PaceOf()))
	c.say("Then %s again, which the sheet leaves unsaid.", back)
	c.transition(back, actRef{Act: sheet.Act{Pos: a.Pos}, mov: a.mov})
}

// isLonger reports a form that is ridden for a stretch.
func isLonger(v gait.Variety) bool {
	f, _ := gait.Lookup(v)
	return f.Pace != gait.Walk && (f.Form == "medium" || f.Form == "extended" || f.Form == "lengthened")
}

// staying are the acts that happen on a line without leaving it.
var staying = map[string]bool{"pace": true, "lengthen": true, "stretch": true, "flying change": true, "simple change": true,
	"trot change": true, "change leg": true, "give and retake": true, "counter-canter": true, "passage": true, "change": true,
	"straight": true, "follow": true, "ride": true, "ride corner": true, "leave": true, "retake": true, "next loop": true}

// inserting are the acts after which a line begun before goes on.
var inserting = map[string]bool{"halt": true, "salute": true, "circle": true, "volte": true, "rein-back": true, "piaffe": true}

// cut parts the line where an act happens in the middle of it: acts that return to their
// place are put in, others leave the line for good.
func (c *compiler) cut(a actRef) (rest []elem, end endState, inserted bool) {
	if a.At == nil && a.Kind != "rein-back" && a.Kind != "salute" || len(c.pending) == 0 || staying[a.Kind] || c.pending[0].figure != 0 {
		return nil, endState{}, false
	}
	if n := len(c.ridden); n > 0 { // past a kink, so that it can be rounded
		if k := math.Abs(float64(c.pending[0].heading.Diff(c.ridden[n-1].endHeading()))); k > 1e-7 {
			c.ride(math.Min(c.pending[0].length, c.radius()*math.Tan(math.Min(k, 2)/2)+0.01))
		}
	}
	if len(c.pending) == 0 {
		return nil, endState{}, false
	}
	rest, end = c.pending, c.endNow()
	c.at, c.facing = rest[0].start, rest[0].heading
	if n := len(c.ridden); n > 0 {
		c.at, c.facing = c.ridden[n-1].end(), c.ridden[n-1].endHeading()
	}
	c.pending = nil
	c.onTrack, c.perp = c.track.isOn(c.at) && c.touching(), false
	if c.onTrack {
		c.rein = c.slantOf(c.facing)
	}
	return rest, end, inserting[a.Kind]
}

// resume goes on with the line that an act was put into.
func (c *compiler) resume(rest []elem, end endState) {
	gap := rest[0].start.Sub(c.at)
	along := gap.Dot(c.lastHeading().Unit())
	switch {
	case gap.Norm() < 1e-3:
	case along > 0 && along > float64(gap.Norm())-1e-3: // after a rein-back
		c.push(elem{start: c.at, heading: c.lastHeading(), length: along})
	default: // the act had to move on; the line is left
		return
	}
	c.pending = append(c.pending, rest...)
	c.setEnd(end)
}

// onToRoute reads "A ... F-M" as riding on from A to F, and then F-M.
func (c *compiler) onToRoute(a actRef, arr arrival) (actRef, arrival) {
	if a.To == nil || a.To.Kind != sheet.Route || a.Kind == "pace" || a.Kind == "track" || a.Kind == "turn" {
		return a, arr
	}
	ls := c.known(a.To)
	if len(ls) < 2 {
		return a, arr
	}
	c.goLetter(ls[0])
	arr.route = ls[1:]
	a.At, a.To = a.To, nil
	return a, arr
}

func (c *compiler) first() bool { return len(c.ridden)+len(c.pending) == 0 && !c.begun() }

// enterUnsaid rides the entry of a sheet whose first line names A and then goes up the
// centre line without saying "enter".
func (c *compiler) enterUnsaid(a actRef) bool {
	if a.Kind == "enter" {
		return false
	}
	p := a.At
	up := p != nil && len(p.Letters) > 0 && p.Letters[0] == "A" && p.Kind != sheet.Between && (a.Kind == "centre line" || c.nextOnCentreLine(a))
	if !up {
		return false
	}
	b := a
	if a.Kind != "pace" {
		b.Kind = "enter"
	}
	c.act = c.k
	c.beginMovement(a)
	c.enter(b, arrival{ok: true, route: c.known(p)[1:]})
	return true
}

// nextOnCentreLine reports whether the place after a is on the centre line.
func (c *compiler) nextOnCentreLine(a actRef) bool {
	if len(a.At.Letters) > 1 {
		s, ok := c.board.SideOf(a.At.Letters[1])
		return ok && s == arena.OnCentreLine
	}
	if a.Kind != "pace" {
		return false
	}
	if b, ok := c.peek(1); ok && b.At != nil && len(b.At.Letters) > 0 {
		s, known := c.board.SideOf(b.At.Letters[0])
		return known && s == arena.OnCentreLine
	}
	return false
}

// start gives a sheet without an entry its first place.
func (c *compiler) start(a actRef) {
	if !c.first() || a.Kind == "enter" {
		return
	}
	if a.At != nil {
		if ls := c.known(a.At); len(ls) > 0 {
			c.startAt(ls[0])
			c.wish = NoHand
			return
		}
	}
	if h, ok := c.file.Header("start"); ok {
		if _, ok := c.board.Letter(h.Value); ok {
			c.startAt(h.Value)
			return
		}
	}
	for _, b := range c.acts {
		if b.At != nil && len(b.At.Letters) > 0 {
			if _, ok := c.board.Letter(b.At.Letters[0]); ok {
				c.startAt(b.At.Letters[0])
				return
			}
		}
	}
	c.problem(a.Pos, sheet.Note, "1  A  ...", "no place is given; the ride starts at A on the left rein")
	c.startAt("A")
}

// place rides to the act's place; a change of pace at the end of a diagonal is asked before
// the letter, when the nose reaches the track.
func (c *compiler) place(a actRef) arrival {
	if a.Kind == "change circles" {
		return c.toCrossover(a)
	}
	if toQuarterLine(a) && a.At != nil && a.At.Kind == sheet.Between && len(a.At.Letters) > 0 {
		c.goLetter(a.At.Letters[0]) // the line itself lies between the letters
		return arrival{ok: true}
	}
	if nose, ok := c.noseAtTrack(a); ok {
		c.ride(nose)
		return arrival{ok: true}
	}
	return c.goPlace(a)
}

func (c *compiler) noseAtTrack(a actRef) (float64, bool) {
	if a.Kind != "pace" && a.Kind != "passage" || a.At == nil || a.At.Kind != sheet.At || len(a.At.Letters) != 1 || len(c.pending) == 0 || !c.onBoards(a.At.Letters[0]) {
		return 0, false
	}
	q, ok := c.point(a.At.Letters[0])
	if !ok || float64(c.at.Dist(q)) > nearLetter {
		return 0, false
	}
	last := c.pending[len(c.pending)-1]
	turn := math.Abs(float64(c.facing.Diff(last.endHeading())))
	if last.curv != 0 || last.lat != nil || turn < 0.1 || c.perp {
		return 0, false
	}
	l := c.pendingLength()
	return math.Max(0, l-float64(c.plan.NoseToBody)), l > float64(c.plan.NoseToBody)+0.5
}

func (c *compiler) skipAfterLeaving(a actRef) {
	c.beginMovement(a)
	if a.Kind == "judged" {
		c.judged(a, arrival{ok: true})
	} else if a.first {
		c.problem(a.Pos, sheet.Warning, "", "this comes after the arena was left and is not ridden")
	}
}

// enter rides from outside over A up the centre line.
func (c *compiler) enter(a actRef, arr arrival) {
	if c.started {
		c.problem(a.Pos, sheet.Warning, "", "the arena is entered a second time; read as going on")
		c.setPaceQuietly(a)
		return
	}
	c.at, c.facing, c.onTrack, c.perp, c.started = arena.Point{}, arena.Degrees(90), false, false, true
	if a.Pace == "" && a.Variety == "" && a.Form == "" {
		if b, ok := c.peek(1); ok && b.Kind == "pace" && b.At == nil && b.mov == a.mov {
			a.Pace, a.Form, a.Variety, a.Lead = b.Pace, b.Form, b.Variety, b.Lead
		}
	}
	if v, ok := c.resolve(a); ok {
		c.variety = v
	}
	c.paceAt, c.leadAt = a.Pos, a.Pos
	c.setLead(a)
	c.say("Enter at A in %s, up the centre line.", c.variety)
	from := c.here()
	route := arr.route
	if a.To != nil && len(route) == 0 {
		route = c.known(a.To)
	}
	for _, l := range route {
		c.leg(l)
	}
	to := c.ahead(c.pendingLength())
	if len(route) == 0 {
		to = c.ahead(float64(c.board.Length) / 2)
	}
	c.figure(terms.Entry, from, to, Figure{At: "A", Asked: 0})
}

// setLead sets the canter lead the wording or the rein gives.
func (c *compiler) setLead(a actRef) {
	if c.variety.PaceOf() != gait.Canter {
		return
	}
	switch {
	case a.Lead != "":
		c.lead = Hand(a.Lead)
	case a.Hand != "":
		c.lead = Hand(a.Hand)
	case c.lead == NoHand || c.wasNotCanter():
		c.lead = c.otherIf(false)
		if c.wish != NoHand {
			c.lead = c.wish
		}
		if c.rein == NoHand && c.wish == NoHand {
			c.lead = c.nextHand()
		}
	}
}

func (c *compiler) wasNotCanter() bool {
	n := len(c.ridden)
	return n == 0 || c.ridden[n-1].variety.PaceOf() != gait.Canter
}

// nextHand is the rein the sheet takes next.
func (c *compiler) nextHand() Hand {
	for _, a := range c.acts[c.k:] {
		if a.Kind == "track" && a.Hand != "" {
			return Hand(a.Hand)
		}
	}
	return Left
}

// halt stands at the place.
func (c *compiler) halt(a actRef, arr arrival) {
	if n := len(c.ridden); arr.route == nil && n > 0 && len(c.pending) == 0 && c.ridden[n-1].spot && c.ridden[n-1].turn == 0 && a.At == nil {
		return // "halt, immobility"
	}
	c.flush()
	for _, l := range arr.route {
		c.leg(l)
	}
	c.flush()
	if h := c.lateralHeading(); h != nil {
		c.facing = *h
	}
	if c.onTrack || c.lateralHeading() != nil { // halted straight: on the track after a diagonal or a turn
		c.pastTurn()
	}
	hold := gait.Seconds(a.Seconds)
	what := "Halt"
	salute := c.saluteFollows()
	switch {
	case hold > 0:
		what = "Halt for the seconds asked"
	case salute:
		hold, what = gait.Seconds(value("salute_s")), "Halt and salute"
	default:
		hold = gait.Seconds(value("halt_s"))
	}
	from := c.here()
	c.push(elem{start: c.at, heading: c.lastHeading(), spot: true, hold: hold})
	c.flush()
	l := c.letterHere(a)
	c.haltLetter, c.haltAt = l, a.Pos
	c.figure(terms.Halt, from, c.here(), Figure{At: l, Variety: gait.HaltVariety, From: c.variety, Seconds: gait.Seconds(a.Seconds), Progressive: a.Is("progressive") || a.Is("through walk") || a.Is("through trot")})
	if salute {
		c.figure(terms.Salute, from, c.here(), Figure{At: l, Variety: gait.HaltVariety})
	}
	c.halted = true
	c.say("%s%s (about %.0f s).", what, atLetterWords(l), float64(hold))
}

func atLetterWords(l string) string {
	if l == "" {
		return ""
	}
	return " at " + l
}

// lastHeading is the direction of the line where pending ends, whatever it turns to next.
func (c *compiler) lastHeading() arena.Angle {
	if e, ok := c.last(); ok {
		return e.endHeading()
	}
	return c.facing
}

// lateralHeading is the direction of the body after a half-pass or leg-yield.
func (c *compiler) lateralHeading() *arena.Angle {
	if e, ok := c.last(); ok && e.lat != nil && e.lat.parallel {
		return &e.lat.body
	}
	return nil
}

func (c *compiler) saluteFollows() bool {
	for n := 1; ; n++ {
		b, ok := c.peek(n)
		if !ok || b.Kind != "salute" && b.Kind != "halt" {
			return false
		}
		if b.Kind == "salute" {
			return true
		}
	}
}

// letterHere is the letter an act happens at: the one named, or the nearest within a metre.
func (c *compiler) letterHere(a actRef) string {
	if a.At != nil && len(a.At.Letters) == 1 && (a.At.Kind == sheet.At || a.At.Kind == sheet.Over || a.At.Kind == sheet.Near) {
		return a.At.Letters[0]
	}
	for _, l := range c.board.Letters() {
		if q, _ := c.point(l); float64(q.Dist(c.at)) < 1.2 && len(c.pending) == 0 {
			return l
		}
	}
	return ""
}

// salute adds to the halt before it, or halts.
func (c *compiler) salute(a actRef, arr arrival) {
	if n := len(c.ridden); n > 0 && c.ridden[n-1].spot && len(c.pending) == 0 {
		if c.ridden[n-1].hold < gait.Seconds(value("salute_s")) {
			c.ridden[n-1].hold = gait.Seconds(value("salute_s"))
		}
		return
	}
	c.say("A halt is implied by the salute.")
	a.Seconds = value("salute_s")
	c.halt(a, arr)
}

// leave ends the ride; the way out is not part of the sheet.
func (c *compiler) leave(a actRef, _ arrival) {
	c.left = true
	c.say("Leave the arena at A; the test ended with the salute.")
}

// judged is a box that marks something already ridden.
func (c *compiler) judged(a actRef, _ arrival) {
	c.say("Marks something ridden in the boxes beside it; nothing new is ridden.")
}

// onward rides the route named, or just on.
func (c *compiler) onward(a actRef, arr arrival) {
	from := c.here()
	route := arr.route
	if a.To != nil {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	for _, l := range route {
		c.leg(l)
	}
	if len(route) > 0 {
		by, last := "", route[len(route)-1]
		if between := route[:len(route)-1]; len(between) > 0 {
			by = " by " + strings.Join(between, ", ")
		}
		c.say("Ride on%s to %s.", by, last)
		c.figure(terms.Pace, from, c.ahead(c.pendingLength()), Figure{At: firstLetter(a), To: last})
	} else if b, ok := c.peek(1); a.Kind == "straight" && ok && b.At == nil && !c.onTrack && (b.Kind == "flying change" || b.Kind == "simple change") {
		c.pushOn(0.4 * float64(c.track.hit(c.at, c.facing).Dist(c.at)))
		c.flush()
		c.say("Straight on.")
	} else if a.Kind == "follow" {
		c.say("Follow the track on the %s rein.", c.otherIf(false))
	} else if w := placeWords(a.At); w != "" && a.Kind == "ride" {
		c.say("Ride %s.", "past "+w)
	}
	if a.Hand != "" && a.Kind == "ride" { // "C left hand"
		a.Kind = "track"
		c.takeSide(a, arrival{ok: true})
	}
}

func firstLetter(a actRef) string {
	if a.At != nil && len(a.At.Letters) > 0 {
		return a.At.Letters[0]
	}
	return ""
}

// checkRein reports a side that is not the rein ridden. Where the sheet goes on as if the rein
// had been changed, the rest is ridden on that rein after a turn about, so that one mistake
// does not give ten messages.
func (c *compiler) checkRein(a actRef, h Hand) bool {
	if !c.onTrack || c.rein == NoHand || h == NoHand || h == c.rein {
		return true
	}
	c.problem(a.Pos, sheet.Error, "change the rein first, or write "+string(c.rein),
		"%s %s is asked, but the horse is on the %s rein and no change of rein comes before", a.Kind, h, c.rein)
	c.also(c.reinAt)
	if c.sheetThinks(NoHand) == h {
		c.turnAbout()
		return true
	}
	return false
}

// sheetThinks is the rein that the next acts show, or otherwise the one given.
func (c *compiler) sheetThinks(otherwise Hand) Hand {
	for n := 1; n < 6; n++ {
		b, ok := c.peek(n)
		if !ok {
			break
		}
		if r := c.reinShown(b); r != NoHand {
			return r
		}
		switch b.Kind {
		case "circle", "volte", "track", "turn", "half circle", "shoulder-in":
			if b.Hand != "" {
				return Hand(b.Hand)
			}
		case "change rein", "centre line":
			return otherwise
		}
	}
	return otherwise
}

// reinShown is the rein that the letters of an act show: those of one side follow each other on
// one rein only, and a line across begins ahead of the horse on one rein only.
func (c *compiler) reinShown(b actRef) Hand {
	if b.At == nil || len(b.At.Letters) < 2 || !c.onBoards(b.At.Letters[0]) {
		return NoHand
	}
	if c.onBoards(b.At.Letters[1]) {
		if r := c.routeRein(b.At.Letters[0], b.At.Letters[1]); r != NoHand {
			return r
		}
	}
	p, ok1 := c.point(b.At.Letters[0])
	q, ok2 := c.point(b.At.Letters[1])
	if !ok1 || !ok2 || math.Abs(p.X) < 1 {
		return NoHand
	}
	switch along := c.track.heading(c.track.metre(p), Left).Unit().Dot(q.Sub(p)); {
	case along > 3:
		return Left
	case along < -3:
		return Right
	}
	return NoHand
}

// turnAbout takes the rein as changed after an error about it: the horse turns where it is, so
// that what the sheet asks next is asked where the sheet has it.
func (c *compiler) turnAbout() {
	c.flush()
	from := c.lastHeading()
	c.turned = true
	c.takeTrack(other(c.rein))
	c.push(elem{start: c.at, heading: from, spot: true, turn: c.facing.Diff(from), hold: 2})
	c.say("The rein is taken as changed here.")
	c.flush()
}
