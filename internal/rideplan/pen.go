package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// elem is a piece of the nominal line: straights that may meet at kinks, arcs that never do.
// The kinks are rounded afterwards (fillet.go).
type elem struct {
	start   arena.Point
	heading arena.Angle
	length  float64
	curv    float64 // 1/m, left positive
	back    bool
	forced  bool         // a spot turn because no line fits
	spot    bool         // stands: a halt, or a turn on the spot by turn
	turn    arena.Angle  // only with spot
	hold    gait.Seconds // only with spot
	radius  float64      // of the rounding where this piece begins, 0: as the pace allows
	lat     *lateral
	figure  int // id of the circle this belongs to, 0: none

	// filled in when ridden
	s0      float64 // nominal metres at the start
	variety gait.Variety
	lead    Hand
	rein    Hand
	stretch bool
	cause   int // index of the act that made it
}

// lateral is how the body stands to the line.
type lateral struct {
	kind     string
	hand     Hand // as named
	bend     Hand
	side     Hand        // side of the line on which the forehand is
	angle    arena.Angle // constant angle, or
	parallel bool        // body keeps the direction body instead
	body     arena.Angle
}

func (e elem) endHeading() arena.Angle {
	if e.spot {
		return e.heading + e.turn
	}
	return e.heading + arena.Angle(e.curv*e.length)
}

func (e elem) segment() arena.Segment {
	return arena.Segment{Start: e.start, Heading: e.heading, Length: arena.Metres(e.length), Curvature: e.curv, Backward: e.back}
}

func (e elem) end() arena.Point { return e.segment().At(arena.Metres(e.length)).Point }

// split cuts e after d metres.
func (e elem) split(d float64) (a, b elem) {
	a, b = e, e
	pose := e.segment().At(arena.Metres(d))
	a.length = d
	b.start, b.heading, b.length, b.radius = pose.Point, pose.Heading, e.length-d, 0
	return a, b
}

// mark is a moment of the nominal line: metres, and how many pieces came before, which
// tells before from after a halt at the same metre.
type mark struct {
	s float64
	n int
}

// pen draws the nominal line. Everything is first pushed to pending, from where it is ridden
// up to the place of the next act, so that "over X" can still find a line begun at M.
type pen struct {
	ridden  []elem
	pending []elem
	s       float64 // nominal metres ridden

	// the end of pending
	at      arena.Point
	facing  arena.Angle
	onTrack bool
	perp    bool // on the track, facing the boards, side not yet chosen
	rein    Hand

	inside func(arena.Point) bool // the boards

	// the horse now
	variety gait.Variety
	lead    Hand
	stretch bool
	act     int
	started bool // the first place is set
}

func (p *pen) here() mark { return mark{p.s, len(p.ridden)} }

// ahead is the mark d metres of pending from here.
func (p *pen) ahead(d float64) mark { return mark{p.s + d, 0} }

func (p *pen) pendingLength() float64 {
	l := 0.0
	for _, e := range p.pending {
		l += e.length
	}
	return l
}

// ride takes d metres of pending; d at or past its end takes all.
func (p *pen) ride(d float64) {
	for len(p.pending) > 0 {
		e := p.pending[0]
		if d < e.length-1e-3 {
			if d > 1e-3 {
				a, b := e.split(d)
				p.take(a)
				p.pending[0] = b
			}
			return
		}
		p.take(e)
		p.pending = p.pending[1:]
		d -= e.length
	}
}

func (p *pen) take(e elem) {
	e.s0, e.variety, e.lead, e.rein, e.stretch, e.cause = p.s, p.variety, p.lead, p.rein, p.stretch, p.act
	if e.spot && e.turn == 0 && e.hold > 0 {
		e.variety = gait.HaltVariety
	}
	if e.back {
		e.variety = gait.ReinBackVar
	}
	p.ridden = append(p.ridden, e)
	p.s += e.length
}

// endState is where pending ends.
type endState struct {
	at            arena.Point
	facing        arena.Angle
	onTrack, perp bool
	rein          Hand
}

func (p *pen) endNow() endState { return endState{p.at, p.facing, p.onTrack, p.perp, p.rein} }

func (p *pen) setEnd(e endState) {
	p.at, p.facing, p.onTrack, p.perp, p.rein = e.at, e.facing, e.onTrack, e.perp, e.rein
}

func (p *pen) flush() { p.ride(math.Inf(1)) }

// last is the piece the end of pending continues.
func (p *pen) last() (elem, bool) {
	if n := len(p.pending); n > 0 {
		return p.pending[n-1], true
	}
	if n := len(p.ridden); n > 0 {
		return p.ridden[n-1], true
	}
	return elem{}, false
}

