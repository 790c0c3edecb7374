package report

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/draw"
	"ringcraft/internal/measure"
	"ringcraft/internal/rideplan"
)

// Origin is where on the ride, and where on the plan, a number comes from.
type Origin struct {
	// From and To are its stretch in seconds of the ride's clock, both -1 where it is not known.
	From float64 `json:"from"`
	To   float64 `json:"to"`
	// Point says that it comes from one place: an instant, or a time of standing still.
	Point bool `json:"point"`
	// AskedFrom and AskedTo are the metres of the plan ridden on that stretch, -1 where there are none;
	// AskedAt is the metre at which the plan asks it, -1 where it names none.
	AskedFrom float64 `json:"askedFrom"`
	AskedTo   float64 `json:"askedTo"`
	AskedAt   float64 `json:"askedAt"`
	Words     string  `json:"where"` // "from 0:33 to 0:42, at E"
}

// onePlace is how far apart in metres the ends of a stretch may lie to be shown as one place.
const onePlace = 1.0

// OriginOf finds where a measure of a movement comes from: its own stretch, or the whole movement where it
// is put together from several; line is the ride, nil without a recording.
func OriginOf(m measure.Measure, mv *ReviewMovement, p *rideplan.Plan, line []Instant) Origin {
	o := Origin{From: -1, To: -1, AskedFrom: -1, AskedTo: -1, AskedAt: -1}
	if m.AtM != nil {
		o.AskedAt = hundredth(*m.AtM)
	}
	switch {
	case m.FromS != nil && m.ToS != nil:
		o.From, o.To = hundredth(*m.FromS), hundredth(*m.ToS)
	case m.AtS != nil:
		o.From, o.To = hundredth(*m.AtS), hundredth(*m.AtS)
	case len(line) > 0 && mv.StartS != nil && mv.EndS != nil:
		o.From, o.To = hundredth(*mv.StartS), hundredth(*mv.EndS)
	}
	if o.From >= 0 {
		o.Point = stoodAt(line, o.From, o.To)
		if a, z, ok := metresOver(line, o.From, o.To); ok && !o.Point {
			o.AskedFrom, o.AskedTo = a, z
		}
	}
	o.Words = originWords(o, p)
	return o
}

// stoodAt reports whether the ride did not leave one place between two seconds.
func stoodAt(line []Instant, from, to float64) bool {
	if to-from < 0.05 {
		return true
	}
	var lo, hi arena.Point
	first := true
	for _, q := range line {
		if q.T < from || q.T > to {
			continue
		}
		at := q.Point
		if first {
			lo, hi, first = at, at, false
		}
		lo = arena.Point{X: min(lo.X, at.X), Y: min(lo.Y, at.Y)}
		hi = arena.Point{X: max(hi.X, at.X), Y: max(hi.Y, at.Y)}
	}
	return !first && float64(hi.Dist(lo)) < onePlace
}

// metresOver are the metres of the plan that were ridden between two seconds.
func metresOver(line []Instant, from, to float64) (a, z float64, ok bool) {
	a, z = math.Inf(1), math.Inf(-1)
	for _, q := range line {
		if q.T >= from && q.T <= to && q.PlanM >= 0 {
			a, z = min(a, q.PlanM), max(z, q.PlanM)
		}
	}
	return a, z, z > a
}

// originWords says when and where: "from 0:33 to 0:42, at E".
func originWords(o Origin, p *rideplan.Plan) string {
	when := ""
	switch from, to := draw.Clock(o.From), draw.Clock(o.To); {
	case o.From < 0:
	case o.Point && from == to:
		when = "at " + from
	default:
		when = "from " + from + " to " + to
	}
	where := ""
	switch {
	case p == nil || p.Board == nil || len(p.Samples) == 0:
	case o.AskedTo > o.AskedFrom:
		where = betweenLetters(p, o.AskedFrom, o.AskedTo)
	case o.AskedAt >= 0:
		where = atLetter(p, o.AskedAt)
	}
	if when != "" && where != "" {
		return when + ", " + where
	}
	return when + where
}

// atLetter names the letter at or near a metre of the plan.
func atLetter(p *rideplan.Plan, m float64) string {
	name, away := p.Board.NearestLetter(p.SampleAtM(arena.Metres(m)).Point)
	if away <= 1.5 {
		return "at " + name
	}
	return "near " + name
}

// betweenLetters names the letters at the ends of a stretch of the plan, one where they are the same.
func betweenLetters(p *rideplan.Plan, from, to float64) string {
	a, _ := p.Board.NearestLetter(p.SampleAtM(arena.Metres(from)).Point)
	z, _ := p.Board.NearestLetter(p.SampleAtM(arena.Metres(to)).Point)
	if a == z {
		return "at " + a
	}
	return "between " + a + " and " + z
}

func hundredth(v float64) float64 { return round(v, 2) }
