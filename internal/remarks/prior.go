package remarks

import (
	"math"

	"ringcraft/internal/rideplan"
)

// The sources of spans.
const (
	Nominal  = "nominal"   // the plan's own times
	Tapped   = "taps"      // a thumb on the phone
	Measured = "recording" // aligned recording
)

// Span is when a movement was ridden, on the clock of the spans, with the doubt of its edges.
type Span struct {
	Movement     int
	StartS, EndS float64
	SD           float64
	Source       string
}

// Prior is what is known about times before the words are heard. The zero value means:
// nominal times, start unknown.
type Prior struct {
	// Spans of movements; those not given are nominal. Empty: all nominal.
	Spans []Span
	// OffsetKnown says that OffsetS is meant; without it, spans of a recording or taps are
	// taken to be most likely on the commentary's clock. Then commentary time = span time + OffsetS,
	// with doubt OffsetSD (0: 5 s, two clocks started by hand at about the same moment).
	OffsetKnown       bool
	OffsetS, OffsetSD float64
}

// driftPerS is the variance that the commentary gains on nominal times per second, in s²/s: a
// movement of 15 s comes out about 2 s longer or shorter. Set on the tuning half of the corpus.
var driftPerS = 0.5

// defaultOffsetSD is the doubt of a start that is said to be the same moment, in seconds.
const defaultOffsetSD = 5

// timeline is the reference clock: spans in riding order, and how freely the commentary's
// clock may drift against it.
type timeline struct {
	spans    []profile
	from, to float64
	drift    float64   // variance of the drift, s² per second
	rates    []float64 // how much slower than the reference the ride may be
	fixed    bool      // times are measured or tapped
	shares   [3][][]float64
}

// newTimeline lays the prior's spans over the plan's.
func newTimeline(plan *rideplan.Plan, prior Prior) timeline {
	tl := timeline{spans: profiles(plan)}
	byNumber := map[int]Span{}
	for _, s := range prior.Spans {
		if s.Source != Nominal && s.EndS >= s.StartS {
			byNumber[s.Movement] = s
		}
	}
	shift, known, sd := 0.0, false, 0.0
	for i := range tl.spans {
		p := &tl.spans[i]
		if s, ok := byNumber[p.number]; ok {
			if !known && i > 0 { // nominal spans before the first known one
				back := s.StartS - p.from
				for k := 0; k < i; k++ {
					tl.spans[k].from += back
					tl.spans[k].to += back
				}
			}
			shift, known = s.EndS-p.to, true
			p.from, p.to = s.StartS, s.EndS
			sd += s.SD
			continue
		}
		p.from, p.to = p.from+shift, p.to+shift
	}
	if n := len(tl.spans); n > 0 {
		tl.from, tl.to = tl.spans[0].from, tl.spans[n-1].to
	}
	tl.drift, tl.rates = driftPerS, []float64{0.82, 0.88, 0.94, 1, 1.07, 1.15, 1.24}
	if len(byNumber)*2 >= len(tl.spans) && known {
		mean := sd / float64(len(byNumber))
		tl.fixed, tl.rates = true, []float64{1}
		tl.drift = 0.002 + 0.02*mean*mean
	}
	tl.fillShares()
	return tl
}

// Lags between what was seen and the first word about it, in seconds: commonly 2 to 9
// (common practice: time to see, to judge and to say it).
const (
	lagMean, lagSD     = 5.0, 2.6
	aheadMean, aheadSD = -4.0, 4.0
)

// normalCDF is the normal distribution function; beyond six standard deviations it is 0 or 1.
func normalCDF(x, mean, sd float64) float64 {
	switch z := (x - mean) / sd; {
	case z < -6:
		return 0
	case z > 6:
		return 1
	default:
		return 0.5 * math.Erfc(-z/math.Sqrt2)
	}
}

// shareStep is the grid of the share table, in seconds; shareEdge how far it reaches beyond
// the ride on both sides.
const (
	shareStep = 0.25
	shareEdge = 90.0
)

// share is the chance that a remark begun at reference time u is about each movement, by
// time alone: the lag density laid over the spans. Callers must not change it.
func (tl *timeline) share(class int, u float64) []float64 {
	t := tl.shares[class]
	i := int(math.Round((u - tl.from + shareEdge) / shareStep))
	return t[min(max(i, 0), len(t)-1)]
}

// fillShares computes the share tables.
func (tl *timeline) fillShares() {
	n := int((tl.to-tl.from+2*shareEdge)/shareStep) + 1
	for class := range tl.shares {
		tl.shares[class] = make([][]float64, n)
		for i := range tl.shares[class] {
			tl.shares[class][i] = tl.shareAt(class, tl.from-shareEdge+float64(i)*shareStep, 0)
		}
	}
}

// shareAt is share at any time, the lag widened by loose seconds.
func (tl *timeline) shareAt(class int, u, loose float64) []float64 {
	out := make([]float64, len(tl.spans))
	for _, c := range lagMixes[class] {
		sd := math.Hypot(c.sd, loose)
		for i, p := range tl.spans {
			// lag = u - event, event in [from, to]
			out[i] += c.w * (normalCDF(u-p.from, c.mean, sd) - normalCDF(u-p.to, c.mean, sd))
		}
	}
	return out
}

type lagPart struct{ w, mean, sd float64 }

// lagMixes are the mixtures of plain, looking-ahead and looking-back remarks.
var lagMixes = [3][]lagPart{
	{{0.86, lagMean, lagSD}, {0.06, aheadMean, aheadSD}, {0.08, 13, 6}},
	{{0.50, lagMean, lagSD}, {0.42, aheadMean, aheadSD}, {0.08, 13, 6}},
	{{0.55, lagMean, lagSD}, {0.02, aheadMean, aheadSD}, {0.43, 13, 6}},
}

func (n named) lagClass() int {
	switch {
	case n.back:
		return 2
	case n.ahead:
		return 1
	}
	return 0
}

func gauss(x, mean, sd float64) float64 {
	z := (x - mean) / sd
	return math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi))
}
