package rideplan

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// partOfRoute reads "K-X-M medium trot to X, then working trot": the whole way is ridden, and
// what follows happens at the letter on it.
func (c *compiler) partOfRoute(a actRef, arr arrival) (without actRef, part string) {
	if a.To == nil || len(a.To.Letters) != 1 {
		return a, ""
	}
	for _, l := range arr.route {
		if l != a.To.Letters[0] {
			continue
		}
		if b, ok := c.peek(1); ok && b.mov == a.mov && b.part == a.part && b.At == nil && b.Kind == "pace" {
			c.acts[c.k+1].At = a.To
		}
		a.To = nil
		return a, l
	}
	return a, ""
}

// isLongerAct reports an act that asks a pace ridden for a stretch only.
func isLongerAct(a actRef) bool {
	return a.Pace != "walk" && (a.Form == "medium" || a.Form == "extended" || a.Form == "lengthened")
}

// partOfLine rides a longer pace asked between two letters of the line begun before, "change
// the rein with medium trot between F and X"; the line goes on in the pace before.
func (c *compiler) partOfLine(a actRef, arr arrival) bool {
	if a.At == nil || a.At.Kind != sheet.Between || a.To != nil || len(arr.route) != 1 || !isLongerAct(a) || len(c.pending) == 0 || c.pending[0].figure != 0 {
		return false
	}
	end := arr.route[0]
	q, _ := c.point(end)
	d, on := c.findPending(q, nearLetter, false)
	if !on || d < 1 {
		return false
	}
	back, from := c.variety, c.here()
	c.changePace(a, arrival{ok: true})
	c.ride(d)
	c.figure(kindOfPace(c.variety), from, c.here(), Figure{At: a.At.Letters[0], To: end})
	if c.nextSaysPace() {
		c.longer = true
		return true
	}
	c.say("Then %s again at %s, which the sheet leaves unsaid.", back, end)
	c.transition(back, actRef{Act: sheet.Act{Pos: a.Pos}, mov: a.mov})
	return true
}

// stridesOnLine rides a counted stretch of a longer pace in the middle of the line it is asked
// on. Where on the line is the rider's choice, so the figure spans the line, with Between set.
func (c *compiler) stridesOnLine(a actRef, arr arrival) bool {
	v, ok := c.resolve(a)
	if !ok || a.Kind != "lengthen" || a.Unit == "steps" || a.Count == 0 || a.To != nil || !isLongerAct(a) || v.PaceOf() != c.variety.PaceOf() {
		return false
	}
	if len(arr.route) == 0 && (a.At != nil || a.first || a.Then || len(c.pending) == 0 || c.pending[0].figure != 0) {
		return false
	}
	f := Figure{Variety: v, At: c.lineFrom(), To: c.lineTo(), Between: true, Count: midCount(a)}
	if n := len(arr.route); n > 0 {
		c.flush()
		f.At, f.To = c.letterAt(a), arr.route[n-1]
		for _, l := range arr.route {
			c.leg(l)
		}
	}
	h, _ := c.opts.Horse.Figures(v)
	line := c.pendingLength()
	d := math.Min(float64(f.Count)*h.StrideM, line)
	c.figure(kindOfPace(v), c.here(), c.ahead(line), f)
	back := c.variety
	c.ride((line - d) / 2)
	c.variety = v
	c.ride(d)
	c.variety, c.longer = back, false
	c.say("%d strides of %s; where on the line is the rider's choice, planned in the middle. Then %s again.", f.Count, v, back)
	return true
}

// paceOfLine notes a pace said of the line just begun: "MXK change rein, showing some medium
// trot". A longer pace ends with that line.
func (c *compiler) paceOfLine(a actRef) {
	if a.At != nil || a.first || a.Then || len(c.pending) == 0 || c.pending[0].figure != 0 {
		return
	}
	if k := kindOfPace(c.variety); k != terms.Pace {
		c.longer = isLonger(c.variety)
		c.figure(k, c.here(), c.ahead(c.pendingLength()), Figure{At: c.lineFrom(), To: c.lineTo()})
	}
}

// lineFrom and lineTo are the letters between which the last diagonal of this box runs.
func (c *compiler) lineFrom() string { return c.lastDiagonal().At }

func (c *compiler) lineTo() string { return c.lastDiagonal().To }

func (c *compiler) lastDiagonal() Figure {
	for i := len(c.drafts) - 1; i >= 0 && c.drafts[i].mov == c.mov; i-- {
		if c.drafts[i].Kind == terms.Diagonal {
			return c.drafts[i].Figure
		}
	}
	return Figure{}
}

// midCount is the count asked, of "3-5" the middle, a half upwards.
func midCount(a actRef) int {
	return max(a.Count, (a.Count+a.CountTo+1)/2)
}

