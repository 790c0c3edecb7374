package rideplan

import (
	"math"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// onTheSpot rides turns on the haunches, turns on the forehand and pirouettes. All turn the body to
// the hand named, and the rein with it.
func (c *compiler) onTheSpot(a actRef, arr arrival) {
	c.flush()
	h := Hand(a.Hand)
	if h == NoHand {
		h = c.otherIf(false)
		if c.inCanter() && c.lead != NoHand {
			h = c.lead
		}
	}
	deg := turnDegrees(a, c.inCanter())
	canter := c.inCanter() && a.Kind != "turn on the haunches" && a.Kind != "turn on the forehand"
	if !canter && c.variety.PaceOf() != gait.Walk && !(c.halted && a.Kind == "turn on the forehand") {
		if c.variety.PaceOf() == gait.Trot && !c.halted && strings.HasSuffix(a.Kind, "pirouette") {
			c.problem(a.Pos, sheet.Warning, "ask walk or canter first", "a %s is ridden in walk or canter, but the horse is in %s; walk is put before it", a.Kind, c.variety)
			c.also(c.paceAt)
		}
		c.walkFirst(a)
	}
	if canter && c.lead != NoHand && h != c.lead {
		c.problem(a.Pos, sheet.Error, string(c.lead), "a canter pirouette %s is asked in %s canter", h, c.lead)
		c.also(c.paceAt)
	}
	c.pushTurn(a, h, deg, canter)
}

func turnDegrees(a actRef, canter bool) float64 {
	switch {
	case a.Degrees > 0:
		return math.Min(a.Degrees, 720)
	case a.Frac > 0:
		return 360 * a.Frac
	case a.Kind == "quarter pirouette":
		return 90
	case a.Kind == "pirouette" && canter:
		return 360
	}
	return 180
}

func (c *compiler) pushTurn(a actRef, h Hand, deg float64, canter bool) {
	turn := arena.Degrees(deg)
	if h == Right {
		turn = -turn
	}
	secs := value("turn_walk_s_per_half") * deg / 180
	kind := terms.TurnOnHaunches
	switch a.Kind {
	case "turn on the haunches":
	case "turn on the forehand":
		kind = terms.TurnOnForehand
	default:
		kind = terms.WalkPirouette
	}
	if canter {
		secs = value("turn_canter_s_per_full") * deg / 360
		kind = terms.CanterPirouette
	}
	from := c.here()
	c.push(elem{start: c.at, heading: c.lastHeading(), spot: true, turn: turn, hold: gait.Seconds(secs)})
	c.flush()
	l := c.letterHere(a)
	d := c.figure(kind, from, c.here(), Figure{At: l, Hand: h, Bend: h, Centre: c.at, Place: c.at, Angle: arena.Degrees(deg)})
	d.noPlace = true
	c.facing = c.lastHeading()
	c.afterTurn()
	c.say("%s %s, %.0f degrees%s.", sentence(a.Kind), h, deg, spaced(placeWords(a.At)))
}

// afterTurn settles rein and track after a turn on the spot.
func (c *compiler) afterTurn() {
	if !c.track.isOn(c.at) {
		c.onTrack, c.perp = false, false
		return
	}
	if c.touching() {
		c.perp, c.onTrack = false, true
		c.rein = c.slantOf(c.facing)
		c.reinAt = c.acts[c.k].Pos
		return
	}
	c.onTrack = false
	in := c.track.inward(c.track.metre(c.at))
	c.perp = c.facing.Unit().Dot(in.Unit()) < 0
}

// walkFirst brings the horse to walk a few strides before a turn in walk. The metres just
// ridden are taken back and ridden again in walk.
func (c *compiler) walkFirst(a actRef) {
	c.say("Walk before it, which the sheet leaves unsaid.")
	need := value("walk_before_turn_m")
	cut := 0.0
	i := len(c.ridden)
	for i > 0 && cut < need && !c.ridden[i-1].spot && !c.ridden[i-1].back && c.ridden[i-1].lat == nil && c.ridden[i-1].figure == 0 {
		cut += c.ridden[i-1].length
		i--
	}
	if cut < need { // no room before the box: walk from its start, going on a little
		v, halted := gait.Variety(gait.MediumWalk), c.halted
		c.transition(v, actRef{Act: sheet.Act{Pos: a.Pos}, mov: a.mov})
		if cut < 0.5 && !halted {
			c.pushOn(need)
			c.flush()
		}
		return
	}
	taken := append([]elem(nil), c.ridden[i:]...)
	c.ridden = c.ridden[:i]
	c.s -= cut
	c.pending = append(taken, c.pending...)
	c.ride(cut - need)
	c.transition(gait.MediumWalk, actRef{Act: sheet.Act{Pos: a.Pos}, mov: a.mov})
	c.flush()
	c.recount(i)
}

// recount finds the pieces at which boxes begin again after pieces from i on were cut anew.
func (c *compiler) recount(i int) {
	for k := range c.starts[:c.mov+1] {
		m := &c.starts[k]
		if m.n < i {
			continue
		}
		m.n = len(c.ridden)
		for j := i; j < len(c.ridden); j++ {
			if math.Abs(c.ridden[j].s0-m.s) < 1e-6 {
				m.n = j
				break
			}
		}
	}
}

// reinBack rides backwards from a halt.
func (c *compiler) reinBack(a actRef, arr arrival) {
	c.flush()
	if n := len(c.ridden); n == 0 || !c.ridden[n-1].spot {
		c.say("A halt before the rein-back is implied.")
		if c.inCanter() {
			c.problem(a.Pos, sheet.Warning, "halt, then rein-back", "a rein-back is asked out of %s; a halt is put before it", c.variety)
			c.also(c.paceAt)
		}
		b := a
		b.Seconds, b.Quals = 0, nil
		c.halt(b, arrival{ok: true})
	}
	steps := midCount(a)
	if a.Unit == "lengths" {
		steps = 4 * max(a.Count, 1)
	}
	length := 0.0
	if steps == 0 && a.SizeM > 0 {
		length = math.Min(a.SizeM, 6)
		steps = int(length/c.stepBack() + 0.5)
	}
	if steps == 0 {
		steps = 4
		c.say("The steps are not given; 4 are taken.")
		c.problem(a.Pos, sheet.Note, "rein-back 4 steps", "the number of steps is not given; 4 are taken")
	}
	if steps > 12 {
		c.problem(a.Pos, sheet.Error, "3 to 6 steps", "a rein-back of %d steps is not asked of a horse; allowed: 1 to 12", steps)
		steps = 12
	}
	c.pushBack(a, steps)
}

func (c *compiler) stepBack() float64 {
	f, _ := c.opts.Horse.Figures(gait.ReinBackVar)
	return f.StrideM / 2
}

func (c *compiler) pushBack(a actRef, steps int) {
	h := c.lastHeading()
	length := float64(steps) * c.stepBack()
	if room := float64(c.track.hit(c.at, (h + arena.Angle(math.Pi)).Norm()).Dist(c.at)); room < length {
		c.problem(a.Pos, sheet.Error, "", "there is no room behind for %d steps: %.1f m for %.1f m", steps, room, length)
		length = math.Max(0.2, room-0.1)
		if room < 0.5 {
			return
		}
	}
	from := c.here()
	onTrack, perp := c.onTrack, c.perp
	c.push(elem{start: c.at, heading: h, length: length, back: true})
	c.push(elem{start: c.at, heading: h, spot: true, hold: gait.Seconds(value("rein_back_pause_s"))})
	c.flush()
	c.onTrack, c.perp = onTrack, false
	if perp {
		c.onTrack = false
	}
	c.facing = h
	l := c.letterHere(actRef{Act: sheet.Act{At: a.At}})
	c.figure(terms.ReinBack, from, c.here(), Figure{At: l, Variety: gait.ReinBackVar, Count: steps, Asked: arena.Metres(length)})
	c.halted = true
	c.say("Rein-back, %d steps (%.1f m).", steps, length)
}
