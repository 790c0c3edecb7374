package rideplan

import (
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// counterCanterAct rides counter-canter along its route, or on one loop of a serpentine.
func (c *compiler) counterCanterAct(a actRef, arr arrival) {
	if a.Loop > 0 && len(c.pending) > 0 {
		c.counterLoop(a)
		return
	}
	c.counterCanter(a, arr)
}

// counterLoop goes on in canter on the lead it has for one loop of a serpentine.
func (c *compiler) counterLoop(a actRef) {
	turning := c.turningNext()
	if !c.inCanter() {
		b := a
		b.Kind, b.Pace, b.Lead = "pace", "canter", string(other(turning))
		c.changePace(b, arrival{ok: true})
	}
	d, ok := c.crossing(0, 0.5)
	if !ok {
		d = c.pendingLength()
	}
	c.figure(terms.CounterCanter, c.here(), c.ahead(d), Figure{At: c.letterHere(a), Lead: c.lead})
	if turning != NoHand && c.lead == turning {
		c.problem(a.Pos, sheet.Warning, "", "the horse canters on the %s lead and loop %d turns %s; that is not counter-canter", c.lead, a.Loop, turning)
		c.also(c.paceAt)
	}
	c.say("Loop %d in counter-canter, %s lead.", a.Loop, c.lead)
}

// turningNext is the side to which the line ahead turns first.
func (c *compiler) turningNext() Hand {
	for i, e := range c.pending {
		turn := e.curv * e.length
		if turn == 0 && i > 0 {
			turn = float64(e.heading.Diff(c.pending[i-1].endHeading()))
		}
		switch {
		case turn > 1e-3:
			return Left
		case turn < -1e-3:
			return Right
		}
	}
	return NoHand
}

// nextLoop says where the next loop of a serpentine begins; nothing changes there. A horse in
// canter is again, or still, on the lead it has.
func (c *compiler) nextLoop(a actRef, _ arrival) {
	if c.variety.PaceOf() == gait.Canter {
		c.say("Loop %d, still on the %s lead.", a.Loop, c.lead)
		return
	}
	c.say("Loop %d in %s.", a.Loop, c.variety)
}

// retake takes the reins up again; the line and the pace go on.
func (c *compiler) retake(a actRef, _ arrival) {
	c.say("Take up the reins again%s.", spaced(placeWords(a.At)))
}
