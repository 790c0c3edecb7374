// Package rideplan compiles a sheet to one continuous line with pace, bend, sideways angle
// and lead at every metre, and to what it asks: figures, times, strides, demands, pressure.
package rideplan

import (
	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// Version names the compiler's results; stored plans of another version are recomputed.
const Version = 1

// Hand is a side as the rider names it, used for rein, bend and lead alike.
type Hand string

// The hands; NoHand means straight, none or not stated.
const (
	NoHand Hand = ""
	Left   Hand = "left"
	Right  Hand = "right"
)

// Plan is a compiled sheet. It is immutable after Compile.
type Plan struct {
	Name, Level, Rules string
	Board              *arena.Board
	Path               arena.Path   // the line itself, without time
	Inset              arena.Metres // rider's body to the boards on the track
	NoseToBody         arena.Metres
	Movements          []Movement   // in riding order, one per number
	Samples            []Sample     // at most 0.25 m apart along the line and denser in time where it stands still
	Total              gait.Seconds // A to the end of the last salute
	Length             arena.Metres
	MaxPoints          int          // marks: 10 x coefficients, movements and collectives
	PublishedS         gait.Seconds // the sheet's own time, 0 when it gives none
	Collectives        []Collective
	Problems           []sheet.Problem // parser's and compiler's, in file order
	begins             []state         // how each movement begins
}

// Collective is a mark for the whole ride.
type Collective struct {
	Name        string
	Coefficient int
}

// Span is a from-to on the plan: seconds from the start at A and metres along the line.
type Span struct {
	StartS, EndS gait.Seconds
	StartM, EndM arena.Metres
}

// Movement is one numbered box of the sheet.
type Movement struct {
	Number      int
	Letters     string // as typed, parts joined by "; "
	Text        string // as typed, parts joined by "; "
	Words       string // as typed, the letters of each part before its wording, parts joined by "; "
	Coefficient int
	MaxMark     int      // the best mark of the box, 10 as a rule
	Directives  []string // what the judge looks for, as typed
	Span
	Strides float64
	Reading string // how each part was understood, in plain words
	// Figures are the measurable things asked, in riding order.
	Figures  []Figure
	Demands  []Demand
	Accuracy []Accuracy
	Line     int // line of the sheet file where the movement begins
}

// Kinds returns the distinct kinds of the movement's figures in riding order.
func (m Movement) Kinds() []terms.Kind {
	var out []terms.Kind
	seen := map[terms.Kind]bool{}
	for _, f := range m.Figures {
		if !seen[f.Kind] {
			seen[f.Kind] = true
			out = append(out, f.Kind)
		}
	}
	return out
}

// Figure is one thing asked on the ground. Sizes and places are those of the rider's body:
// Nominal is the sheet's word, Asked what a correct ride measures (inset taken off once per
// wall touched). Fields that do not apply are zero.
type Figure struct {
	Kind terms.Kind
	Span
	Variety gait.Variety // the pace it is ridden in (for a transition: the new one)
	From    gait.Variety // transition: the pace before
	Hand    Hand         // rein of a circle or turn, side of travel of lateral work
	Bend    Hand
	Lead    Hand         // canter lead; counter-canter when it differs from the rein
	At      string       // letter it happens at or starts at, "" when none
	To      string       // letter it leads to, "" when none
	Place   arena.Point  // where it is asked: a transition's or halt's point for the body, a circle's start
	Centre  arena.Point  // circles, voltes, half circles, pirouettes
	Nominal arena.Metres // diameter, depth of a loop, distance, as the sheet says
	Asked   arena.Metres
	Angle   arena.Angle  // sideways angle of lateral work, unsigned; turn of a pirouette
	Count   int          // loops, changes, steps of rein-back
	Every   int          // changes every n-th stride
	Seconds gait.Seconds // asked duration of a halt, 0 when not stated
	// Progressive is set where the sheet allows the change of pace to be gradual, and
	// Between where it may happen anywhere from StartM to EndM.
	Progressive, Between bool
	// Spiral is set where the sheet asks the circle to change its size on the way.
	Spiral  bool
	Strides float64 // strides over the span
}

// Accuracy is something of a movement that a judge can measure by eye, and how far it may be
// off before a judge sees it.
type Accuracy struct {
	What      string  // "circle diameter", "halt place", ... (names of the measures)
	At        string  // letter, "" when none
	Asked     float64 // what a correct ride shows
	Tolerance float64 // the difference a judge can see
	Unit      string  // m, s, deg, steps
	Source    string  // of the tolerance
}

// Demand is something the rider must prepare: what, where, the time it needs and has.
type Demand struct {
	What                     string
	At                       gait.Seconds
	AtM                      arena.Metres
	Letter                   string // nearest letter, for people
	Needs                    gait.Seconds
	Has                      gait.Seconds
	NeedsStrides, HasStrides float64
	PrepareM                 arena.Metres // metre of the line where preparation must begin
	PrepareLetter            string       // nearest letter to that place
	Pressure                 float64      // Needs / Has
	Source                   string       // where Needs comes from
}

// Sample is the plan at one instant.
type Sample struct {
	M arena.Metres
	T gait.Seconds
	arena.Point
	Heading  arena.Angle // where the horse faces along the line (kept while reining back)
	Movement int         // number
	Variety  gait.Variety
	Bend     Hand
	// Angle is the sideways angle between body and line, unsigned; Side the side of the
	// line on which the forehand is (shoulder-in right: Right).
	Angle     arena.Angle
	Side      Hand
	Pivot     arena.Metres // part of the body that stays on the line in work along it: metres ahead of the rider's body, behind negative
	Lead      Hand
	Speed     gait.Speed
	Curvature float64
}

// BodyPoint is the place of the part of the horse that many metres ahead of the rider's body,
// behind negative. In shoulder-in and renvers the hind legs stay on the line and the forehand
// comes in, in travers and shoulder-out the forehand stays and the haunches come in, so that
// no part leaves the boards.
func (s Sample) BodyPoint(ahead arena.Metres) arena.Point {
	turn := s.Angle
	if s.Side == Right {
		turn = -turn
	}
	return s.Point.Add((s.Heading + turn).Unit().Mul(float64(ahead - s.Pivot)))
}

// SampleAt returns the plan at time t by interpolation, clamped to its ends.
func (p *Plan) SampleAt(t gait.Seconds) Sample {
	return p.interpolate(func(s Sample) float64 { return float64(s.T) }, float64(t))
}

// SampleAtM returns the plan m metres along its line, clamped to its ends. Where the line
// stands still the first instant is returned.
func (p *Plan) SampleAtM(m arena.Metres) Sample {
	return p.interpolate(func(s Sample) float64 { return float64(s.M) }, float64(m))
}

// MovementByNumber returns the movement with that number, nil when there is none.
func (p *Plan) MovementByNumber(n int) *Movement {
	for i := range p.Movements {
		if p.Movements[i].Number == n {
			return &p.Movements[i]
		}
	}
	return nil
}

func (p *Plan) interpolate(key func(Sample) float64, v float64) Sample {
	n := len(p.Samples)
	if n == 0 {
		return Sample{}
	}
	lo, hi := 0, n-1
	if v <= key(p.Samples[lo]) {
		return p.Samples[lo]
	}
	if v >= key(p.Samples[hi]) {
		return p.Samples[hi]
	}
	for hi-lo > 1 { // invariant: key(lo) < v <= key(hi)
		mid := (lo + hi) / 2
		if key(p.Samples[mid]) < v {
			lo = mid
		} else {
			hi = mid
		}
	}
	a, b := p.Samples[lo], p.Samples[hi]
	f := (v - key(a)) / (key(b) - key(a))
	out := a
	if f >= 0.5 {
		out = b
	}
	out.M = a.M + arena.Metres(f)*(b.M-a.M)
	out.T = a.T + gait.Seconds(f)*(b.T-a.T)
	out.Point = a.Point.Lerp(b.Point, f)
	out.Heading = a.Heading + arena.Angle(f)*b.Heading.Diff(a.Heading)
	out.Speed = a.Speed + gait.Speed(f)*(b.Speed-a.Speed)
	return out
}
