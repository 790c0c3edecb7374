package rideplan

import (
	"math"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
)

// goPlace rides to where an act happens. The returned span is the stretch where it may happen
// (between two letters), and the rest of a route is what the act is ridden along.
type arrival struct {
	from, to mark     // of "between"
	between  bool     // the place is a stretch
	route    []string // letters after the first
	each     bool     // at each crossing of the centre line
	ok       bool
}

// stretchActs happen on one spot of a stretch: with two letters they mean between them.
var spotActs = map[string]bool{"turn on the haunches": true, "pirouette": true, "half pirouette": true,
	"quarter pirouette": true, "turn on the forehand": true, "halt": true, "rein-back": true}

func (c *compiler) goPlace(a actRef) arrival {
	p := a.At
	if p == nil {
		if (a.first || a.Then || a.firstPart) && a.Kind != "salute" && !c.halted {
			c.flush()
		}
		return arrival{ok: true}
	}
	if p.Kind == sheet.Portion {
		return c.goPortion(p.Fraction)
	}
	if p.Line != "" {
		return c.goLine(a, p)
	}
	letters := c.known(p)
	if len(letters) == 0 {
		return arrival{}
	}
	switch {
	case p.Kind == sheet.Between && len(letters) > 1 && c.alongBetween(a):
		c.goLetter(letters[0])
		return arrival{ok: true, route: letters[1:]}
	case p.Kind == sheet.Between && len(letters) > 1, p.Kind == sheet.Route && len(letters) == 2 && spotActs[a.Kind]:
		return c.goBetween(a, letters[0], letters[1])
	case p.Kind == sheet.Before:
		return c.goBefore(letters[0])
	case p.Kind == sheet.After:
		c.goLetter(letters[0])
		d := value("before_m")
		c.ensure(d)
		c.ride(d)
		return arrival{ok: true}
	case p.Kind == sheet.EachCross:
		return arrival{ok: true, each: true}
	}
	if a.first && len(letters) > 1 && c.onSerpentine() {
		c.flush() // a new box along letters begins when the serpentine is done, not where it crosses them
	}
	c.goLetter(letters[0])
	return arrival{ok: true, route: letters[1:]}
}

// onSerpentine reports whether a serpentine of an earlier box is still to be ridden.
func (c *compiler) onSerpentine() bool {
	n := len(c.pending)
	return n > 0 && c.serpentineMov <= c.mov && c.pending[n-1].end().Dist(c.serpentineTo) < 1e-6
}

// alongBetween reports whether an act between two letters fills the way between them.
func (c *compiler) alongBetween(a actRef) bool {
	switch a.Kind {
	case "pace", "flying change", "simple change", "trot change", "change leg", "give and retake", "circle", "volte", "turn", "half circle", "track", "centre line", "stretch":
		return a.Kind == "pace" && (a.Is("some") || isLongerAct(a))
	}
	return !spotActs[a.Kind]
}

// goPortion rides to a part of the pending figure.
func (c *compiler) goPortion(f float64) arrival {
	if c.circle != nil && len(c.pending) > 0 && c.pending[0].figure != 0 {
		done := c.circle.length - c.pendingLength()
		c.ride(math.Max(0, f*c.circle.length-done))
		return arrival{ok: true}
	}
	c.ride(f * c.pendingLength())
	return arrival{ok: true}
}

// goLine rides to where pending crosses a named line.
func (c *compiler) goLine(a actRef, p *sheet.Place) arrival {
	if p.Kind == sheet.EachCross {
		return arrival{ok: true, each: true}
	}
	if p.Kind != sheet.Over && c.onLine(p.Line) {
		return arrival{ok: true}
	}
	x := 0.0
	if p.Line == "quarter line" {
		x = math.Copysign(float64(c.board.Width)/4, c.at.X)
	}
	if p.Kind == sheet.Over || p.Kind == sheet.Before || p.Kind == sheet.After || p.Line == "centre line" {
		if d, ok := c.crossing(x, 0.5); ok {
			switch p.Kind {
			case sheet.Before:
				d -= value("before_m")
			case sheet.After:
				d += value("before_m")
			}
			c.ride(math.Max(d, 0))
		}
	}
	return arrival{ok: true}
}

