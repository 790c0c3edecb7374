package strides

import (
	"math"

	"ringcraft/internal/gait"
)

// The lead. Left and right canter are mirror images: seen in the phase of the vertical motion, the
// swing of the body about the vertical (yaw) and about its long axis (roll) have opposite signs.
// Which sign is which depends on how the sensor sits, so the recording itself is asked: horses
// canter mostly on the lead of the side to which they turn. Without enough turning, or with one sign
// only, nothing is said.

const (
	leadWidth  = 0.45 // s, of the window in which phases are compared
	leadStep   = 10   // samples between looks
	leadTurn   = 0.12 // rad/s: a turn, 20 m circle at canter is 0.4
	leadLeast  = 8.0  // s of turning canter needed
	leadAgree  = 0.8  // share of it that must agree on the sign
	leadShort  = 1.5  // s: a shorter change of sign is noise
	leadStrong = 0.35 // of the usual size: weaker swings are not judged
	leadApart  = 0.7  // of their own spread: how far the swings to either side must lie apart
)

// swing is the horizontal-plane and yaw motion in step with the vertical, at one instant of canter.
type swing struct {
	i    int
	span int
	v    [6]float64 // yaw, turn 0, turn 1: in phase and a quarter behind
	turn float64    // slow yaw rate
	side float64    // projected on the main axis
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
	reason := "too little canter to tell the leads apart"
	if s.upless {
		reason = "without gravity in the recording left and right cannot be told"
	} else if len(all) >= 10 {
		if reason = oneLead; project(all) {
			reason = orient(all)
		}
	}
	var out []Span
	for k, sp := range spans {
		if sp.Pace != gait.Canter {
			out = append(out, sp)
			continue
		}
		sp.LeadReason = reason
		if reason != "" {
			out = append(out, sp)
			continue
		}
		out = append(out, s.splitLeads(sp, k, all)...)
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

// project finds the main axis along which the swings differ between leads and puts each on it: the
// axis of largest second moment after the part common to both leads (pitch) is taken away. The common
// part is what turning left and turning right share. It reports false where canter to the left
// and to the right swings alike: counter-canter on one lead throughout turns to both sides, and what
// little differs there is noise, not the lead.
func project(all []swing) (apart bool) {
	var left, right [6]float64
	var nl, nr float64
	for _, w := range all {
		switch {
		case w.turn > leadTurn:
			addTo(&left, w.v, 1)
			nl++
		case w.turn < -leadTurn:
			addTo(&right, w.v, 1)
			nr++
		}
	}
	var common [6]float64
	if nl > 0 && nr > 0 {
		addTo(&common, left, 0.5/nl)
		addTo(&common, right, 0.5/nr)
	} else {
		for c := range common {
			common[c] = 0
		}
	}
	axis := mainAxis(all, common)
	for i := range all {
		all[i].side = 0
		for c := range axis {
			all[i].side += axis[c] * (all[i].v[c] - common[c])
		}
	}
	return nl == 0 || nr == 0 || liesApart(all, left, nl, right, nr)
}

const oneLead = "canter to the left and to the right feels alike to the sensor: it was all on one lead, or the sensor does not show the lead"

// liesApart compares half the distance between the mean swings of canter to the left and to the right
// (sums over nl and nr looks) with the spread of single swings round them.
func liesApart(all []swing, left [6]float64, nl float64, right [6]float64, nr float64) bool {
	var between, within, n float64
	for c := range left {
		between += square(left[c]/nl-right[c]/nr) / 4
	}
	for _, w := range all {
		mean, k := left, nl
		if w.turn < -leadTurn {
			mean, k = right, nr
		} else if w.turn <= leadTurn {
			continue
		}
		for c := range mean {
			within += square(w.v[c] - mean[c]/k)
		}
		n++
	}
	return between >= leadApart*leadApart*within/n
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

// orient turns the axis so that positive means left, by the turns ridden; it returns a reason when
// that cannot be done.
func orient(all []swing) string {
	var left, right, leftPos, rightPos float64
	var sizes []float64
	for _, w := range all {
		sizes = append(sizes, math.Abs(w.side))
	}
	weak := leadStrong * median(sizes)
	for _, w := range all {
		if math.Abs(w.side) < weak {
			continue
		}
		if w.turn > leadTurn {
			left++
			if w.side > 0 {
				leftPos++
			}
		} else if w.turn < -leadTurn {
			right++
			if w.side > 0 {
				rightPos++
			}
		}
	}
	perS := rate / leadStep
	if left < leadLeast*perS/2 || right < leadLeast*perS/2 {
		return "the lead needs canter turns to both sides in the recording"
	}
	agree := (leftPos/left + 1 - rightPos/right) / 2 // 1: positive is left, 0: positive is right
	sign := 1.0
	if agree < 0.5 {
		sign, agree = -1, 1-agree
	}
	if agree < leadAgree {
		return "the swing of the sensor does not tell left from right canter clearly"
	}
	for i := range all {
		all[i].side *= sign
	}
	return ""
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
	cuts := settled(own)
	var out []Span
	start := sp.Start
	for i, c := range cuts {
		part := sp
		part.Start, part.Lead = start, c.lead
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
	i    int
	lead string
}

// settled reads the sign along a span with a median over 1.4 s and drops stays that are too short.
func settled(own []swing) []leadCut {
	const reach = 3
	var cuts []leadCut
	for n := range own {
		sum := 0.0
		for j := max(0, n-reach); j <= min(len(own)-1, n+reach); j++ {
			sum += own[j].side
		}
		lead := LeadLeft
		if sum < 0 {
			lead = LeadRight
		}
		if len(cuts) == 0 || cuts[len(cuts)-1].lead != lead {
			cuts = append(cuts, leadCut{own[n].i, lead})
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
		cuts = merge(cuts, at)
	}
	return cuts
}

// merge takes one stay out and joins its neighbours, which have the same lead.
func merge(c []leadCut, at int) []leadCut {
	if at == 0 {
		c[1].i = c[0].i
		return c[1:]
	}
	out := append([]leadCut(nil), c[:at]...)
	for _, n := range c[at+1:] {
		if out[len(out)-1].lead != n.lead {
			out = append(out, n)
		}
	}
	return out
}
