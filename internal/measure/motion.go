package measure

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/strides"
	"ringcraft/internal/terms"
)

const (
	needMotion = "Motion data (25 Hz or more) do"
	fromMotion = "the doubt of paces and strides in the motion data"
	fromLeads  = "which lead is left is told by the turns that agree with it"
	fewStrides = 4 // needed for a tempo
	// beatSD is the standard deviation in seconds of the time of one beat (simulated legs, docs/MEASURES.md).
	beatSD     = 0.02
	fromMixing = "where in the stride its beat lies"
)

// strideList returns the strides counted in one pace between two times.
func (r *ride) strideList(p gait.Pace, from, to float64) []strides.Stride {
	var out []strides.Stride
	for _, s := range r.rec.Strides.Spans {
		if s.Pace != p {
			continue
		}
		for _, x := range s.Strides {
			if float64(x.T) >= from && float64(x.T+x.Duration) <= to {
				out = append(out, x)
			}
		}
	}
	return out
}

// durations are the seconds of some strides.
func durations(list []strides.Stride) []float64 {
	out := make([]float64, len(list))
	for i, s := range list {
		out[i] = float64(s.Duration)
	}
	return out
}

// whyNot is the reason why motion data tell nothing of a pace between two times.
func (r *ride) whyNot(p gait.Pace, from, to float64) string {
	if r.rec.Strides.Reason != "" {
		return r.rec.Strides.Reason
	}
	seen := false
	for _, s := range r.rec.Strides.Spans {
		if s.Pace != p || float64(s.End) <= from || float64(s.Start) >= to {
			continue
		}
		if s.Reason != "" {
			return s.Reason
		}
		seen = true
	}
	if seen {
		return "the steady stretch here holds too few whole strides of " + string(p)
	}
	return "the motion data show no " + string(p) + " here"
}

// motionTempo measures tempo and its regularity over the movement's main stretch.
func (r *ride) motionTempo(b *book, e entry, v gait.Variety) {
	st := r.mainStretch(b)
	os, _ := r.over(st.a, st.z)
	regular := entry{what: "tempo regularity", asked: 0, atM: e.atM}
	if len(os) < 2 {
		b.cannot(e, "too little of the movement was recorded")
		return
	}
	from, to := os[0].t, os[len(os)-1].t
	e.at, regular.at = during(os), during(os)
	list := r.strideList(v.PaceOf(), from, to)
	if len(list) < fewStrides {
		b.cannot(e, r.whyNot(v.PaceOf(), from, to))
		return
	}
	d := durations(list)
	mean, sd := meanSD(d)
	n := float64(len(d))
	e.value = 60 / mean
	// the strides of the stretch are all there: their mean errs by the times of its ends, and by the part of a
	// stride, any part of it, that belongs to another at either end
	e.parts = []part{{fromMotion, math.Pow(60/mean/(n*mean), 2)*(2*beatSD*beatSD+sd*sd*2/3) + math.Pow(sensorClock*60/mean, 2)}}
	b.add(e)
	r.regularity(b, regular, v.PaceOf(), 100*sd/mean, n)
}

// regularity is the spread of single strides over a movement's main stretch.
func (r *ride) regularity(b *book, e entry, p gait.Pace, spread, n float64) {
	e.value, e.parts = r.unmixedSpread(p, spread, n, 1)
	b.add(e)
}

// unmixedSpread is the spread of n single strides in so many unbroken runs, in percent, freed of what
// makes measured strides more even than they are, with its doubt.
func (r *ride) unmixedSpread(p gait.Pace, spread, n, runs float64) (value float64, parts []part) {
	k, sd := r.rec.Strides.Unmixed(p)
	// likeness of neighbours also draws their mean after them: the spread of few about it is smaller yet
	value = spread * math.Sqrt(k/(1-clamp((k-1)*runs/n, 0, 0.5)))
	ends := 2 * runs / (n * n)            // a stride more or less at either end
	shared := (k - 1) * (k - 1) / (4 * n) // what these strides share with their neighbours, against what all do
	return value, []part{
		{fromMotion, value*value*(ends+shared) + 0.2*0.2},
		{fromMixing, math.Pow(value*sd/(2*k), 2)},
	}
}

