package remarks

import "math"

// run is one riding of the test found in a commentary.
type run struct {
	guess, rate float64 // rough start on the commentary's clock and rate, from the scan
	score       float64 // nats by which the words in order beat the words in any order

	start, startSD, end float64
	cues                []int // indexes of the remarks considered
	post                [][]float64
	meanU               []float64 // expected reference time of each remark
	cuesPlaced          []int
}

const gridStep = 1.0 // seconds

// align runs the dynamic programme: state is the offset d of the commentary's clock (the
// time at which the test would have begun had it kept the reference pace ever since), which
// drifts between remarks; the plan's clock so runs forward only. Several rates are tried
// and mixed by how well they explain the remarks.
func (r *run) align(hs []heard, tl timeline, prior Prior, first bool) {
	length := tl.to - tl.from
	half, sd := 45.0, 12.0
	known := prior.OffsetKnown && first
	if known {
		sd = offsetSD(prior)
		half = 3*sd + 25
	}
	for i, h := range hs {
		if h.StartS >= r.guess-20 && h.StartS <= r.guess+r.rate*length+40+0.1*length {
			r.cues = append(r.cues, i)
		}
	}
	if len(r.cues) == 0 {
		r.start, r.startSD, r.end = r.guess, sd, r.guess+r.rate*length
		return
	}
	centre := r.guess
	if known {
		centre = prior.OffsetS + tl.from
	}
	var best []lattice
	for _, rate := range tl.rates {
		best = append(best, newLattice(r, hs, tl, rate, centre, half, sd))
	}
	r.mix(best, hs, tl)
}

func offsetSD(p Prior) float64 {
	if p.OffsetSD > 0 {
		return p.OffsetSD
	}
	return defaultOffsetSD
}

// lattice is the forward-backward result for one rate.
type lattice struct {
	rate, logZ float64
	d          []float64   // grid of offsets
	gamma      [][]float64 // per remark, posterior over d
}

func newLattice(r *run, hs []heard, tl timeline, rate, centre, half, sd float64) lattice {
	l := lattice{rate: rate}
	for d := centre - half; d <= centre+half; d += gridStep {
		l.d = append(l.d, d)
	}
	n := len(r.cues)
	emit := make([][]float64, n)
	for j, i := range r.cues {
		emit[j] = make([]float64, len(l.d))
		for k, d := range l.d {
			u := (hs[i].StartS - d) / rate
			emit[j][k] = hs[i].emission(u, tl.to-tl.from, tl.share(hs[i].lagClass(), tl.from+u), nil)
		}
	}
	alpha := make([][]float64, n)
	cur := make([]float64, len(l.d))
	for k, d := range l.d {
		cur[k] = gauss(d, centre, sd) + 1e-6
	}
	for j := range alpha {
		if j > 0 {
			cur = blur(cur, tl.drift*(hs[r.cues[j]].StartS-hs[r.cues[j-1]].StartS))
		}
		for k := range cur {
			cur[k] *= emit[j][k]
		}
		l.logZ += normalise(cur)
		alpha[j] = append([]float64(nil), cur...)
	}
	l.gamma = make([][]float64, n)
	beta := make([]float64, len(l.d))
	for k := range beta {
		beta[k] = 1
	}
	for j := n - 1; j >= 0; j-- {
		l.gamma[j] = make([]float64, len(l.d))
		for k := range beta {
			l.gamma[j][k] = alpha[j][k] * beta[k]
		}
		normalise(l.gamma[j])
		if j > 0 {
			for k := range beta {
				beta[k] *= emit[j][k]
			}
			beta = blur(beta, tl.drift*(hs[r.cues[j]].StartS-hs[r.cues[j-1]].StartS))
			normalise(beta)
		}
	}
	return l
}

// normalise scales a distribution to sum 1 and returns the log of the sum.
func normalise(p []float64) float64 {
	sum := 0.0
	for _, v := range p {
		sum += v
	}
	if sum <= 0 {
		for k := range p {
			p[k] = 1 / float64(len(p))
		}
		return math.Log(1e-300)
	}
	for k := range p {
		p[k] /= sum
	}
	return math.Log(sum)
}

// blur convolves a distribution on the grid with a Gaussian of the given variance (s²).
func blur(p []float64, variance float64) []float64 {
	sd := math.Sqrt(max(variance, 0)+0.01) / gridStep
	reach := int(math.Ceil(3 * sd))
	kernel := make([]float64, reach+1)
	for i := range kernel {
		kernel[i] = math.Exp(-float64(i*i) / (2 * sd * sd))
	}
	out := make([]float64, len(p))
	for k, v := range p {
		if v == 0 {
			continue
		}
		for i := max(0, k-reach); i <= min(len(p)-1, k+reach); i++ {
			out[i] += v * kernel[abs(i-k)]
		}
	}
	total := kernel[0]
	for _, v := range kernel[1:] {
		total += 2 * v
	}
	for k := range out {
		out[k] /= total
	}
	return out
}

func abs(i int) int {
	if i < 0 {
		return -i
	}
	return i
}

// mix joins the rates by their evidence and leaves the posteriors in the run.
func (r *run) mix(ls []lattice, hs []heard, tl timeline) {
	top := math.Inf(-1)
	w := make([]float64, len(ls))
	for i, l := range ls {
		w[i] = l.logZ - (l.rate-1.02)*(l.rate-1.02)/(2*0.1*0.1)
		top = max(top, w[i])
	}
	for i := range w {
		w[i] = math.Exp(w[i] - top)
	}
	normalise(w)
	post := make([]float64, len(tl.spans)+1)
	r.post, r.meanU = nil, nil
	var s0, s1, s2 float64
	r.end = 0
	for j, i := range r.cues {
		sum := make([]float64, len(post))
		mean := 0.0
		for n, l := range ls {
			if w[n] < 1e-4 {
				continue
			}
			for k, g := range l.gamma[j] {
				if g *= w[n]; g < 1e-6 {
					continue
				}
				u := tl.from + (hs[i].StartS-l.d[k])/l.rate
				hs[i].emission(u-tl.from, tl.to-tl.from, tl.share(hs[i].lagClass(), u), post)
				for m := range post {
					sum[m] += g * post[m]
				}
				mean += g * u
				if j == 0 {
					s0, s1, s2 = s0+g, s1+g*l.d[k], s2+g*l.d[k]*l.d[k]
				}
				if j == len(r.cues)-1 {
					r.end += g * (l.d[k] + l.rate*(tl.to-tl.from))
				}
			}
		}
		normalise(sum)
		r.post, r.meanU = append(r.post, sum), append(r.meanU, mean)
	}
	r.start = s1 / s0
	r.startSD = math.Sqrt(max(0, s2/s0-r.start*r.start) + gridStep*gridStep/12)
	r.chain(hs)
}
