package strides

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
)

// spans joins windows of one pace and finds where one pace gives way to the next.
func (s *signal) spans(f []feature, st []decision) []Span {
	var out []Span
	first := 0
	for i := 1; i <= len(f); i++ {
		if i < len(f) && models[st[i].state].Pace == models[st[first].state].Pace {
			continue
		}
		out = append(out, s.span(f[first:i], st[first:i]))
		first = i
	}
	for i := 1; i < len(out); i++ {
		edge := s.edge(out[i-1], out[i])
		out[i-1].End, out[i].Start = edge, edge
	}
	out[0].Start, out[len(out)-1].End = s.t0, s.time(len(s.vert)-1)
	return out
}

// edgeSD is the doubt of a change of pace, as the simulator's truth shows it (docs/RECORDINGS.md).
const edgeSD = 0.3

func (s *signal) span(f []feature, st []decision) Span {
	sp := Span{Start: f[0].t - windowS/2, End: f[len(f)-1].t + windowS/2, Pace: models[st[0].state].Pace, EdgeSD: edgeSD}
	if len(f) > 1 {
		sp.Start, sp.End = f[0].t-hopS/2, f[len(f)-1].t+hopS/2
	}
	var hz, reg []float64
	for i := range f {
		sp.Probability += st[i].prob / float64(len(f))
		if models[st[i].state].Beats > 0 {
			c := f[i].best(st[i].state)
			hz = append(hz, 1/c.period)
			reg = append(reg, c.whole)
		}
	}
	if len(hz) > 0 {
		sp.StrideHz, sp.Regularity = median(hz), median(reg)
	}
	return sp
}

// beatHz is how often the vertical motion of a span goes up and down in a second.
func (sp Span) beatHz() float64 {
	if sp.Pace == gait.Canter {
		return sp.StrideHz
	}
	return 2 * sp.StrideHz
}

// edge places the change between two spans within two seconds of where the windows have it. At each
// instant the size of the vertical motion at the beat of either pace, and its size in all, is likened
// to what it usually is in the two spans; the cut goes where the two sides fit best.
func (s *signal) edge(a, b Span) Seconds {
	guess := b.Start
	lo, hi := s.index(max(guess-2, a.Start+0.25)), s.index(min(guess+2, b.End-0.25))
	ha, hb := a.beatHz(), b.beatHz()
	if ha == 0 {
		ha = hb
	}
	if hb == 0 {
		hb = ha
	}
	if hi-lo < 3 || ha == 0 {
		return guess
	}
	la, lb := s.usual(a, ha, hb), s.usual(b, ha, hb)
	best, cum, at := math.Inf(-1), 0.0, guess
	for i := lo; i <= hi; i++ {
		l := s.looks(i, ha, hb)
		fit := 0.0
		for c := range l {
			fit += square(l[c]-lb[c]) - square(l[c]-la[c])
		}
		cum += math.Max(-1, math.Min(1, fit))
		if cum > best {
			best, at = cum, s.time(i)
		}
	}
	return at
}

func square(x float64) float64 { return x * x }

// lookWidth in seconds is how far round an instant its looks reach.
const lookWidth = 0.3

// looks are the logarithms of the size of the motion round a sample: at two beats, and in all.
func (s *signal) looks(i int, ha, hb float64) [3]float64 {
	reach := int(lookWidth * rate)
	size := rms(s.vert[max(0, i-reach):min(len(s.vert), i+reach+1)])
	return [3]float64{math.Log(s.demodulate(s.vert, ha, i, lookWidth) + 0.05), math.Log(s.demodulate(s.vert, hb, i, lookWidth) + 0.05), math.Log(size + 0.05)}
}

// usual is the median of the looks over up to twelve seconds inside a span.
func (s *signal) usual(sp Span, ha, hb float64) (u [3]float64) {
	mid := s.index((sp.Start + sp.End) / 2)
	from, to := max(s.index(sp.Start+0.5), mid-int(6*rate)), min(s.index(sp.End-0.5), mid+int(6*rate))
	if to <= from {
		from, to = mid, mid
	}
	var v [3][]float64
	for i := from; i <= to; i += 5 {
		l := s.looks(i, ha, hb)
		for c := range l {
			v[c] = append(v[c], l[c])
		}
	}
	for c := range v {
		u[c] = median(v[c])
	}
	return u
}

// demodulate is the size of a channel's part at a frequency round sample i, under a Gaussian window
// of that many seconds.
func (s *signal) demodulate(x []float64, hz float64, i int, width float64) float64 {
	re, im := s.phasor(x, hz, i, width)
	return math.Hypot(re, im)
}

func (s *signal) phasor(x []float64, hz float64, i int, width float64) (re, im float64) {
	reach := int(2.5 * width * rate)
	norm := 0.0
	for k := max(0, i-reach); k <= min(len(x)-1, i+reach); k++ {
		d := float64(k-i) / rate
		w := math.Exp(-d * d / (2 * width * width))
		sn, cs := math.Sincos(2 * math.Pi * hz * float64(k) / rate)
		re += w * x[k] * cs
		im -= w * x[k] * sn
		norm += w
	}
	return 2 * re / norm, 2 * im / norm
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	c := append([]float64(nil), v...)
	sort.Float64s(c)
	return c[len(c)/2]
}
