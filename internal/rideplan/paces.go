package rideplan

import (
	"math"
	"strings"

	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// resolve names the variety that the words of an act ask for; ok is false when it says none.
func (c *compiler) resolve(a actRef) (gait.Variety, bool) {
	if a.Variety != "" {
		return gait.Variety(a.Variety), true
	}
	pace, form := a.Pace, a.Form
	if pace == "" && form == "" {
		return "", false
	}
	if pace == "" {
		pace = string(c.variety.PaceOf())
		if pace == "halt" || pace == "" {
			pace = "trot"
		}
	}
	if form == "" {
		form = c.plainForm(pace)
	}
	v := gait.Variety(form + " " + pace)
	if _, ok := gait.Lookup(v); ok {
		return v, true
	}
	best := gait.Variety(c.plainForm(pace) + " " + pace)
	c.problem(a.Pos, sheet.Warning, string(best), "there is no %s; read as %s", v, best)
	return best, true
}

// plainForm is the form meant when only the pace is named.
func (c *compiler) plainForm(pace string) string {
	switch pace {
	case "walk":
		return "medium"
	case "canter":
		return c.cant
	}
	return c.trot
}

// remember keeps the form last used for trot and canter as the plain one.
func (c *compiler) remember(v gait.Variety) {
	form, pace, _ := strings.Cut(string(v), " ")
	if form != "collected" && form != "working" {
		return
	}
	switch pace {
	case "trot":
		c.trot = form
	case "canter":
		c.cant = form
	}
}

// paceOfFigure changes pace where a figure names its own.
func (c *compiler) paceOfFigure(a actRef) {
	if a.Pace == "" && a.Variety == "" && a.Form == "" {
		return
	}
	if a.Pace == "walk" && a.Form == "" && c.variety.PaceOf() == gait.Walk {
		return
	}
	if a.Pace != "" && a.Form == "" && string(c.variety.PaceOf()) == a.Pace && a.Variety == "" && a.Lead == "" {
		return // "change rein in canter" while cantering
	}
	if len(c.pending) > 0 && !c.samePartFigure(a) {
		c.flush()
	}
	b := a
	b.To = nil
	if a.Kind == "circle" || a.Kind == "half circle" || a.Kind == "volte" || a.Kind == "track" || a.Kind == "turn" {
		b.Hand = ""
	}
	if a.Is("pace after comma") && strings.HasSuffix(a.Kind, "circle") {
		c.problem(a.Pos, sheet.Note, "write \"then\" before the pace when it comes after the figure", "the pace after the comma is taken from the start of the %s on", a.Kind)
	}
	c.changePace(b, arrival{ok: true})
	c.longer = isLonger(c.variety)
}

func (c *compiler) samePartFigure(a actRef) bool { return a.At != nil }

func (c *compiler) setPaceQuietly(a actRef) {
	if v, ok := c.resolve(a); ok {
		c.variety = v
	}
}

// pace is a change of pace, with the route it is ridden along.
func (c *compiler) pace(a actRef, arr arrival) {
	few := a.Count > 0 && a.Unit == "steps" || a.Is("some") && a.Pace == "walk" && c.variety.PaceOf() != gait.Walk
	switch {
	case arr.each:
		c.eachCrossing(func(d float64) { c.ride(d); c.someSteps(a) })
		return
	case len(arr.route) == 0 && a.To == nil && few:
		c.someSteps(a)
		return
	case c.stridesOnLine(a, arr), c.partOfLine(a, arr):
		return
	}
	a, part := c.partOfRoute(a, arr)
	from := c.here()
	c.changePace(a, arr)
	route := arr.route
	if a.To != nil {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	if len(route) == 0 {
		c.paceOfLine(a)
		return
	}
	c.longer = isLonger(c.variety)
	c.flush()
	before := c.rein
	start := c.letterAt(a)
	diagonal := false
	for _, l := range route {
		was := c.onTrack
		c.leg(l)
		diagonal = diagonal || was && c.lastHeading() != c.facing
	}
	c.say("Ride %s to %s.", c.variety, route[len(route)-1])
	to := c.ahead(c.pendingLength())
	end := route[len(route)-1]
	ends, endsAt := end, to
	if q, ok := c.point(part); ok {
		if d, on := c.findPending(q, nearLetter, false); on {
			ends, endsAt = part, c.ahead(d)
		}
	}
	if c.onBoards(start) && c.onBoards(end) && c.crossesMiddle() {
		c.figure(terms.Diagonal, from, to, Figure{At: start, To: end})
	}
	if k := kindOfPace(c.variety); k != terms.Pace {
		c.figure(k, from, endsAt, Figure{At: start, To: ends})
	}
	if c.variety.PaceOf() == gait.Canter && c.lead != NoHand && c.lead != c.rein && c.rein != NoHand && before == c.rein {
		c.figure(terms.CounterCanter, from, to, Figure{At: start, To: end})
	}
}

// crossesMiddle reports whether pending crosses the centre line away from A and C.
func (c *compiler) crossesMiddle() bool {
	for _, e := range c.pending {
		a, b := e.start, e.end()
		if math.Abs(a.X-b.X) > 2 && math.Min(a.X, b.X) < 0.01 && math.Max(a.X, b.X) > -0.01 && a.Y > 3 && a.Y < float64(c.board.Length)-3 && b.Y > 3 && b.Y < float64(c.board.Length)-3 {
			return true
		}
	}
	return false
}

func (c *compiler) letterAt(a actRef) string {
	if a.At != nil && len(a.At.Letters) > 0 {
		return a.At.Letters[0]
	}
	l, _ := c.board.NearestLetter(c.at)
	return l
}

// kindOfPace is the kind of figure that riding in a variety is.
func kindOfPace(v gait.Variety) terms.Kind {
	f, _ := gait.Lookup(v)
	switch {
	case v == gait.CollectedWalk:
		return terms.CollectedWalk
	case v == gait.MediumWalk:
		return terms.MediumWalk
	case v == gait.FreeWalk:
		return terms.FreeWalk
	case v == gait.ExtendedWalk:
		return terms.ExtendedWalk
	case v == gait.Passage:
		return terms.Passage
	case v == gait.Piaffe:
		return terms.Piaffe
	case f.Form == "medium":
		return terms.MediumPace
	case f.Form == "extended":
		return terms.ExtendedPace
	case f.Form == "lengthened":
		return terms.Lengthened
	}
	return terms.Pace
}

// changePace makes the transition here.
func (c *compiler) changePace(a actRef, arr arrival) {
	v, ok := c.resolve(a)
	if !ok {
		v = c.variety
	}
	oldLead, old := c.lead, c.variety
	from := old
	if c.halted {
		from = gait.HaltVariety
	}
	c.checkFollows(a, from, v)
	c.variety, c.paceAt = v, a.Pos
	c.remember(v)
	if v.PaceOf() == gait.Canter {
		c.leadFor(a, old)
		c.leadBefore = c.leadAt
		if oldLead != c.lead || old.PaceOf() != gait.Canter {
			c.leadAt = a.Pos
		}
	}
	c.checkLead(a, old)
	c.checkSameLead(a, old, oldLead)
	leadChange := old.PaceOf() == gait.Canter && v.PaceOf() == gait.Canter && oldLead != c.lead
	defer func() { c.halted = false }()
	if v == from && !leadChange {
		c.say("Stay in %s%s.", v, spaced(placeWords(a.At)))
		return
	}
	f := Figure{Variety: v, From: from, At: c.atWord(a), Between: arr.between, Lead: c.lead,
		Progressive: a.Is("progressive") || a.Is("through walk") || a.Is("through trot")}
	if v.PaceOf() != gait.Canter {
		f.Lead = NoHand
	}
	d := c.figure(terms.Transition, c.here(), c.here(), f)
	if arr.between {
		d.from, d.to = arr.from, arr.to
		d.mid = c.here()
		d.hasMid = true
	}
	lead := ""
	if v.PaceOf() == gait.Canter {
		lead = " " + string(c.lead) + " lead"
	}
	c.say("%s%s%s.", sentence(string(v)), lead, spaced(placeWords(a.At)))
	c.throughPace(a, from, v)
}

func (c *compiler) atWord(a actRef) string {
	if a.At != nil && len(a.At.Letters) > 0 && a.At.Kind != sheet.Between {
		return a.At.Letters[0]
	}
	if c.halted { // also after a rein-back, a few metres behind the letter
		return c.haltLetter
	}
	return c.letterHere(a)
}

func spaced(s string) string {
	if s == "" {
		return ""
	}
	return " " + s
}

func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// leadFor sets the lead of a canter now begun or gone on in.
func (c *compiler) leadFor(a actRef, old gait.Variety) {
	switch {
	case a.Lead != "":
		c.lead = Hand(a.Lead)
	case a.Hand != "":
		c.lead = Hand(a.Hand)
	case old.PaceOf() != gait.Canter || c.lead == NoHand:
		c.lead = c.rein
		if c.lead == NoHand {
			c.lead = c.nextHand()
		}
	}
}

// checkLead warns of a canter struck off on the outside lead where the sheet does not call it
// counter-canter. It can be ridden, so it stops nothing.
func (c *compiler) checkLead(a actRef, old gait.Variety) {
	if c.acts[c.k].Kind != "pace" || !c.inCanter() || !c.onTrack || len(c.pending) > 0 || old.PaceOf() == gait.Canter || c.lead == NoHand || c.lead == c.rein || math.Abs(c.at.X) < 1 && c.perp {
		return
	}
	for n := 1; n < 3; n++ {
		if b, ok := c.peek(n); ok && (b.Kind == "counter-canter" || n == 1 && (b.Kind == "change rein" || b.Kind == "change in circle" || b.Kind == "half circle") && b.mov == a.mov) {
			return
		}
	}
	c.problem(a.Pos, sheet.Warning, "canter "+string(c.rein)+", or counter-canter", "%s on the %s lead is asked on the %s rein; that is counter-canter", c.variety, c.lead, c.rein)
	c.also(c.reinAt)
}

// checkSameLead warns of a canter on the other lead out of canter where no change of leg is asked.
func (c *compiler) checkSameLead(a actRef, old gait.Variety, oldLead Hand) {
	if c.acts[c.k].Kind != "pace" || a.Lead == "" && a.Hand == "" || !c.inCanter() || old.PaceOf() != gait.Canter || c.halted || oldLead == NoHand || oldLead == c.lead || a.Is("through walk") || a.Is("through trot") {
		return
	}
	for n := -2; n < 3; n++ {
		if i := c.k + n; i >= 0 && i < len(c.acts) && c.acts[i].mov == a.mov && changesLead[c.acts[i].Kind] {
			return
		}
	}
	c.problem(a.Pos, sheet.Warning, "ask a simple or flying change", "canter %s is asked, but the horse canters on the %s lead and no change of leg is asked; the lead is taken as changed here", c.lead, oldLead)
	c.also(c.leadBefore)
}

// throughPace puts the walk steps into a change that the sheet lets pass through walk.
func (c *compiler) throughPace(a actRef, from, v gait.Variety) {
	if a.Is("through walk") && from.PaceOf() != gait.Walk && v.PaceOf() != gait.Walk && v.PaceOf() != gait.Halt {
		c.say("A few walk steps are allowed between.")
	}
}

// transition changes to v here and notes it as a figure.
func (c *compiler) transition(v gait.Variety, a actRef) {
	if v == c.variety && !c.halted {
		return
	}
	from := c.variety
	if c.halted {
		from = gait.HaltVariety
	}
	f := Figure{Variety: v, From: from, At: c.atWord(a)}
	c.variety, c.halted, c.paceAt = v, false, a.Pos
	if v.PaceOf() == gait.Canter {
		f.Lead = c.lead
	}
	c.figure(terms.Transition, c.here(), c.here(), f)
}

// checkFollows reports a pace that cannot come out of the one before.
func (c *compiler) checkFollows(a actRef, from, v gait.Variety) {
	f, _ := gait.Lookup(v)
	g, _ := gait.Lookup(from)
	stretched := f.Form == "medium" || f.Form == "extended" || f.Form == "lengthened"
	switch {
	case a.Kind == "lengthen" || f.Pace == gait.Walk:
		return
	case stretched && g.Pace != f.Pace && !a.Is("through walk") && !a.Is("progressive"):
		c.problem(a.Pos, sheet.Error, "ask collected or working "+string(f.Pace)+" first", "%s cannot follow %s directly", v, from)
	case v == gait.Piaffe && (g.Form == "medium" || g.Form == "extended") && g.Pace != gait.Walk, v == gait.Piaffe && g.Pace == gait.Canter:
		c.problem(a.Pos, sheet.Error, "ask passage or collected trot first", "%s cannot follow %s directly", v, from)
	case v == gait.Passage && g.Pace == gait.Canter && g.Form == "collected": // ridden in free programmes
		c.problem(a.Pos, sheet.Warning, "collected trot before it", "%s is asked straight out of %s", v, from)
	case v == gait.Passage && g.Pace == gait.Canter:
		c.problem(a.Pos, sheet.Error, "ask collected trot first", "%s cannot follow %s directly", v, from)
	default:
		return
	}
	c.also(c.paceAt)
}