// push adds e where pending ends; lengths under a tenth of a millimetre are dropped.
func (p *pen) push(e elem) {
	if !e.spot && e.length < 1e-4 {
		return
	}
	p.pending = append(p.pending, e)
	p.at, p.facing = e.end(), e.endHeading()
}

// straightTo pushes the straight to q. Where the line cannot be rounded afterwards (it follows
// an arc or a halt, or turns back sharply) an arc of radius r leads into it.
func (p *pen) straightTo(q arena.Point, r float64, lat *lateral) {
	if q.Dist(p.at) < 1e-6 {
		return
	}
	h := q.Sub(p.at).Heading()
	before, ok := p.last()
	turn := 0.0
	if ok {
		turn = math.Abs(float64(h.Diff(before.endHeading())))
	}
	if ok && turn > 1e-7 && !(lat == nil && p.flowsOut(before, q)) && (before.curv != 0 || before.spot || before.back || turn > float64(arena.Degrees(135))) {
		p.arcToward(q, before.endHeading(), r, lat)
	}
	h = q.Sub(p.at).Heading()
	if q.Dist(p.at) > 1e-6 {
		p.push(elem{start: p.at, heading: h, length: float64(q.Dist(p.at)), lat: lat})
	}
}

// fits reports whether a piece stays inside the boards: its ends, and where an arc reaches
// furthest along either axis.
func (p *pen) fits(e elem) bool {
	if p.inside == nil {
		return true
	}
	if !p.inside(e.end()) {
		return false
	}
	c, ok := e.segment().Centre()
	if !ok {
		return true
	}
	r, side := 1/math.Abs(e.curv), math.Copysign(1, e.curv)
	from := e.start.Sub(c).Heading()
	for k := range 4 {
		h := arena.Degrees(90 * float64(k))
		sweep := float64(h.Diff(from)) * side
		if sweep < 0 {
			sweep += 2 * math.Pi
		}
		if sweep < math.Abs(e.curv)*e.length && !p.inside(c.Add(h.Unit().Mul(r))) {
			return false
		}
	}
	return true
}

// pivot turns on the spot where no line can be ridden; the turn is reported with the line.
func (p *pen) pivot(h, to arena.Angle) {
	p.push(elem{start: p.at, heading: h, spot: true, turn: to.Diff(h), hold: 2, forced: true})
}

// arcToward pushes the arc of radius r that leaves the line tangent and ends facing q, to the
// nearer side, or to the other where the boards are in the way.
func (p *pen) arcToward(q arena.Point, h arena.Angle, r float64, lat *lateral) {
	side := 1.0
	if h.Unit().Cross(q.Sub(p.at)) < 0 {
		side = -1
	}
	for try := 0; try < 10; try++ {
		e, ok := p.tangentArc(q, h, r, side)
		if ok && e.length < 1e-6 {
			return
		}
		if ok && e.length/r < 1.5*math.Pi && p.fits(e) {
			e.lat = lat
			p.push(e)
			return
		}
		if try%2 == 1 {
			r *= 0.7
		}
		side = -side
	}
	p.pivot(h, q.Sub(p.at).Heading())
}

// tangentArc is the arc from here to where it faces q, seen from its centre on the side given.
func (p *pen) tangentArc(q arena.Point, h arena.Angle, r, side float64) (elem, bool) {
	c := p.at.Add(h.Unit().Left().Mul(side * r))
	d := float64(q.Dist(c))
	if d <= r*1.001 {
		return elem{}, false
	}
	tangent := q.Sub(c).Heading() - arena.Angle(side*math.Acos(r/d))
	sweep := float64(tangent.Diff(p.at.Sub(c).Heading())) * side
	if sweep < -1e-9 {
		sweep += 2 * math.Pi
	}
	return elem{start: p.at, heading: h, length: math.Max(0, sweep) * r, curv: side / r}, true
}

// arc pushes an arc of radius r turning to the hand by sweep radians, tangent to the facing.
// A kink waiting at its start gets a short straight to be rounded on.
func (p *pen) arc(hand Hand, r, sweep, room float64, figure int, lat *lateral) {
	if before, ok := p.last(); ok {
		kink := float64(p.facing.Diff(before.endHeading()))
		if math.Abs(kink) > 1e-7 && !p.flowsInto(hand, r, sweep) {
			d := room * math.Tan(math.Min(math.Abs(kink), 2)/2)
			p.push(elem{start: p.at, heading: p.facing, length: d + 0.01, figure: 0})
		}
	}
	k := 1.0
	if hand == Right {
		k = -k
	}
	e := elem{start: p.at, heading: p.facing, length: r * sweep, curv: k / r, figure: figure, lat: lat}
	for try := 0; !p.fits(e) && r > 1; try++ {
		r *= []float64{0.9999, 0.999, 0.99, 0.95}[min(try/2, 3)]
		e.length, e.curv = r*sweep, k/r
	}
	if p.fits(e) {
		p.push(e)
	}
}