// motionTransition places a change between trot and canter by motion data.
func (r *ride) motionTransition(b *book, f *rideplan.Figure, e entry) {
	if r.rec.Strides == nil {
		b.lacks(LacksMotion, e, "positions do not show the change between trot and canter. "+needMotion)
		return
	}
	os, _ := r.over(e.atM-25, e.atM+25)
	if len(os) < 2 {
		b.cannot(e, "too little around the transition was recorded")
		return
	}
	edge, sd, ok := r.paceEdge(f.From.PaceOf(), f.Variety.PaceOf(), os)
	if !ok {
		b.cannot(e, r.whyNot(f.Variety.PaceOf(), os[0].t, os[len(os)-1].t))
		return
	}
	i := sort.Search(len(os), func(i int) bool { return os[i].t >= edge })
	i = min(max(i, 1), len(os)-1)
	lo, hi := max(0, i-5), min(len(os), i+5)
	c := make([]float64, len(os))
	var s, t, speed float64
	for k := lo; k < hi; k++ {
		c[k] = 1 / float64(hi-lo)
		s, t = s+c[k]*os[k].s, t+c[k]*os[k].t
	}
	speed = r.planSpeed(s)
	e.value = s + speed*(edge-t) - e.atM
	e.at = instant(edge)
	e.parts = append(r.d.of(along(os, c)), part{fromMotion, math.Pow(speed*sd, 2)})
	b.add(e)
}

// paceEdge finds where motion data change from one pace to another, nearest to the middle of
// some fixes.
func (r *ride) paceEdge(from, to gait.Pace, os []obs) (t, sd float64, ok bool) {
	mid := during(os).mid
	best := math.Inf(1)
	ss := r.rec.Strides.Spans
	for i := 1; i < len(ss); i++ {
		if ss[i-1].Pace != from || ss[i].Pace != to || float64(ss[i].Start) < os[0].t || float64(ss[i].Start) > os[len(os)-1].t {
			continue
		}
		at := float64(ss[i-1].End+ss[i].Start) / 2
		if d := math.Abs(at - mid); d < best {
			best, t, ok = d, at, true
			sd = math.Hypot(float64(ss[i].EdgeSD), float64(ss[i].Start-ss[i-1].End)/4)
		}
	}
	return t, sd, ok
}

// lead says whether a canter that begins here is on the lead asked.
func (r *ride) lead(b *book, f *rideplan.Figure) {
	if f.Variety.PaceOf() != gait.Canter || f.From.PaceOf() == gait.Canter || f.Lead == rideplan.NoHand {
		return
	}
	e := entry{what: "lead", letter: f.At, asked: 1, atM: float64(f.EndM)}
	if r.rec.Strides == nil {
		b.lacks(LacksGyroscope, e, "positions do not show the lead. Motion data with a gyroscope do")
		return
	}
	os, _ := r.over(e.atM+3, e.atM+20)
	if len(os) < 2 {
		b.cannot(e, "too little of the canter was recorded")
		return
	}
	e.at = during(os)
	t := e.at.mid
	for _, s := range r.rec.Strides.Spans {
		if s.Pace != gait.Canter || float64(s.Start) > t || float64(s.End) < t {
			continue
		}
		if s.Lead == "" {
			b.noLead(e, s.LeadReason)
			return
		}
		if s.Lead == string(f.Lead) {
			e.value = 1
		}
		e.parts = []part{{fromLeads, math.Pow(sideSD(s.LeadProbability), 2)}}
		b.add(e)
		return
	}
	b.cannot(e, r.whyNot(gait.Canter, os[0].t, os[len(os)-1].t))
}

// sideSD is the doubt of a lead whose side is right with probability p: beside a tolerance of a half
// the verdict is then as probable as the side.
func sideSD(p float64) float64 {
	return countSD(2*clamp(p, 0.51, 0.9999) - 1)
}

// countSD is the doubt of a whole number that is right with probability p.
func countSD(p float64) float64 { return 0.5 / (math.Sqrt2 * math.Erfinv(p)) }