// onLine reports whether the horse is already on the line named.
func (c *compiler) onLine(line string) bool {
	x := math.Abs(c.at.X)
	return line == "centre line" && x < 0.3 || line == "quarter line" && math.Abs(x-float64(c.board.Width)/4) < 0.3
}

// goBetween rides to the middle of the stretch between two letters.
func (c *compiler) goBetween(a actRef, l1, l2 string) arrival {
	q1, _ := c.point(l1)
	q2, _ := c.point(l2)
	if arr, ok := c.betweenPending(a, q1, q2); ok {
		return arr
	}
	if swap := c.swapBetween(q1, q2, l1, l2); swap {
		l1, l2 = l2, l1
		q1, q2 = q2, q1
	}
	c.goLetter(l1)
	from := c.here()
	if _, ok := c.findPending(q2, nearLetter, false); !ok {
		c.flush()
		c.leg(l2)
	}
	d, ok := c.findPending(q2, nearLetter, true)
	if !ok {
		d = c.pendingLength()
	}
	if a.first {
		c.beginMovement(a)
	}
	arr := arrival{ok: true, between: true, from: from, to: c.ahead(d)}
	c.ride(d / 2)
	return arr
}

// betweenPending finds both letters on the pending line or circle.
func (c *compiler) betweenPending(a actRef, q1, q2 arena.Point) (arrival, bool) {
	if len(c.pending) == 0 {
		return arrival{}, false
	}
	tol := nearLetter
	circle := c.pending[0].figure != 0
	if circle {
		tol = 2.6
	}
	d1, ok1 := c.findPending(q1, tol, circle)
	d2, ok2 := c.findPending(q2, tol, circle)
	if circle && c.circle != nil && c.circle.mov == c.mov {
		own, ok := c.point(c.circle.letter)
		if ok && own == q1 && a.mov != c.circle.mov { // a new box from the circle's own letter: the circle is done
			c.flush()
			return arrival{}, false
		}
		if ok && own == q2 {
			d2, ok2 = c.pendingLength(), true
		} else if ok && own == q1 && ok2 {
			d1, ok1 = 0, true
		}
	}
	if !ok1 || !ok2 || d2 < d1 {
		return arrival{}, false
	}
	arr := arrival{ok: true, between: true, from: c.ahead(d1), to: c.ahead(d2)}
	c.ride((d1 + d2) / 2)
	return arr, true
}

// swapBetween reports whether the second letter comes first on the track ahead.
func (c *compiler) swapBetween(q1, q2 arena.Point, l1, l2 string) bool {
	if !c.onTrack || !c.onBoards(l1) || !c.onBoards(l2) || len(c.pending) > 0 {
		return false
	}
	u := c.track.metre(c.at)
	d1, d2 := c.track.between(u, c.track.metre(q1), c.rein), c.track.between(u, c.track.metre(q2), c.rein)
	if d1 > c.track.total()-1 {
		d1 = 0
	}
	if d2 > c.track.total()-1 {
		d2 = 0
	}
	return d2 < d1
}

// goBefore rides to a few metres before a letter.
func (c *compiler) goBefore(l string) arrival {
	q, _ := c.point(l)
	d, ok := c.findPending(q, nearLetter, false)
	if !ok && c.circle != nil && c.circle.letter == l && len(c.pending) > 0 && c.pending[0].figure != 0 {
		d, ok = c.pendingLength(), true // before the circle closes
	}
	if !ok {
		c.flush()
		c.reach(l)
		d = c.pendingLength()
	}
	c.ride(math.Max(0, d-value("before_m")))
	return arrival{ok: true}
}

// placeWords says where an act happens in words.
func placeWords(p *sheet.Place) string {
	switch {
	case p == nil:
		return ""
	case p.Kind == sheet.Portion:
		return "in the part named of the figure"
	case p.Line != "":
		return strings.Replace(string(p.Kind), "at", "on", 1) + " the " + p.Line
	case len(p.Letters) == 0:
		return ""
	case p.Kind == sheet.Between && len(p.Letters) > 1:
		return "between " + p.Letters[0] + " and " + p.Letters[1]
	case p.Kind == sheet.Route:
		return strings.Join(p.Letters, "-")
	case p.Kind == sheet.At || p.Kind == sheet.Near:
		return "at " + p.Letters[0]
	}
	return string(p.Kind) + " " + p.Letters[0]
}
