package strides

import (
	"math"

	"ringcraft/internal/gait"
)

// Unevenness beyond what eyes see (a quarter of the size: Parkes et al. 2009) that lasts over this
// many strides in all is worth a word.
const (
	unevenSplit   = 0.25
	unevenStrides = 40
)

const adviceUneven = "The two beats of the trot stay unequal, always on the same side. Rising trot on one diagonal and a recorder on one side of the body look the same, so this is no finding about the horse: repeat it in sitting trot on both reins, and if it stays or you see it too, ask a vet."

// beatPair is one trot beat against its neighbours: by how much of the usual height it stands out,
// and the sway of the trunk then, which tells left beats from right ones.
type beatPair struct {
	span   int
	excess float64
	swing
}

// irregularities gathers single strides, the inequality of trot beats, and words of advice.
func (r *Result) irregularities() {
	for i := range r.Spans {
		sp := &r.Spans[i]
		for k, st := range sp.Strides {
			if st.Irregular {
				r.Irregular = append(r.Irregular, Irregularity{T: st.T, Pace: sp.Pace, Change: deviation(sp.Strides, k)})
			}
		}
	}
	pairs := r.sig.pairs(r.Spans)
	if len(pairs) < 10 {
		return
	}
	var strides float64
	for i := range r.Spans {
		sp := &r.Spans[i]
		sp.BeatSplit = splitOf(pairs, func(p beatPair) bool { return p.span == i })
		if sp.Pace == gait.Trot {
			strides += sp.Count
		}
	}
	if strides > unevenStrides && lasting(pairs) {
		r.Advice = append(r.Advice, adviceUneven)
	}
}

// lasting reports whether the inequality has one sign in all trot and on either rein: a rider who rises
// on the outside diagonal changes it with the rein, a horse does not.
func lasting(pairs []beatPair) bool {
	all := splitOf(pairs, func(beatPair) bool { return true })
	left := splitOf(pairs, func(p beatPair) bool { return p.turn > leadTurn })
	right := splitOf(pairs, func(p beatPair) bool { return p.turn < -leadTurn })
	return math.Abs(all) > unevenSplit && math.Min(math.Abs(left), math.Abs(right)) > unevenSplit/2 && left*right > 0
}

// splitOf is the median excess of the beats chosen, signed by the side of the sway; 0 with fewer than eight.
func splitOf(pairs []beatPair, take func(beatPair) bool) float64 {
	var ex []float64
	for _, p := range pairs {
		if take(p) {
			ex = append(ex, math.Copysign(1, p.side)*p.excess)
		}
	}
	if len(ex) < 8 {
		return 0
	}
	return median(ex)
}

// pairs lists the trot beats of all spans with the side of the sway settled over the whole recording:
// the swing about the vertical once a stride goes one way at one beat and the other way at the next.
// The rider's rising does not turn the trunk about the vertical; sideways and forward accelerations
// would mix it in, so nothing is listed without a gyroscope.
func (s *signal) pairs(spans []Span) []beatPair {
	if s.yaw == nil {
		return nil
	}
	var out []beatPair
	slow := lowpass(s.yaw, 0.2)
	for k, sp := range spans {
		if sp.Pace == gait.Trot && sp.StrideHz > 0 {
			out = append(out, s.pairsOf(sp, k, slow)...)
		}
	}
	swings := make([]swing, len(out))
	for i, p := range out {
		swings[i] = p.swing
	}
	axis := mainAxis(swings, [6]float64{})
	for i := range out {
		for c := range axis {
			out[i].side += axis[c] * out[i].v[c]
		}
	}
	return out
}

func (s *signal) pairsOf(sp Span, k int, slow []float64) []beatPair {
	b := s.beats(sp)
	height := make([]float64, len(b))
	for i := range b { // the height in the whole band: the filter round the beat has evened it out
		at := s.index(Seconds(b[i].t))
		height[i] = math.Inf(-1)
		for j := max(0, at-3); j <= min(len(s.vert)-1, at+3); j++ {
			height[i] = math.Max(height[i], s.vert[j])
		}
	}
	usual := math.Max(median(height), 1e-9)
	var out []beatPair
	for i := 1; i+1 < len(b); i++ {
		at := s.index(Seconds(b[i].t))
		p := beatPair{span: k, excess: (height[i] - (height[i-1]+height[i+1])/2) / usual}
		sn, cs := math.Sincos(2 * math.Pi * sp.StrideHz * float64(at) / rate)
		re, im := s.phasor(s.yaw, sp.StrideHz, at, 0.6)
		p.v[0], p.v[1] = re*cs-im*sn, re*sn+im*cs
		p.turn = slow[at]
		out = append(out, p)
	}
	return out
}
