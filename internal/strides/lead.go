package strides

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
)

// The lead. Left and right canter are mirror images: seen in the phase of the vertical motion, the
// swing of the body about the vertical (yaw) and about its long axis (roll) have opposite signs. So
// two leads lie in two groups, which the recording shows or does not show. Which group is left
// depends on how the sensor sits, so the turns are asked: horses canter mostly on the lead of the
// side to which they turn. Every canter is one witness, however long it lasts and however often it changes
// its lead: a pair that struck off wrong and changes as asked is wrong after it too.

const (
	leadWidth  = 0.45 // s, of the window in which phases are compared
	leadStep   = 10   // samples between looks
	leadReach  = 3    // looks to either side that are taken together, 0.3 s each way
	leadTurn   = 0.12 // rad/s: a turn, 20 m circle at canter is 0.4
	leadLeast  = 1.5  // s of turning, net, that a stay needs to be a witness
	leadShare  = 0.4  // share of the stay that it must be
	leadShort  = 1.5  // s: a shorter change of sign is noise, and a group of so little is none
	leadStrong = 0.35 // of half the distance between the groups: a stay nearer the middle is not judged
	leadJoined = 5.0  // s: stays less apart are of one canter; a simple change walks for less
	leadSure   = 0.95 // least probability of a side that is said at all
)

// leadApart is how far two groups must lie apart, over their own spread. One group cut at its middle
// gives 2.7 (a Gaussian's halves); Ashman, Bird and Zepf (1994) call two groups clearly separate that lie 2
// of their uncut spreads apart, which cut is about 3.5.
const leadApart = 4.0

// A stay is on the lead of its turns nine times in ten, with the doubt of one stay in ten stays seen
// (assumption): the Beta distribution of that share.
const leadWith, leadAgainst = 9.0, 1.0

const (
	oneLead    = "canter to the left and to the right feels alike to the sensor: it was all on one lead, or the sensor does not show the lead"
	noTurns    = "the lead needs canter turns to both sides in the recording"
	leadUnsure = "two leads were ridden, but too few turns agree on which of them is left"
	leadFaint  = "the swing here lies between the two leads"
)

// swing is the horizontal-plane and yaw motion in step with the vertical, at one instant of canter.
type swing struct {
	i    int
	span int
	v    [6]float64 // yaw, turn 0, turn 1: in phase and a quarter behind
	turn float64    // slow yaw rate
	side float64    // 1 in the middle of one group, -1 in that of the other
}

// leads fills in the lead of canter spans and splits them where it changes.
func (s *signal) leads(spans []Span) []Span {
	slow := lowpass(s.yaw, 0.2)
	var all []swing
	for k, sp := range spans {
		if sp.Pace != gait.Canter || sp.StrideHz == 0 {
			continue
		}
		for i := s.index(sp.Start + 0.5); i <= s.index(sp.End-0.5); i += leadStep {
			all = append(all, s.swing(i, k, sp.StrideHz, slow[i]))
		}
	}
	reason := ""
	switch {
	case s.upless:
		reason = "without gravity in the recording left and right cannot be told"
	case len(all) < 10:
		reason = "too little canter to tell the leads apart"
	case !grouped(all):
		if reason = oneLead; !bothTurns(all) {
			reason = noTurns
		}
	}
	var out []Span
	for k, sp := range spans {
		if sp.Pace == gait.Canter && reason == "" {
			out = append(out, s.splitLeads(sp, k, all)...)
			continue
		}
		if sp.Pace == gait.Canter {
			sp.LeadReason = reason
		}
		out = append(out, sp)
	}
	if reason == "" {
		nameLeads(out, s.witnesses(out, slow))
	}
	return out
}

func (s *signal) swing(i, span int, hz, turn float64) swing {
	vr, vi := s.phasor(s.vert, hz, i, leadWidth)
	n := math.Max(math.Hypot(vr, vi), 1e-9)
	w := swing{i: i, span: span, turn: turn}
	for c, x := range [][]float64{s.yaw, s.turn[0], s.turn[1]} {
		re, im := s.phasor(x, hz, i, leadWidth)
		w.v[2*c], w.v[2*c+1] = (re*vr+im*vi)/n, (im*vr-re*vi)/n
	}
	return w
}

// grouped puts every swing on the axis along which swings differ most and parts them in two groups;
// it reports false where there is only one.
func grouped(all []swing) bool {
	calm := steadied(all)
	var mean [6]float64
	for _, w := range calm {
		addTo(&mean, w.v, 1/float64(len(calm)))
	}
	axis := mainAxis(calm, mean)
	x := make([]float64, len(calm))
	for i, w := range calm {
		for c := range axis {
			x[i] += axis[c] * (w.v[c] - mean[c])
		}
	}
	low, high := parted(x)
	if least := int(math.Ceil(leadShort * rate / leadStep)); len(low) < least || len(high) < least {
		return false
	}
	a, b := median(low), median(high)
	if within := math.Hypot(scatter(low, a), scatter(high, b)) / math.Sqrt2; b-a < leadApart*within {
		return false
	}
	if !mirrored(calm, x, high[0]) {
		return false
	}
	for i := range all {
		all[i].side = (x[i] - (a+b)/2) / ((b - a) / 2)
	}
	return true
}

