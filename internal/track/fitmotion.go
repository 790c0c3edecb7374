package track

import "math"

// What is known of a ride before it is seen: its acceleration is near 1.2 m/s2, usually within a factor of
// 1.5 either way (a 10 m circle at 3.5 m/s bends by 0.7, a corner of 4 m by 3 m/s2, straights by none).
const (
	priorAccSD    = 1.2
	priorLogWidth = 0.35 // of the natural logarithm
)

// fitMotion finds the motion model under which the recording is most probable (largest likelihood
// of the filter's one-step errors times the prior above), over three memories and a grid of
// accelerations refined by a parabola.
func fitMotion(nodes []node, white float64, step Step) motionModel {
	m, _ := fitMotionScore(nodes, white, step)
	return m
}

func fitMotionScore(nodes []node, white float64, step Step) (motionModel, float64) {
	some := thin(nodes)
	p := pass{step: step}
	score := func(m motionModel) float64 {
		run(some, m, white, false, &p)
		d := math.Log(m.sigma/priorAccSD) / priorLogWidth
		return p.logLik - d*d/2
	}
	best, bestScore := motionModel{priorAccSD, 3}, math.Inf(-1)
	for _, tau := range []float64{1, 3, 10} {
		m, s := climb(tau, score)
		if s > bestScore {
			best, bestScore = m, s
		}
	}
	return best, bestScore
}

// slowRate is the rate in Hz below which the third differences of a ride hold more riding than
// scatter, so that the scatter is refined by likelihood.
const slowRate = 4

// refineWhite looks for a smaller scatter under which a slow recording is more probable, in
// steps of a factor sqrt 2 and never below least: at a fix a second the file cannot tell 2 cm
// from 10 cm, and too small a figure would make every result look better than it is.
func refineWhite(t *Track, white, least float64) float64 {
	nodes, err := nodesOf(t, 0)
	if err != nil || !(white > 0) {
		return white
	}
	_, best := fitMotionScore(nodes, white, nil)
	at := white
	for w := white / math.Sqrt2; w > least; w /= math.Sqrt2 {
		_, s := fitMotionScore(nodes, w, nil)
		if s > best {
			best, at = s, w
		}
	}
	return at
}

// climb goes up the likelihood in steps of a factor sqrt 2 and ends with a parabola in the logarithm.
func climb(tau float64, score func(motionModel) float64) (motionModel, float64) {
	const step = math.Sqrt2
	at := priorAccSD
	lo, mid, hi := score(motionModel{at / step, tau}), score(motionModel{at, tau}), score(motionModel{at * step, tau})
	for range 9 {
		switch {
		case hi > mid && hi >= lo:
			at *= step
			lo, mid, hi = mid, hi, score(motionModel{at * step, tau})
			continue
		case lo > mid:
			at /= step
			hi, mid, lo = mid, lo, score(motionModel{at / step, tau})
			continue
		}
		break
	}
	if bend := lo - 2*mid + hi; bend < 0 && mid >= lo && mid >= hi {
		at *= math.Pow(step, (lo-hi)/(2*bend))
	}
	return motionModel{at, tau}, mid
}

// thin keeps the fitting quick on long recordings: stretches of whole neighbourhoods, evenly spread.
func thin(nodes []node) []node {
	const most, stretch = 6000, 1000
	if len(nodes) <= most {
		return nodes
	}
	var out []node
	n := most / stretch
	for i := range n {
		from := i * (len(nodes) - stretch) / (n - 1)
		out = append(out, nodes[from:from+stretch]...)
	}
	return out
}
