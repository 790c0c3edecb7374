// Package strides finds pace, stride rate, count and regularity in the motion of a sensor on the
// rider, the saddle or in a pocket, at 25 Hz or more.
//
// No free recording of a horse was at hand: the paces are checked against a simulator argued from
// published figures, the counting against people with a phone in the pocket. docs/RECORDINGS.md says
// what is therefore unproven.
package strides

import (
	"fmt"
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/track"
)

// Seconds is a time on the recording's clock, or a duration.
type Seconds = track.Seconds

// Version names the results of the detector.
const Version = 4

// MinRate is the slowest motion in Hz that is read; with fewer samples a trot beat (2.7 Hz) and its
// first overtone no longer show.
const MinRate = 20

// Options of Detect.
type Options struct {
	// Expected gives the variety that the plan asks at a time, "" when it does not know. It tips a
	// close call and never decides against the motion. nil: no expectation.
	Expected func(Seconds) gait.Variety
	// Step is told how far the work is; when it gives an error, that is the Reason of an empty Result.
	Step track.Step
}

// Lead of a canter.
const (
	LeadLeft  = "left"
	LeadRight = "right"
)

// NoGyroscope is the LeadReason of every canter of a recording without a gyroscope.
const NoGyroscope = "the lead needs a gyroscope"

// Window is what three seconds of motion look like; windows follow each other every half second.
type Window struct {
	T           Seconds // middle
	Pace        gait.Pace
	Probability float64 // of Pace
	StrideHz    float64 // strides a second, 0 at halt
	Regularity  float64 // likeness of one stride to the next, 1 the same
	Symmetry    float64 // likeness of one half stride to the other over Regularity; two-beat paces only
	AmplitudeMS float64 // vertical acceleration, root mean square, m/s2
}

// Stride is one counted stride.
type Stride struct {
	T         Seconds // of its first beat
	Duration  Seconds
	Irregular bool
}

// Span is a stretch in one pace (and one lead).
type Span struct {
	Start, End  Seconds
	EdgeSD      Seconds // doubt of Start and End on the clock of the positions
	Pace        gait.Pace
	Probability float64
	Lead        string // canter with a gyroscope only; "" when it cannot be told
	LeadReason  string // why not, when Lead is ""
	// LeadProbability is that of Lead: the leads differ, but which is left is told by the turns. 0 without a Lead.
	LeadProbability float64
	// LeadGroup tells canter on one lead (1) from canter on the other (2) within one recording, also where which
	// of them is left is not known; 0 when the two cannot be told apart.
	LeadGroup int
	// Flickers are when the swing went over to the other lead for too short a time to be sure of it.
	Flickers   []Seconds
	Strides    []Stride
	Count      float64 // strides, halves counted
	CountSD    float64
	StrideHz   float64
	StrideHzSD float64 // of the mean
	DurationCV float64 // spread of single strides over their mean
	Regularity float64
	// BeatSplit is how unequal the two beats of the trot are in height, over their height; 0 equal, and 0
	// without a gyroscope. Its
	// sign tells the two foot pairs apart within one recording, not which is which.
	BeatSplit float64
	Reason    string // why nothing was counted
}

// Irregularity is one stride that does not fit its neighbours.
type Irregularity struct {
	T      Seconds
	Pace   gait.Pace
	Change float64 // of its duration against its neighbours, +0.2 is a fifth longer
}

// Result is everything that was found. Reason is set, and the rest empty, when nothing can be told.
type Result struct {
	RateHz    float64
	Windows   []Window
	Spans     []Span
	Irregular []Irregularity
	Advice    []string // for people; unevenness is never a diagnosis
	Notes     []string // what was assumed of the sensor
	Reason    string
	Missing   [][2]Seconds // stretches without motion data
	ClockSD   Seconds      // doubt of all times against those of the positions

	sig *signal
}

