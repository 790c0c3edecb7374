package sim

import (
	"math"
	"math/rand/v2"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// LegFaults states what a horse does with its legs in single movements. The zero value does as asked.
type LegFaults struct {
	TempoIn   map[int]float64 // factor on the stride rate of a movement
	TurnTempo float64         // factor on the stride rate of turns on the spot, 0 is 1
	Steps     map[int]int     // steps of the rein-back of a movement beyond those asked
	Missed    []int           // movements whose changes of leg are not done
	Twice     []int           // movements in which the horse changes back four strides after a flying change
	Odd       map[int]float64 // factor on the duration of one stride in the middle of a movement
}

// walker draws strides one after the other.
type walker struct {
	tr     *Truth
	plan   *rideplan.Plan
	going  Going
	rng    *rand.Rand
	legs   Legs
	wrong  bool          // the canter is on the other lead than asked
	asked  rideplan.Hand // lead asked of the stride before
	back   int           // strides until it changes back unasked, 0 never
	odd    map[int]bool  // movements whose odd stride is ridden
	spread float64
}

// step draws the stride that begins at t and returns when the next begins.
func (w *walker) step(t gait.Seconds) gait.Seconds {
	f := w.tr.stepping(w.plan, t)
	if late := w.tr.stepping(w.plan, t-w.going.Late); !f.still && f.variety != gait.ReinBackVar && late.variety != gait.ReinBackVar {
		f = late // standing and going back are of body and legs at once
	}
	hz := w.rate(f)
	if hz == 0 || f.still {
		return t + 0.05
	}
	if f.variety == gait.ReinBackVar {
		return w.reinBack(t, f)
	}
	s := Footfall{T: t, Duration: gait.Seconds((1 + w.spread*math.Max(-2.5, math.Min(2.5, w.rng.NormFloat64()))) / hz), Pace: f.variety.PaceOf()}
	if k := w.going.Odd[f.movement]; k > 0 && !w.odd[f.movement] && w.settledIn(s.Pace) {
		s.Duration *= gait.Seconds(k)
		w.odd[f.movement] = true
	}
	if s.Pace == gait.Canter {
		s.Lead = w.lead(f)
	}
	w.legs = append(w.legs, s)
	return t + s.Duration
}

// rate is the stride rate asked, with the faults of tempo on it.
func (w *walker) rate(f footing) float64 {
	fig, ok := gait.Lookup(f.variety)
	if !ok || fig.StrideM <= 0 {
		return 0
	}
	hz := float64(fig.Speed) / fig.StrideM * w.going.Tempo
	if k := w.going.TempoIn[f.movement]; k > 0 {
		hz *= k
	}
	if k := w.going.TurnTempo; k > 0 && f.turning {
		hz *= k
	}
	return hz
}

// settledIn reports whether the last eight strides were of the pace, so that one that differs stands out.
func (w *walker) settledIn(p gait.Pace) bool {
	n := len(w.legs)
	for i := n - 1; i >= max(0, n-8); i-- {
		if w.legs[i].Pace != p {
			return false
		}
	}
	return n >= 8
}

// reinBack steps back for as long as the ride goes back, in as many steps as are ridden: two a stride, and
// of the last stride perhaps only one.
func (w *walker) reinBack(t gait.Seconds, f footing) gait.Seconds {
	end := t
	for g := f; g.variety == gait.ReinBackVar && !g.still; g = w.tr.stepping(w.plan, end) {
		end += 0.02
	}
	n := 4
	for _, fig := range w.plan.MovementByNumber(f.movement).Figures {
		if fig.Kind == "rein-back" && fig.Count > 0 {
			n = fig.Count
		}
	}
	n = max(n+w.going.Steps[f.movement], 1)
	stride := 2 * (end - t) / gait.Seconds(n)
	for k := 0; k < n; k += 2 {
		s := Footfall{T: t + gait.Seconds(k/2)*stride, Duration: stride, Pace: gait.ReinBack}
		if k+1 == n {
			s.Until = end
		}
		w.legs = append(w.legs, s)
	}
	return end
}

// lead is the lead of the next canter stride: as asked, but for leads begun wrong, changes not done and
// changes nobody asked for.
func (w *walker) lead(f footing) rideplan.Hand {
	n := len(w.legs)
	cantered := n > 0 && w.legs[n-1].Pace == gait.Canter
	flying := cantered && w.asked != f.lead
	switch {
	case flying && wrongIn(w.going.Missed, f.movement):
		w.wrong = !w.wrong
	case flying && wrongIn(w.going.Twice, f.movement):
		w.back = 4
	case cantered:
	case w.asked != f.lead && f.simple && wrongIn(w.going.Missed, f.movement):
		w.wrong = !w.wrong
	case !f.simple:
		w.wrong = wrongIn(w.going.WrongLeads, f.movement)
	}
	if w.back > 0 {
		if w.back--; w.back == 0 {
			w.wrong = !w.wrong
		}
	}
	w.asked = f.lead
	if w.wrong {
		return otherHand(f.lead)
	}
	return f.lead
}

// figuresAt notes what of a movement lies at a metre: a turn on the spot, a simple change.
func (f *footing) figuresAt(mv *rideplan.Movement, at arena.Metres) {
	if mv == nil {
		return
	}
	for _, fig := range mv.Figures {
		switch fig.Kind {
		case "turn on the haunches", "walk pirouette", "canter pirouette":
			f.turning = f.turning || fig.StartM <= at && at <= fig.EndM
		case "simple change":
			f.simple = f.simple || fig.StartM-3 <= at && at <= fig.EndM+3
		}
	}
}

// Changes counts the changes of leg between two times, over what of walk or trot lies between too.
func (l Legs) Changes(from, to gait.Seconds) int {
	n, last := 0, rideplan.NoHand
	for _, s := range l {
		if s.Pace != gait.Canter || s.T < from || s.T > to {
			continue
		}
		if last != rideplan.NoHand && s.Lead != last {
			n++
		}
		last = s.Lead
	}
	return n
}

// StepsBack counts the steps of rein-back that begin between two times.
func (l Legs) StepsBack(from, to gait.Seconds) int {
	n := 0
	for _, s := range l {
		if s.Pace != gait.ReinBack || s.T < from || s.T > to {
			continue
		}
		if n += 2; s.Until > 0 {
			n--
		}
	}
	return n
}

// Begins is when a pace begins that follows another, nearest to a time; ok is false without one.
func (l Legs) Begins(before, after gait.Pace, near gait.Seconds) (t gait.Seconds, ok bool) {
	for i := 1; i < len(l); i++ {
		if l[i-1].Pace != before || l[i].Pace != after {
			continue
		}
		if !ok || math.Abs(float64(l[i].T-near)) < math.Abs(float64(t-near)) {
			t, ok = l[i].T, true
		}
	}
	return t, ok
}
