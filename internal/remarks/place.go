package remarks

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// Place ties a commentary to a plan. Time and words decide together: a hidden clock offset
// that may drift (monotone dynamic programming over the remarks) says which movements were
// just ridden, the words say which of them is meant. With an unknown start the offset is
// found from the words. The result is the same for the same input.
func Place(plan *rideplan.Plan, cues []Cue, prior Prior) Placed {
	tl := newTimeline(plan, prior)
	hs := hear(cues, tl.spans)
	if len(tl.spans) == 0 || len(hs) == 0 {
		return Placed{Elsewhere: elsewhere(hs, nil), Phases: phases(hs, nil)}
	}
	runs := findRuns(hs, tl, prior)
	out := Placed{}
	placed := map[int]bool{}
	for i := range runs {
		r := &runs[i]
		r.align(hs, tl, prior, i == 0)
		rs := r.remarks(hs, tl, plan)
		if i == 0 {
			out.StartS, out.StartSD = r.start, r.startSD
			out.Remarks = rs
			for _, c := range r.cuesPlaced {
				placed[c] = true
			}
			continue
		}
		out.Again, out.AgainStartS = rs, r.start
	}
	out.Phases = phases(hs, runs)
	out.Elsewhere = elsewhere(hs, placed)
	label(out.Remarks, out.Phases)
	label(out.Again, out.Phases)
	label(out.Elsewhere, out.Phases)
	silenceTalk(out.Elsewhere)
	return out
}

// heard is a cue with what its words point to.
type heard struct {
	Cue
	named
	clue
	odds  []float64 // exp of the words' weight per movement, over their mean
	pNone float64   // chance, from the words alone, that it belongs to no movement
}

func hear(cues []Cue, ps []profile) []heard {
	out := make([]heard, len(cues))
	for i, c := range cues {
		h := heard{Cue: c, named: point(c.Text)}
		h.clue = clues(h.named, ps)
		h.odds = make([]float64, len(ps))
		sum := 0.0
		for k, w := range h.w {
			h.odds[k] = math.Exp(min(max(w, -6), 9))
			sum += h.odds[k]
		}
		for k := range h.odds {
			h.odds[k] *= float64(len(ps)) / sum
		}
		h.pNone = h.noneChance()
		out[i] = h
	}
	return out
}

// noneChance weighs whether a remark made during a test speaks of no movement at all.
// Weights in nats, set on the tuning half of the corpus.
func (n named) noneChance() float64 {
	x := -2.4
	if n.off > 0 {
		x += 2.2 + 0.8*float64(min(n.off, 3))
	}
	if n.own == 0 && len(n.kinds) == 0 && len(n.letters) == 0 && len(n.soft) == 0 && len(n.paces) == 0 {
		x += 2.3
		if n.topic == 0 && n.wordsLen > 3 {
			x += 0.7
		} else {
			x -= 0.5 * float64(min(n.topic, 3))
		}
	}
	if n.own > 0 {
		x -= 0.8
	}
	if len(n.kinds) > 0 {
		x -= 0.8
	}
	if n.again > 0 && len(n.kinds) == 0 {
		x += 0.8
	}
	if n.talk > 0 && n.own == 0 {
		x += 0.5
	}
	return 1 / (1 + math.Exp(-x))
}

// strayShare is how likely words of the test are where no movement was just ridden.
const strayShare = 0.1

// emission is the likelihood ratio of a remark u seconds after the start against talk; post
// receives the chance of each movement, its last entry that of none.
func (h heard) emission(u, length float64, share, post []float64) float64 {
	total, in := 0.0, 0.0
	gain, pNone := h.atBounds(u, length)
	for k, s := range share {
		in += s
		v := (1 - pNone) * s * h.odds[k]
		total += v
		if post != nil {
			post[k] = v
		}
	}
	none := pNone + (1-pNone)*max(0, 1-in)*strayShare
	total += none
	if post != nil {
		for k := range share {
			post[k] /= total
		}
		post[len(share)] = none / total
	}
	return gain * total
}

// atBounds weighs words of beginning and finishing: they are likelier near the ends of the
// ride, and there they belong to no movement.
func (h heard) atBounds(u, length float64) (gain, pNone float64) {
	gain, pNone = 1, h.pNone
	if len(h.kinds) > 0 {
		return
	}
	if h.start > 0 {
		near := math.Exp(-u * u / (2 * 8 * 8))
		gain *= 0.7 + 5*near
		pNone = max(pNone, 0.85*near)
	}
	if h.finish > 0 {
		near := 1 / (1 + math.Exp(-(u-length+8)/3))
		gain *= 0.6 + 2*near
		pNone = max(pNone, 0.95*near)
	}
	return
}