// Detect reads the motion of a recording.
func Detect(t *track.Track, o Options) Result {
	var r Result
	if len(t.Motion) < track.MinMotion {
		r.Reason = "the recording holds no motion data; paces need an accelerometer at 25 Hz or more"
		return r
	}
	ask := asking{step: o.Step}
	if ask.stop(0) {
		return ask.empty()
	}
	s := newSignal(t)
	r.RateHz, r.sig = s.inputHz, s
	if s.inputHz < MinRate {
		r.Reason = fmt.Sprintf("the motion comes at %.1f Hz; paces need 25 Hz or more", s.inputHz)
		return r
	}
	if len(s.vert) < windowLen*2 {
		r.Reason = "the motion is shorter than six seconds"
		return r
	}
	s.orientByPath(t)
	r.Missing, r.Notes, r.ClockSD = s.missing, s.notes, t.ClockSD
	f := s.features(&ask)
	if ask.stop(doneFeatures) {
		return ask.empty()
	}
	states := classify(f, o.Expected)
	if ask.stop(doneClasses) {
		return ask.empty()
	}
	r.Windows = windowsOf(f, states)
	r.Spans = s.spans(f, states)
	relabel(r.Windows, r.Spans)
	for i := range r.Spans {
		if ask.stop(doneClasses + (1-doneClasses)*float64(i)/float64(len(r.Spans))) {
			return ask.empty()
		}
		s.count(&r.Spans[i])
	}
	if t.HasGyro {
		r.Spans = s.leads(r.Spans)
	} else {
		for i := range r.Spans {
			if r.Spans[i].Pace == gait.Canter {
				r.Spans[i].LeadReason = NoGyroscope
			}
		}
	}
	r.irregularities()
	for i := range r.Spans {
		sp := &r.Spans[i]
		sp.EdgeSD = Seconds(math.Hypot(float64(sp.EdgeSD), float64(r.ClockSD)))
	}
	return r
}

// How far the work is after its parts, of one hour on one machine.
const (
	doneFeatures = 0.8
	doneClasses  = 0.85
	askEvery     = 64 // windows between two looks at the step
)

// asking asks the step and keeps what it said to end the work.
type asking struct {
	step track.Step
	err  error
}

func (a *asking) stop(share float64) bool {
	if a.step != nil && a.err == nil {
		a.err = a.step(share)
	}
	return a.err != nil
}

func (a *asking) empty() Result { return Result{Reason: a.err.Error()} }

// At returns the window nearest to a time; ok is false outside the motion data.
func (r *Result) At(t Seconds) (w Window, ok bool) {
	if len(r.Windows) == 0 || t < r.Windows[0].T-windowS/2 || t > r.Windows[len(r.Windows)-1].T+windowS/2 {
		return Window{}, false
	}
	for _, m := range r.Missing {
		if t > m[0] && t < m[1] {
			return Window{}, false
		}
	}
	i := int(math.Round(float64(t-r.Windows[0].T) / hopS))
	return r.Windows[min(max(i, 0), len(r.Windows)-1)], true
}

// relabel gives windows beside a change of pace the pace of the span they lie in: a window sees a
// second and a half to each side, the spans' edges are finer.
func relabel(w []Window, spans []Span) {
	k := 0
	for i := range w {
		for k+1 < len(spans) && w[i].T >= spans[k].End {
			k++
		}
		if w[i].Pace != spans[k].Pace {
			w[i].Pace, w[i].StrideHz, w[i].Regularity, w[i].Symmetry = spans[k].Pace, spans[k].StrideHz, spans[k].Regularity, 0
		}
	}
}

func windowsOf(f []feature, st []decision) []Window {
	out := make([]Window, len(f))
	for i, w := range f {
		m := models[st[i].state]
		out[i] = Window{T: w.t, Pace: m.Pace, Probability: st[i].prob, AmplitudeMS: w.rms}
		if m.Beats > 0 {
			c := w.best(st[i].state)
			out[i].StrideHz, out[i].Regularity = 1/c.period, c.whole
			if m.Beats == 2 && c.whole > 0 {
				out[i].Symmetry = c.half / c.whole
			}
		}
	}
	return out
}
