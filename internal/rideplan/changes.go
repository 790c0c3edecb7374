package rideplan

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// flip changes the lead here and notes it.
func (c *compiler) flip(a actRef, l string) {
	c.lead, c.leadAt = other(c.lead), a.Pos
	c.figure(terms.FlyingChange, c.here(), c.here(), Figure{At: l, Lead: c.lead, Hand: c.lead})
}

// needCanter reports a change of leg out of another pace.
func (c *compiler) needCanter(a actRef) bool {
	if c.inCanter() && !c.halted {
		return true
	}
	c.problem(a.Pos, sheet.Error, "ask canter first", "a %s needs canter, but the horse is in %s", a.Kind, c.now())
	c.also(c.paceAt)
	return false
}

// now is the pace the horse is in, halt included.
func (c *compiler) now() gait.Variety {
	if c.halted {
		return gait.HaltVariety
	}
	return c.variety
}

// simpleChange rides canter, a few clear walk steps, canter on the other lead; its middle is
// at the place. Through trot likewise.
func (c *compiler) simpleChange(a actRef, arr arrival) {
	if !c.needCanter(a) {
		return
	}
	if arr.each {
		c.eachCrossing(func(d float64) { c.oneSimple(a, d) })
		return
	}
	for _, l := range arr.route {
		c.leg(l)
	}
	if len(arr.route) > 0 {
		c.oneSimple(a, c.pendingLength()/2)
		return
	}
	c.oneSimple(a, 0)
	for i := 1; i < min(a.Count, 6) && a.Unit != "steps" && a.Unit != "strides"; i++ {
		c.oneSimple(a, 12)
	}
}

// oneSimple makes a simple change whose middle is d metres ahead; at 0 the walk starts here.
func (c *compiler) oneSimple(a actRef, d float64) {
	steps := midCount(a)
	w := value("simple_change_walk_m")
	v := gait.MediumWalk
	if a.Kind == "trot change" {
		v = gait.Variety(c.trot + " trot")
		w = 6
	} else if a.Unit == "steps" && steps > 0 {
		w = float64(steps) * value("walk_step_m")
	}
	c.ensure(d + w + 1)
	c.ride(math.Max(0, d-w/2))
	from := c.here()
	canter, l := c.variety, c.letterHere(a)
	c.variety = v
	c.ride(w)
	c.variety = canter
	c.lead, c.leadAt = other(c.lead), a.Pos
	c.figure(terms.SimpleChange, from, c.here(), Figure{At: l, Variety: canter, From: canter, Lead: c.lead})
	c.say("%s%s: %s, %.1f m, then canter %s.", sentence(a.Kind), spaced(placeWords(a.At)), v, w, c.lead)
}

// eachCrossing calls do for every crossing of the centre line on pending, with the metres to
// it; do rides up to and over it.
func (c *compiler) eachCrossing(do func(d float64)) {
	n := 0
	after := 3.0
	for n < 10 {
		d, ok := c.crossing(0, after)
		if !ok || d > c.pendingLength()-3 {
			break
		}
		do(d)
		n++
		after = 4
	}
	if n == 0 {
		a := c.acts[c.k]
		c.problem(a.Pos, sheet.Warning, "over X", "no crossing of the centre line is ahead; the change is ridden here")
		do(0)
	}
}

// flyingChange rides one change, several over a line, or a series every n-th stride.
func (c *compiler) flyingChange(a actRef, arr arrival) {
	if !c.needCanter(a) {
		return
	}
	if arr.each || a.Is("each change") {
		if a.Is("each change") {
			c.say("With a flying change at every change of direction.")
			return
		}
		c.eachCrossing(func(d float64) { c.ride(d); c.flip(a, ""); c.say("Flying change over the centre line.") })
		return
	}
	if a.At == nil && a.Every == 0 && c.zigZagged(a) {
		c.say("With a flying change at every change of direction.")
		return
	}
	if a.Every > 0 {
		c.series(a, arr)
		return
	}
	if len(arr.route) > 0 {
		c.changeOnRoute(a, arr)
		return
	}
	if n := min(a.Count, 30); n > 1 && len(c.pending) > 0 && c.diagonalBegun(a) {
		c.spread(a, n)
		c.say("%d flying changes on the line begun.", n)
		return
	}
	l := c.letterHere(a)
	c.flip(a, l)
	c.say("Flying change%s to the %s lead.", spaced(placeWords(a.At)), c.lead)
}