// changes counts changes of leg over a figure that asks for them.
func (r *ride) changes(b *book, f *rideplan.Figure) {
	asked := math.Max(1, float64(f.Count))
	e := entry{what: "changes of leg", letter: f.At, asked: asked, nominal: float64(f.Count), atM: float64(f.StartM+f.EndM) / 2}
	if r.rec.Strides == nil {
		b.lacks(LacksGyroscope, e, "positions do not show changes of leg. Motion data with a gyroscope do")
		return
	}
	from, to := r.aroundChanges(f)
	os, _ := r.over(from, to)
	e.at = during(os)
	if len(os) < 2 {
		b.cannot(e, "too little of it was recorded")
		return
	}
	n, last, why := 0, 0, ""
	for _, s := range r.rec.Strides.Spans {
		if s.Pace != gait.Canter || float64(s.End) < os[0].t || float64(s.Start) > os[len(os)-1].t {
			continue
		}
		if s.LeadGroup == 0 {
			why = s.LeadReason
			continue
		}
		for _, t := range s.Flickers {
			if float64(t) >= os[0].t && float64(t) <= os[len(os)-1].t {
				why = "the lead may have changed and changed back within two strides"
			}
		}
		if last != 0 && s.LeadGroup != last {
			n++
		}
		last = s.LeadGroup
	}
	if last == 0 || why != "" {
		if why == "" {
			why = r.whyNot(gait.Canter, os[0].t, os[len(os)-1].t)
		}
		b.noLead(e, why)
		return
	}
	e.value = float64(n)
	e.parts = []part{{fromMotion, math.Pow(countSD(counted), 2)}}
	b.add(e)
}

// changesReach is how many metres before and after a change of leg others are counted with it.
const changesReach = 10.0

// aroundChanges are the metres over which changes of leg count for a figure: a little more than the figure,
// but not what lies nearer to another one that asks for changes.
func (r *ride) aroundChanges(f *rideplan.Figure) (from, to float64) {
	from, to = float64(f.StartM)-changesReach, float64(f.EndM)+changesReach
	for _, mv := range r.plan.Movements {
		for _, g := range mv.Figures {
			switch g.Kind {
			case terms.FlyingChange, terms.ChangeSeries, terms.SimpleChange:
			default:
				continue
			}
			if g.EndM < f.StartM {
				from = math.Max(from, float64(g.EndM+f.StartM)/2)
			} else if g.StartM > f.EndM {
				to = math.Min(to, float64(f.EndM+g.StartM)/2)
			}
		}
	}
	return from, to
}

// backwards is when a rein-back was ridden, by the positions.
type backwards struct {
	from, to float64
	ok       bool
}

const (
	// stepLeast and stepMost are the rates of rein-back steps in Hz between which they are counted: 0.6 to 0.8 s a
	// step (assumption of internal/gait), and what is hurried or slow beside it.
	stepLeast, stepMost = 0.9, 2.0
	// stepEdge is how many seconds the way back may begin or end beside the positions' word; the first and last
	// step bear most about 0.4 s inside it.
	stepEdge = 0.15
	// counted is how often a count is right that comes out alike with the edges moved by as much.
	counted = 0.992
)

// reinSteps counts the steps of a rein-back, which only motion data show: two beats a stride, between
// the times at which the positions go back.
func (r *ride) reinSteps(b *book, f *rideplan.Figure, went backwards) {
	if f.Count == 0 {
		return
	}
	e := entry{what: "rein-back steps", letter: f.At, asked: float64(f.Count), nominal: float64(f.Count), atM: float64(f.StartM)}
	switch {
	case r.rec.Strides == nil:
		b.lacks(LacksMotion, e, "positions do not show steps; a count is never made from an assumed length of step. "+needMotion)
		return
	case !went.ok:
		b.cannot(e, "no going back was found near the place")
		return
	}
	e.at = when{went.from, (went.from + went.to) / 2, went.to, true}
	value, same, ok := r.stepsBetween(went)
	if !ok {
		b.cannot(e, "the motion data show no steps here")
		return
	}
	e.value = float64(value)
	e.parts = []part{{fromMotion, math.Pow(countSD(counted), 2)}}
	if !same {
		e.parts = []part{{"a step at an end of it that may not belong to it", 0.6 * 0.6}} // one more or less
	}
	b.add(e)
}

// stepsBetween counts the steps of a way back, and says whether a little more or less of it makes another count.
func (r *ride) stepsBetween(went backwards) (n int, same, ok bool) {
	same = true
	most := math.Hypot(stepEdge, float64(r.rec.Strides.ClockSD))
	for i, edge := range []float64{0, -most, most} {
		k, seen := r.rec.Strides.Count(strides.Seconds(went.from-edge), strides.Seconds(went.to+edge), stepLeast, stepMost)
		if !seen {
			return 0, false, false
		}
		if i == 0 {
			n = k
		}
		same = same && k == n
	}
	return n, same, true
}
