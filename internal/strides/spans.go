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
		edge, sd := s.edge(out[i-1], out[i])
		out[i-1].End, out[i].Start = edge, edge
		out[i].EdgeSD = sd
	}
	out[0].Start, out[len(out)-1].End = s.t0, s.time(len(s.vert)-1)
	return out
}

const (
	// edgeSD in seconds is the doubt of a change of pace where its looks say nothing: the windows' own.
	edgeSD = 0.3
	// changeSD in seconds is what a change of pace is unsure by itself: the body takes part of a stride to
	// go over, the stride of a canter is 0.6 s (assumption, a sixth of it).
	changeSD = 0.1
	// edgeReach in seconds is how far from where the windows have it a change is sought, and beside how much of
	// each span: further off the pace may be another form of itself.
	edgeReach, edgeBeside = 2.0, 8.0
)

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

// edge places the change between two spans within two seconds of where the windows have it, with its doubt.
// Each instant's looks are likened to what is usual beside it in the one pace and in the other; every cut is as
// probable as what lies before it is of the first pace and what lies after it of the second.
func (s *signal) edge(a, b Span) (at, sd Seconds) {
	guess := b.Start
	lo, hi := s.index(max(guess-edgeReach, a.Start+0.25)), s.index(min(guess+edgeReach, b.End-0.25))
	ha, hb := a.beatHz(), b.beatHz()
	if ha == 0 {
		ha = hb
	}
	if hb == 0 {
		hb = ha
	}
	if hi-lo < 3 || ha == 0 {
		return guess, edgeSD
	}
	a.Start, b.End = max(a.Start, a.End-edgeBeside), min(b.End, b.Start+edgeBeside)
	odds := s.oddsBetween(a, b, ha, hb)
	cum, sum, top := make([]float64, hi-lo+1), 0.0, math.Inf(-1)
	for k := range cum {
		sum += odds(lo+k) / (lookSpan * rate)
		cum[k], top = sum, math.Max(top, sum)
	}
	var n, first, second float64
	for k, x := range cum {
		p, t := math.Exp(x-top), float64(k)/rate
		n, first, second = n+p, first+p*t, second+p*t*t
	}
	mean := first / n
	return s.time(lo) + Seconds(mean), Seconds(math.Sqrt(math.Max(second/n-mean*mean, 0) + changeSD*changeSD))
}

// oddsBetween gives the logarithm of how much better an instant fits the first span than the second: a linear
// discriminant (Fisher 1936) of the looks, each over its own spread.
func (s *signal) oddsBetween(a, b Span, ha, hb float64) func(i int) float64 {
	la, va := s.usual(a, ha, hb)
	lb, vb := s.usual(b, ha, hb)
	return func(i int) float64 {
		l, fit := s.looks(i, ha, hb), 0.0
		for c := range l {
			d := la[c] - lb[c]
			fit += (l[c] - (la[c]+lb[c])/2) * d / ((va[c]+vb[c])/2 + square(leastApart*d) + 1e-9)
		}
		fit *= looksWorth / float64(len(l))
		return math.Max(-mostOdds, math.Min(mostOdds, fit))
	}
}

func square(x float64) float64 { return x * x }

const (
	// lookWidth in seconds is how far round an instant its looks reach. Wider ones blur the change, narrower
	// ones no longer part the beats of trot and canter, which are 1 Hz apart.
	lookWidth = 0.2
	// lookSpan is the time after which looks no longer share their samples: the area of a Gaussian window's own
	// correlation, 2 sqrt(pi) times its width.
	lookSpan = 2 * 1.77245 * lookWidth
	// looksWorth is how many independent looks the five are worth: three motions, up and down at two rates and sideways
	// (assumption).
	looksWorth = 3.0
	// leastApart is the least spread of a look, as a share of what parts the two paces: usual sizes of a few seconds
	// are no better known.
	leastApart = 0.1
	// mostOdds is what one instant may say at most.
	mostOdds = 8.0
)

// looks are the sizes of the motion round a sample: up and down at two beats and in all, sideways at two beats.
// Sizes and no logarithms of them: halfway through a change the size is half, and its logarithm still near the top.
func (s *signal) looks(i int, ha, hb float64) [5]float64 {
	reach := int(lookWidth * rate)
	size := rms(s.vert[max(0, i-reach):min(len(s.vert), i+reach+1)])
	level := func(hz float64) float64 {
		return math.Hypot(s.demodulate(s.side[0], hz, i, lookWidth), s.demodulate(s.side[1], hz, i, lookWidth))
	}
	return [5]float64{s.demodulate(s.vert, ha, i, lookWidth), s.demodulate(s.vert, hb, i, lookWidth), size, level(ha), level(hb)}
}

// usual is the median of the looks inside a span, a second from its ends, and their variance by the distances from it.
func (s *signal) usual(sp Span, ha, hb float64) (mid, variance [5]float64) {
	from, to := s.index(sp.Start+1), s.index(sp.End-1)
	if to <= from {
		from = s.index((sp.Start + sp.End) / 2)
		to = from
	}
	var v [5][]float64
	for i := from; i <= to; i += 5 {
		for c, x := range s.looks(i, ha, hb) {
			v[c] = append(v[c], x)
		}
	}
	for c := range v {
		mid[c] = median(v[c])
		variance[c] = square(scatter(v[c], mid[c]))
	}
	return mid, variance
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
