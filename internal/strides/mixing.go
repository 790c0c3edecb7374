package strides

import (
	"math"

	"ringcraft/internal/gait"
)

// A stride is timed from beat to beat. Where the beat lies in the stride, a stride that is longer as a
// whole lengthens the time before its beat and the time after it: each measured stride is part of one true
// stride and part of the next, and the filter that finds the beat blurs it a little further. So single
// strides come out too even, and neighbours too alike. How alike they are shows how much is missing:
// with true strides each of their own length, the variance of the true ones is that of the measured ones
// and twice the covariance of neighbours. Errors of single beats (one stride longer, the next shorter)
// fall out the same way. What strides two apart have in common is a tempo that changes slowly, and none of it.

// The factor of variance when nothing is known of where in the stride the beat lies: 1/((1-f)^2 + f^2)
// for f anywhere between 0 and 1 lies between 1 and 2, on average 1.57, standard deviation 0.31. The one
// beat of a canter stride lies between its three footfalls, near the middle (0.4 to 0.6): 1.92 or more.
const (
	mixedUsual, mixedSD   = 1.57, 0.31
	mixedCanter, canterSD = 1.95, 0.15
)

// Unmixed gives the factor by which the variance of the single strides of a pace is larger than that of the
// strides as measured, with its standard deviation, from all strides of that pace.
func (r *Result) Unmixed(p gait.Pace) (factor, sd float64) {
	var g [3]float64
	n := 0.0
	for _, sp := range r.Spans {
		if sp.Pace != p {
			continue
		}
		for _, run := range inARow(sp.Strides) {
			for i := 2; i < len(run); i++ {
				for k := range g {
					g[k] += run[i] * run[i-k]
				}
				n++
			}
		}
	}
	usual, sd := mixedUsual, mixedSD
	if p == gait.Canter {
		usual, sd = mixedCanter, canterSD
	}
	own := g[0] - g[2] // the variance of single strides, without that of a tempo that changes over the span
	if n < 10 || own <= 0.2*g[0] {
		return usual, sd
	}
	seen := 1 + 2*(g[1]-g[2])/own
	wSeen, wUsual := n/8, 1/(sd*sd) // two correlations of n strides: variance 1/n each, twice their difference
	return math.Max((seen*wSeen+usual*wUsual)/(wSeen+wUsual), 0.25), math.Sqrt(1 / (wSeen + wUsual))
}

// inARow parts strides where one does not begin as the one before it ends, and gives the share by which each
// differs from the middle one of its run. Strides that are no neighbours in time are not alike.
func inARow(list []Stride) (out [][]float64) {
	for first, i := 0, 1; i <= len(list); i++ {
		if i < len(list) && math.Abs(float64(list[i].T-list[i-1].T-list[i-1].Duration)) < 0.05 {
			continue
		}
		out = append(out, aroundMiddle(list[first:i]))
		first = i
	}
	return out
}

func aroundMiddle(run []Stride) []float64 {
	if len(run) < 6 {
		return nil
	}
	d := make([]float64, len(run))
	for i, s := range run {
		d[i] = float64(s.Duration)
	}
	mid := median(d)
	var out []float64
	for _, x := range d {
		out = append(out, math.Max(-0.25, math.Min(x/mid-1, 0.25)))
	}
	return out
}