// zigZagged reports whether the act before, of the same line, rode a zig-zag in canter, which
// changes the lead with every change of hand.
func (c *compiler) zigZagged(a actRef) bool {
	if c.k == 0 || c.acts[c.k-1].mov != a.mov || c.acts[c.k-1].part != a.part {
		return false
	}
	for _, d := range c.drafts {
		if d.mov == a.mov && d.Kind == terms.ZigZag && d.pos == c.acts[c.k-1].Pos {
			return true
		}
	}
	return false
}

// changeOnRoute rides a line with one change where it crosses the centre line, or at its end.
func (c *compiler) changeOnRoute(a actRef, arr arrival) {
	c.flush()
	start := c.letterAt(a)
	from := c.here()
	for _, l := range arr.route {
		c.leg(l)
	}
	end := arr.route[len(arr.route)-1]
	if c.crossesMiddle() {
		c.figure(terms.Diagonal, from, c.ahead(c.pendingLength()), Figure{At: start, To: end})
	}
	n := max(1, a.Count)
	if d, ok := c.crossing(0, 1); ok && n == 1 {
		c.ride(d)
		c.flip(a, "")
		c.say("Flying change over the centre line between %s and %s.", start, end)
		return
	}
	c.spread(a, n)
	c.say("%d flying changes from %s to %s.", n, start, end)
}

// spread rides n single changes evenly over the line ahead.
func (c *compiler) spread(a actRef, n int) {
	part := c.pendingLength() / float64(n+1)
	for i := 0; i < n; i++ {
		c.ride(part)
		c.flip(a, "")
	}
}

// series rides n changes every k-th stride, in the middle of the line ahead.
func (c *compiler) series(a actRef, arr arrival) {
	if len(arr.route) > 0 {
		c.flush()
		b := a
		b.Pace, b.Form, b.Variety, b.To = "", "", "", nil
		if len(arr.route) > 0 && c.onTrack {
			c.changeRein(b, arr)
		} else {
			for _, l := range arr.route {
				c.leg(l)
			}
		}
	}
	n := a.Count
	if n == 0 {
		n = 3
		c.say("The number of changes is not given; 3 are taken.")
	}
	n = min(n, 30)
	step := float64(a.Every) * c.stride(c.variety)
	need := step * float64(n-1)
	if len(c.pending) == 0 {
		c.ensure(need + 12)
	}
	have := c.pendingLength()
	if have < need {
		c.problem(a.Pos, sheet.Error, "fewer changes or a longer line", "%d changes every %d. stride need %.0f m; the line has %.0f m", n, a.Every, need, have)
		step = have / float64(n+1)
		need = step * float64(n-1)
	}
	c.ride((have - need) / 2)
	from := c.here()
	for i := 0; i < n; i++ {
		if i > 0 {
			c.ride(step)
		}
		c.lead, c.leadAt = other(c.lead), a.Pos
	}
	c.figure(terms.ChangeSeries, from, c.here(), Figure{Count: n, Every: a.Every, Lead: c.lead})
	c.say("%d flying changes every %s stride.", n, ordinal(a.Every))
}

func ordinal(n int) string {
	switch n {
	case 1:
		return "single"
	case 2:
		return "second"
	case 3:
		return "third"
	}
	return "fourth"
}

// changeLeg reads "change of leg": through trot or walk as said, else as the level rides it.
func (c *compiler) changeLeg(a actRef, arr arrival) {
	switch {
	case a.Is("through trot"):
		a.Kind = "trot change"
		c.simpleChange(a, arr)
	case a.Is("through walk") || !c.facts.flying:
		a.Kind = "simple change"
		if !a.Is("through walk") {
			c.problem(a.Pos, sheet.Note, "simple change, or flying change", "which change of leg is not said; a simple change is taken")
		}
		c.simpleChange(a, arr)
	default:
		c.problem(a.Pos, sheet.Note, "simple change, or flying change", "which change of leg is not said; a flying change is taken")
		c.flyingChange(a, arr)
	}
}

// bareChange reads "change" alone: changes every n-th stride, else a change of rein.
func (c *compiler) bareChange(a actRef, arr arrival) {
	if a.Every > 0 || a.Count > 1 && c.inCanter() {
		a.Kind = "flying change"
		c.flyingChange(a, arr)
		return
	}
	if len(arr.route) == 0 && c.inCanter() {
		c.changeLeg(a, arr)
		return
	}
	c.problem(a.Pos, sheet.Note, "change rein", "\"change\" is read as change of rein")
	a.Kind = "change rein"
	c.changeRein(a, arr)
}