// mirrored reports whether the swings about the vertical of the two groups, parted at x = cut, are more
// unlike than alike: leads are mirror images, while a slower or faster canter on one lead turns the
// swing's phase a little.
func mirrored(all []swing, x []float64, cut float64) bool {
	var low, high [6]float64
	for i, w := range all {
		if x[i] < cut {
			addTo(&low, w.v, 1)
		} else {
			addTo(&high, w.v, 1)
		}
	}
	return low[0]*high[0]+low[1]*high[1] < 0
}

// steadied takes each swing together with its neighbours in the span.
func steadied(all []swing) []swing {
	out := append([]swing(nil), all...)
	for i := range all {
		var sum [6]float64
		n := 0.0
		for j := max(0, i-leadReach); j <= min(len(all)-1, i+leadReach); j++ {
			if all[j].span == all[i].span {
				addTo(&sum, all[j].v, 1)
				n++
			}
		}
		for c := range sum {
			out[i].v[c] = sum[c] / n
		}
	}
	return out
}

// parted cuts values in the two groups whose spreads about their means are least (Otsu 1979).
func parted(x []float64) (low, high []float64) {
	v := append([]float64(nil), x...)
	sort.Float64s(v)
	sum := 0.0
	for _, y := range v {
		sum += y
	}
	best, cut, left := -1.0, 0, 0.0
	for k := 1; k < len(v); k++ {
		left += v[k-1]
		n, m := float64(k), float64(len(v)-k)
		if between := n * m * square(left/n-(sum-left)/m); between > best {
			best, cut = between, k
		}
	}
	return v[:cut], v[cut:]
}

// scatter is the standard deviation about a middle by the median of the distances from it.
func scatter(x []float64, mid float64) float64 {
	d := make([]float64, len(x))
	for i := range x {
		d[i] = math.Abs(x[i] - mid)
	}
	return 1.4826 * median(d)
}

// bothTurns reports whether canter turned for some seconds to either side.
func bothTurns(all []swing) bool {
	left, right := 0, 0
	for _, w := range all {
		if w.turn > leadTurn {
			left++
		} else if w.turn < -leadTurn {
			right++
		}
	}
	return float64(min(left, right)) >= 4*rate/leadStep
}

func addTo(a *[6]float64, b [6]float64, k float64) {
	for c := range a {
		a[c] += k * b[c]
	}
}

// mainAxis is the first eigenvector of the second moments, by power iteration.
func mainAxis(all []swing, common [6]float64) [6]float64 {
	var m [6][6]float64
	for _, w := range all {
		for a := range 6 {
			for b := range 6 {
				m[a][b] += (w.v[a] - common[a]) * (w.v[b] - common[b])
			}
		}
	}
	v := [6]float64{1, 0.9, 0.8, 0.7, 0.6, 0.5}
	for range 100 {
		var u [6]float64
		n := 0.0
		for a := range 6 {
			for b := range 6 {
				u[a] += m[a][b] * v[b]
			}
			n += u[a] * u[a]
		}
		if n = math.Sqrt(n); n < 1e-15 {
			return v
		}
		for a := range 6 {
			v[a] = u[a] / n
		}
	}
	return v
}

// witnesses gives the net way in which each stay on one lead turned: 1 left, -1 right, 0 neither clearly.
func (s *signal) witnesses(spans []Span, slow []float64) []float64 {
	out := make([]float64, len(spans))
	for k, sp := range spans {
		if sp.LeadGroup == 0 {
			continue
		}
		var net, n float64
		for i := s.index(sp.Start); i <= s.index(sp.End); i += leadStep {
			n++
			if math.Abs(slow[i]) > leadTurn {
				net += math.Copysign(1, slow[i])
			}
		}
		if math.Abs(net)*leadStep/rate >= leadLeast && math.Abs(net) >= leadShare*n {
			out[k] = math.Copysign(1, net)
		}
	}
	return out
}

// testimony counts the canters whose turns speak for the first group being left, and for the second. A canter
// whose stays speak for both alike says nothing.
func testimony(spans []Span, turned []float64) (first, second float64) {
	votes, end := 0.0, Seconds(math.Inf(-1))
	settle := func() {
		if votes > 0 {
			first++
		} else if votes < 0 {
			second++
		}
		votes = 0
	}
	for k, sp := range spans {
		if sp.Pace != gait.Canter {
			continue
		}
		if sp.Start-end > leadJoined {
			settle()
		}
		end = sp.End
		if sp.LeadGroup == 1 {
			votes += turned[k]
		} else {
			votes -= turned[k]
		}
	}
	settle()
	return first, second
}