// remarks makes the placed remarks of a run from its posteriors.
func (r *run) remarks(hs []heard, tl timeline, plan *rideplan.Plan) []Remark {
	var out []Remark
	for j, i := range r.cues {
		post := r.post[j]
		best, second := top2(post[:len(post)-1])
		if best < 0 || post[best] <= post[len(post)-1] {
			continue
		}
		p := tl.spans[best]
		if hs[i].afterAll(r.meanU[j] - tl.to) {
			continue
		}
		rm := base(hs[i], p.list)
		rm.Faults = hs[i].sizeFault(rm.Faults, p)
		rm.Movement, rm.Confidence = p.number, round2(post[best])
		if second >= 0 && (second == best+1 || second == best-1) && post[second] > 0.22 && len(hs[i].kinds) > 1 && hs[i].w[second] > 0 {
			rm.Also = tl.spans[second].number
			rm.Confidence = round2(post[best] + post[second])
		}
		rm.Why = r.why(hs[i], best, tl, j)
		rm.Doubtful = rm.Confidence < doubtBelow || hs[i].why[best] == "" && rm.Confidence < doubtTimeBelow
		out = append(out, rm)
		r.cuesPlaced = append(r.cuesPlaced, i)
	}
	r.closeAfter(hs, out)
	return out
}

// closeAfter moves the end of the run's phase behind the last remark placed, which comes
// late as all do, and behind the thanks that follow at once.
func (r *run) closeAfter(hs []heard, placed []Remark) {
	if n := len(placed); n > 0 {
		r.end = max(r.end, placed[n-1].EndS)
	}
	for _, i := range r.cues {
		if h := hs[i]; h.finish > 0 && h.StartS >= r.end-1 && h.StartS <= r.end+thanksWithin {
			r.end = h.EndS
		}
	}
}

// thanksWithin is how soon after the last word about the test its thanks follow, in seconds.
const thanksWithin = 8

// afterAll reports whether a remark made so many seconds after the last movement speaks of
// the ride as a whole: it names nothing, and thanks or comes too late.
func (n named) afterAll(after float64) bool {
	return len(n.kinds) == 0 && len(n.letters) == 0 && (after > 0 && n.finish > 0 || after > 14)
}

// sizeFault names a circle's fault from a size said ("more like 17 metres") that is not the
// size asked.
func (n named) sizeFault(faults []terms.Fault, p profile) []terms.Fault {
	if !slices.ContainsFunc(p.list, func(k terms.Kind) bool { return k == terms.Circle || k == terms.Volte || k == terms.HalfCircle }) {
		return faults
	}
	for _, f := range faults {
		if f == "circle too large" || f == "circle too small" {
			return faults
		}
	}
	for _, s := range n.sizes {
		if p.sizes[s] || len(p.sizes) != 1 {
			continue
		}
		for asked := range p.sizes {
			if s > asked {
				return append(faults, "circle too large")
			}
			return append(faults, "circle too small")
		}
	}
	return faults
}

// doubtBelow marks a remark as doubtful: the trainer should look where it belongs.
// Where time alone decided, more is asked: on the tuning half a time-only confidence of 0.8
// was right two times in three, one from words nineteen in twenty.
const (
	doubtBelow     = 0.65
	doubtTimeBelow = 0.85
)

func top2(p []float64) (best, second int) {
	best, second = -1, -1
	for i, v := range p {
		switch {
		case best < 0 || v > p[best]:
			best, second = i, best
		case second < 0 || v > p[second]:
			second = i
		}
	}
	return
}

func (r *run) why(h heard, best int, tl timeline, j int) string {
	p := tl.spans[best]
	u := r.meanU[j]
	when := ""
	switch {
	case u < p.from:
		when = fmt.Sprintf("spoken about %.0f s before it began", p.from-u)
	case u > p.to:
		when = fmt.Sprintf("spoken about %.0f s after it ended", u-p.to)
	default:
		when = fmt.Sprintf("spoken about %.0f s into it", u-p.from)
	}
	if w := h.clue.why[best]; w != "" {
		return when + "; " + w
	}
	return when + "; by time alone"
}

// base fills what a remark says of itself.
func base(h heard, placed []terms.Kind) Remark {
	faults, praise, aids, causes := ids(findWords(listen(h.Text), context{named: h.kinds, placed: placed}))
	return Remark{AtS: h.StartS, EndS: h.EndS, Text: h.Text, Voice: h.Voice, Faults: faults, Praise: praise, Aids: aids, Causes: causes}
}

// elsewhere are the cues that no run has placed.
func elsewhere(hs []heard, placed map[int]bool) []Remark {
	var out []Remark
	for i, h := range hs {
		if placed[i] {
			continue
		}
		rm := base(h, nil)
		rm.Confidence = round2(h.pNone)
		rm.Why = "belongs to no movement of the test"
		out = append(out, rm)
	}
	return out
}

func label(rs []Remark, ps []Phase) {
	for i := range rs {
		n := sort.Search(len(ps), func(k int) bool { return ps[k].StartS > rs[i].AtS }) - 1
		if n >= 0 {
			rs[i].Phase = ps[n].Kind
		}
	}
}

// silenceTalk takes the faults out of talk before a ride and between rides: nothing is ridden
// then, so what sounds like a fault there is a plan, a memory or the weather.
func silenceTalk(rs []Remark) {
	for i := range rs {
		if rs[i].Phase == Before || rs[i].Phase == Between {
			rs[i].Faults = []terms.Fault{}
		}
	}
}

func round2(x float64) float64 { return math.Round(x*100) / 100 }
