package measure

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
	"ringcraft/internal/track"
)

// Options are what measuring needs besides plan and ride; the zero value is the usual way.
type Options struct {
	Horse gait.Profile // whose tempo is asked; zero: a horse of the usual figures
	// Step is asked before every movement; when it gives an error Ride gives nothing.
	Step track.Step
}

// Ride measures every movement of a ride that was aligned to its plan. A nil ride (no
// recording) gives no measures. Nothing is measured of movements that were not ridden.
func Ride(p *rideplan.Plan, rec *match.Ridden, o Options) Set {
	if p == nil || rec == nil || len(rec.Fixes) == 0 {
		return nil
	}
	r := newRide(p, rec, o)
	out := make(Set, 0, len(p.Movements))
	for i := range p.Movements {
		if o.Step != nil && o.Step(float64(i)/float64(len(p.Movements))) != nil {
			return nil
		}
		mv := &p.Movements[i]
		b := &book{movement: mv}
		if r.hasSpan(mv.Number) {
			r.movement(b)
		}
		out = append(out, Movement{Number: mv.Number, Measures: b.list})
	}
	return out
}

func newRide(p *rideplan.Plan, rec *match.Ridden, o Options) *ride {
	r := &ride{plan: p, rec: rec, d: doubtOf(rec), opts: o}
	r.d.carried = carriedOf(p, rec)
	return r
}

func (r *ride) hasSpan(n int) bool {
	for _, s := range r.rec.Spans {
		if s.Movement == n {
			return true
		}
	}
	return false
}

// movement measures one movement: its figures in riding order, then its pace.
func (r *ride) movement(b *book) {
	for i := range b.movement.Figures {
		r.figure(b, &b.movement.Figures[i])
	}
	r.corners(b)
	r.speed(b)
	r.tempo(b)
}

func (r *ride) figure(b *book, f *rideplan.Figure) {
	switch f.Kind {
	case terms.Circle, terms.Volte, terms.HalfCircle:
		r.circle(b, f)
	case terms.Entry, terms.CentreLine, terms.Straight, terms.TurnAcross, terms.Diagonal, terms.Track:
		r.line(b, f)
	case terms.Halt:
		r.halt(b, f)
	case terms.Transition:
		r.transition(b, f)
		r.lead(b, f)
	case terms.ReinBack:
		r.reinBack(b, f)
	case terms.HalfPass, terms.LegYield, terms.ShoulderIn, terms.ShoulderOut, terms.Travers, terms.Renvers:
		switch {
		case r.inZigZag(b.movement, f):
			r.legAngle(b, f)
		case r.counterChange(b, f):
			r.angle(b, f)
		default:
			r.lateral(b, f)
		}
	case terms.ZigZag:
		r.zigZag(b, f)
	case terms.ChangeInCircle:
		r.circleChange(b, f)
	case terms.TurnOnHaunches, terms.WalkPirouette, terms.CanterPirouette:
		r.turn(b, f)
	case terms.TurnOnForehand:
		r.forehand(b, f)
	case terms.Serpentine, terms.Loop:
		r.loops(b, f)
	case terms.Piaffe:
		r.piaffe(b, f)
	case terms.FlyingChange, terms.ChangeSeries, terms.SimpleChange:
		r.changes(b, f)
	}
	if isBigger(f.Kind) {
		r.bigger(b, f)
	}
	r.unseen(b, f)
}

// tempo says that positions do not show strides, with what the plan asks.
func (r *ride) tempo(b *book) {
	v, share := r.mainVariety(b)
	if share == 0 {
		return
	}
	e := entry{what: "tempo", asked: math.NaN(), atM: float64(b.movement.StartM+b.movement.EndM) / 2}
	if f, ok := r.opts.Horse.Figures(v); ok && f.StrideM > 0 {
		e.asked = 60 * float64(f.Speed) / f.StrideM
	}
	if r.rec.Strides != nil {
		r.motionTempo(b, e, v)
		return
	}
	b.lacks(LacksMotion, e, "positions do not show strides; a tempo is never made from an assumed length of stride. "+needMotion)
}

// mainVariety is the pace in which most of the movement is ridden, and over how many metres.
func (r *ride) mainVariety(b *book) (gait.Variety, float64) {
	s := r.mainStretch(b)
	return s.variety, s.z - s.a
}

// mainStretch is the movement's longest stretch in one pace.
func (r *ride) mainStretch(b *book) stretch {
	var best stretch
	for _, s := range r.stretches(float64(b.movement.StartM), float64(b.movement.EndM)) {
		if s.whole > best.whole { // eased, several may be as short as the shortest
			best = s
		}
	}
	return best
}