// someSteps rides a few steps of a pace and goes back to the pace before.
func (c *compiler) someSteps(a actRef) {
	v, ok := c.resolve(a)
	if !ok {
		return
	}
	n := midCount(a)
	f, _ := c.opts.Horse.Figures(v)
	if n == 0 {
		n = 4 // "a few steps"
	}
	d := float64(n) * f.StrideM / 2
	if a.Unit == "strides" {
		d *= 2
	}
	back := c.variety
	lead := c.lead
	c.transition(v, a)
	c.ensure(d + 1)
	c.ride(d)
	c.lead = lead
	c.transition(back, a)
	c.say("%d steps of %s%s, then %s again.", n, v, spaced(placeWords(a.At)), back)
}

// lengthen asks longer strides for a stretch, then the pace before.
func (c *compiler) lengthen(a actRef, arr arrival) {
	p := a.Pace
	if p == "" {
		p = string(c.variety.PaceOf())
	}
	if p != "canter" && p != "walk" {
		p = "trot"
	}
	form := a.Form
	if form == "" || form == "working" || form == "collected" {
		form = "lengthened"
	}
	if p == "walk" {
		form = "extended"
	}
	b := a
	b.Pace, b.Form, b.Variety = p, form, ""
	if string(c.variety.PaceOf()) != p { // "lengthen in trot" out of another pace: that pace first
		d := a
		d.Kind, d.Form, d.Pace = "pace", "", p
		c.changePace(d, arrival{ok: true})
	}
	back := c.variety
	hadPending := len(c.pending) > 0
	c.pace(b, arr)
	if len(arr.route) == 0 && a.To == nil && !hadPending {
		c.lengthenSide(a)
	}
	if c.nextSaysPace() {
		return
	}
	c.flush()
	if c.variety == back {
		return
	}
	c.say("Then %s again.", back)
	c.transition(back, actRef{Act: sheet.Act{Pos: a.Pos}, mov: a.mov})
	c.longer = false
}

// lengthenSide takes the stretch of a lengthening without a route: the rest of this side.
func (c *compiler) lengthenSide(a actRef) {
	from := c.here()
	if b, ok := c.peek(1); ok && b.At != nil && len(b.At.Letters) > 0 && c.onTrack && c.onBoards(b.At.Letters[0]) {
		c.leg(b.At.Letters[0])
	} else {
		c.pushOn(24)
	}
	c.figure(terms.Lengthened, from, c.ahead(c.pendingLength()), Figure{At: c.letterAt(a)})
}

// nextSaysPace reports whether one of the next acts, before any other figure, names a pace.
func (c *compiler) nextSaysPace() bool {
	for n := 1; n < 4; n++ {
		b, ok := c.peek(n)
		if !ok {
			return false
		}
		switch b.Kind {
		case "pace", "lengthen":
			return true
		case "judged":
			continue
		case "halt":
			return true
		}
		return b.Pace != "" || b.Variety != "" || b.Form != ""
	}
	return false
}

// piaffe stays nearly on the spot for its steps.
func (c *compiler) piaffe(a actRef, arr arrival) {
	c.flush()
	n := a.Count
	if a.CountTo > n {
		n = (a.Count + a.CountTo) / 2
	}
	if n == 0 {
		n = 12
		c.say("The steps are not given; 12 are taken.")
	}
	c.pastTurn()
	back := c.variety
	c.checkFollows(a, c.now(), gait.Piaffe)
	c.transition(gait.Piaffe, a)
	f, _ := c.opts.Horse.Figures(gait.Piaffe)
	d := float64(n) * value("piaffe_step_s") * float64(f.Speed)
	from := c.here()
	c.pushOn(d)
	c.flush()
	c.figure(terms.Piaffe, from, c.here(), Figure{At: c.atWord(a), Variety: gait.Piaffe, Count: n})
	c.say("Piaffe, %d steps.", n)
	if !c.nextSaysPace() && !c.nextIs("passage") {
		if back.PaceOf() == gait.Walk {
			back = gait.CollectedWalk
		}
		c.transition(back, actRef{Act: sheet.Act{Pos: a.Pos}, mov: a.mov})
	}
}

// pastTurn rides out of a turn that was asked at this place, so that what is ridden on the
// spot is not ridden in the middle of it.
func (c *compiler) pastTurn() {
	e, ok := c.last()
	if !ok || e.spot || e.curv != 0 || c.perp {
		return
	}
	if k := math.Abs(float64(c.facing.Diff(e.endHeading()))); k > 0.3 && k < 2 {
		c.pushOn(c.radius()*math.Tan(k/2) + 0.05)
		c.flush()
	}
}

func (c *compiler) nextIs(kind string) bool {
	b, ok := c.peek(1)
	return ok && b.Kind == kind
}

// passage is a pace with a route.
func (c *compiler) passage(a actRef, arr arrival) {
	b := a
	b.Kind, b.Variety = "pace", string(gait.Passage)
	b.Quals = map[string]bool{"progressive": true}
	c.pace(b, arr)
}