// nameLeads says which group is left, by the canters whose turns bear witness, and how probable it is.
func nameLeads(spans []Span, turned []float64) {
	first, second := testimony(spans, turned)
	p := agreed(math.Max(first, second), math.Min(first, second))
	for k := range spans {
		sp := &spans[k]
		if sp.LeadGroup == 0 {
			continue
		}
		if p < leadSure {
			if sp.LeadReason = leadUnsure; first+second < 2 {
				sp.LeadReason = noTurns
			}
			continue
		}
		sp.LeadProbability, sp.Lead = p, LeadRight
		if (sp.LeadGroup == 1) == (first > second) {
			sp.Lead = LeadLeft
		}
	}
}

// agreed is the probability that the side which more stays speak for is right, when the share of
// stays that tell the truth is not known but distributed as leadWith and leadAgainst say.
func agreed(most, least float64) float64 {
	return 1 / (1 + math.Exp(lnBeta(leadWith+least, leadAgainst+most)-lnBeta(leadWith+most, leadAgainst+least)))
}

func lnBeta(a, b float64) float64 {
	x, _ := math.Lgamma(a)
	y, _ := math.Lgamma(b)
	z, _ := math.Lgamma(a + b)
	return x + y - z
}

// splitLeads cuts one canter span where the sign changes for good.
func (s *signal) splitLeads(sp Span, k int, all []swing) []Span {
	var own []swing
	for _, w := range all {
		if w.span == k {
			own = append(own, w)
		}
	}
	if len(own) < 3 {
		sp.LeadReason = "the canter is too short to tell the lead"
		return []Span{sp}
	}
	cuts, flickers := settled(own)
	for _, i := range flickers {
		sp.Flickers = append(sp.Flickers, s.time(i))
	}
	var out []Span
	start := sp.Start
	for i, c := range cuts {
		part := sp
		part.Start, part.LeadGroup = start, c.group
		if part.LeadGroup == 0 {
			part.LeadReason = leadFaint
		}
		if i+1 < len(cuts) {
			part.End = s.time(cuts[i+1].i)
		}
		start = part.End
		if len(cuts) > 1 {
			part.Strides, part.Count = nil, 0
			s.count(&part)
		}
		out = append(out, part)
	}
	return out
}

type leadCut struct {
	i     int
	group int // 1 or 2; 0 where the swing lies between the groups all along
}

// settled reads the side along a span and drops stays that are too short.
func settled(own []swing) (cuts []leadCut, flickers []int) {
	cuts, flickers = changesOfSide(own)
	for c := range cuts {
		end := len(own)
		if c+1 < len(cuts) {
			end = sort.Search(len(own), func(n int) bool { return own[n].i >= cuts[c+1].i })
		}
		var side []float64
		for n := sort.Search(len(own), func(n int) bool { return own[n].i >= cuts[c].i }); n < end; n++ {
			side = append(side, own[n].side)
		}
		if math.Abs(median(side)) < leadStrong {
			cuts[c].group = 0
		}
	}
	return cuts, flickers
}

// changesOfSide cuts where the side changes for longer than leadShort, and lists the samples at which it
// changed for less, but for longer than half of it and not at an end of the span.
func changesOfSide(own []swing) (cuts []leadCut, flickers []int) {
	for n := range own {
		group := 1
		if own[n].side < 0 {
			group = 2
		}
		if len(cuts) == 0 || cuts[len(cuts)-1].group != group {
			cuts = append(cuts, leadCut{own[n].i, group})
		}
	}
	for len(cuts) > 1 {
		short, at := math.Inf(1), -1
		for c := range cuts {
			end := own[len(own)-1].i + leadStep
			if c+1 < len(cuts) {
				end = cuts[c+1].i
			}
			if d := float64(end-cuts[c].i) / rate; d < short {
				short, at = d, c
			}
		}
		if short >= leadShort {
			break
		}
		if short >= leadShort/2 && at > 0 && at+1 < len(cuts) {
			flickers = append(flickers, cuts[at].i)
		}
		cuts = merge(cuts, at)
	}
	return cuts, flickers
}

// merge takes one stay out and joins its neighbours, which are in the same group.
func merge(c []leadCut, at int) []leadCut {
	if at == 0 {
		c[1].i = c[0].i
		return c[1:]
	}
	out := append([]leadCut(nil), c[:at]...)
	for _, n := range c[at+1:] {
		if out[len(out)-1].group != n.group {
			out = append(out, n)
		}
	}
	return out
}