// ccFigures are figures that counter-canter may be said of in one breath.
var ccFigures = map[string]bool{"loop": true, "double loop": true, "serpentine": true, "circle": true, "half circle": true, "change rein": true}

func firstPlace(a, b *sheet.Place) *sheet.Place {
	if a != nil {
		return a
	}
	return b
}

// counterCanter goes on in canter on the lead it has along the route.
func (c *compiler) counterCanter(a actRef, arr arrival) {
	if b, ok := c.peek(1); ok && b.mov == a.mov && b.part == a.part && b.At == nil && ccFigures[b.Kind] && !b.Then {
		c.acts[c.k+1].At = a.At // "F-M counter-canter, loop 5 m": the figure takes the place
		c.acts[c.k+1].To = firstPlace(b.To, a.To)
		return
	}
	c.flush()
	if !c.inCanter() || c.halted {
		if a.Lead == "" && a.Hand == "" {
			c.problem(a.Pos, sheet.Warning, "name the lead, or ask the canter first", "counter-canter is asked, but the horse is in %s; it strikes off on the %s lead here", c.now(), other(c.otherIf(false)))
			c.also(c.paceAt)
		}
		b := a
		b.Pace, b.Kind = "canter", "pace"
		if b.Lead == "" && b.Hand == "" {
			b.Lead = string(other(c.otherIf(false)))
		}
		c.changePace(b, arrival{ok: true})
	} else if a.Lead != "" && Hand(a.Lead) != c.lead {
		c.problem(a.Pos, sheet.Error, string(c.lead), "counter-canter on the %s lead is asked, but the horse canters on the %s", a.Lead, c.lead)
		c.also(c.paceAt)
	}
	from := c.here()
	route := arr.route
	if a.To != nil {
		route = append(append([]string(nil), route...), c.known(a.To)...)
	}
	start := c.letterAt(a)
	for _, l := range route {
		c.leg(l)
	}
	end := c.ahead(c.pendingLength())
	to := ""
	if len(route) > 0 {
		to = route[len(route)-1]
	}
	c.figure(terms.CounterCanter, from, end, Figure{At: start, To: to, Lead: c.lead})
	if c.onTrack && c.lead == c.rein {
		c.problem(a.Pos, sheet.Warning, "", "the horse canters on the %s lead on the %s rein here; that is not counter-canter", c.lead, c.rein)
		c.also(c.paceAt)
	}
	c.say("Counter-canter, %s lead, on the %s rein.", c.lead, c.otherIf(false))
}

// stretchAct lets the horse stretch on the figure in hand, or from here on.
func (c *compiler) stretchAct(a actRef, arr arrival) {
	if a.Pace != "" || a.Variety != "" || a.Form != "" {
		c.paceOfFigure(a)
	}
	if len(c.pending) == 0 {
		if b, ok := c.peek(1); ok && b.mov == a.mov && (b.Kind == "circle" || b.Kind == "half circle") && b.At == nil {
			c.say("Let the horse stretch on the figure that follows.")
			return
		}
	}
	from := c.here()
	for _, l := range arr.route {
		c.leg(l)
	}
	to := c.ahead(c.pendingLength())
	if len(c.pending) == 0 {
		to = c.ahead(10)
	}
	if c.circle != nil && c.circle.mov == c.mov && len(c.pending) > 0 && c.pending[0].figure != 0 {
		from = c.circle.from
	}
	c.figure(terms.Stretch, from, to, Figure{At: firstLetter(a)})
	c.say("Let the horse stretch forward and down%s.", spaced(placeWords(a.At)))
}

// giveRetake gives the reins for two or three strides.
func (c *compiler) giveRetake(a actRef, arr arrival) {
	if c.halted {
		c.problem(a.Pos, sheet.Error, "ask a pace first", "give and retake the reins is shown over two or three strides, but the horse is at the halt")
		c.also(c.haltAt)
	}
	f, _ := c.opts.Horse.Figures(c.variety)
	d := 2.5 * math.Max(f.StrideM, 1.5)
	if len(arr.route) > 0 {
		for _, l := range arr.route {
			c.leg(l)
		}
		c.figure(terms.GiveRetake, c.here(), c.ahead(c.pendingLength()), Figure{At: firstLetter(a)})
	} else {
		c.figure(terms.GiveRetake, c.here(), c.ahead(d), Figure{At: c.letterHere(a)})
	}
	c.say("Give and retake the reins%s, two or three strides.", spaced(placeWords(a.At)))
}
