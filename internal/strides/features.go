package strides

import "math"

// lags of the likeness curves: up to a slow walk stride.
const (
	minLag = int(0.24 * rate)
	maxLag = int(1.70 * rate)
)

// feature is one window's motion.
type feature struct {
	t      Seconds
	rms    float64   // vertical, m/s2
	middle float64   // the same over the middle second
	vert   []float64 // likeness of the vertical motion by lag, from lag 0 on
	side   []float64 // of the horizontal motion
	chosen [modelCount]candidate
	absent bool
}

// candidate is a stride length in time read off the curves.
type candidate struct {
	period              float64
	half, whole         float64
	sideHalf, sideWhole float64
	score               float64
}

func (f *feature) best(state int) candidate { return f.chosen[state] }

// features cuts the signal into windows; fewer of them when the step ends the work.
func (s *signal) features(ask *asking) []feature {
	var out []feature
	for from := 0; from+windowLen <= len(s.vert); from += hopLen {
		if len(out)%askEvery == 0 && ask.stop(doneFeatures*float64(from)/float64(len(s.vert))) {
			return out
		}
		f := feature{t: s.time(from + windowLen/2)}
		v := s.vert[from : from+windowLen]
		f.vert, f.rms = likeness(v)
		f.middle = rms(v[windowLen/3 : 2*windowLen/3])
		f.side, _ = likeness(s.side[0][from:from+windowLen], s.side[1][from:from+windowLen])
		gone := 0
		for _, a := range s.absent[from : from+windowLen] {
			if a {
				gone++
			}
		}
		f.absent = gone > windowLen/4
		for k := range models {
			f.chosen[k] = f.fit(&models[k])
		}
		out = append(out, f)
	}
	return out
}

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

// likeness is the normalised autocorrelation of one or more channels together, each lag normalised
// by the two stretches that it compares (so it is 1 only for a perfect repeat), and the root mean
// square of the channels.
func likeness(ch ...[]float64) (r []float64, rms float64) {
	n := len(ch[0])
	r = make([]float64, maxLag+2)
	sq := make([]float64, n+1) // running sum of squares
	for i := range n {
		e := 0.0
		for _, c := range ch {
			e += c[i] * c[i]
		}
		sq[i+1] = sq[i] + e
	}
	for lag := range r {
		if lag > 0 && lag < minLag-2 {
			continue
		}
		sum := 0.0
		for _, c := range ch {
			a, b := c[:n-lag], c[lag:]
			for i, x := range a {
				sum += x * b[i]
			}
		}
		if norm := math.Sqrt(sq[n-lag] * (sq[n] - sq[lag])); norm > 1e-12 {
			r[lag] = sum / norm
		}
	}
	return r, math.Sqrt(sq[n] / float64(n))
}

// at reads a curve between lags.
func at(r []float64, lag float64) float64 {
	i := int(lag)
	if i+1 >= len(r) {
		return r[len(r)-1]
	}
	if i < minLag-2 {
		i, lag = minLag-2, float64(minLag-2)
	}
	u := lag - float64(i)
	return r[i]*(1-u) + r[i+1]*u
}

// fit finds the stride time of a pace in the window: among the peaks of the likeness within four
// spreads of its usual time, the one that makes the window most probable.
func (f *feature) fit(m *model) candidate {
	if m.Beats == 0 {
		c := f.candidate(m.Stride[0])
		c.score = m.score(f, c)
		return c
	}
	lo, hi := m.Stride[0]-4*m.Stride[1], m.Stride[0]+4*m.Stride[1]
	best := candidate{score: math.Inf(-1)}
	sum := func(i int) float64 { return f.vert[i] + 0.5*f.side[i] }
	for i := max(minLag, int(lo*rate)); i <= min(maxLag, int(hi*rate)+1); i++ {
		if i+1 >= len(f.vert) || i < 1 || sum(i) < sum(i-1) || sum(i) < sum(i+1) {
			continue
		}
		lag := float64(i)
		if bend := sum(i-1) - 2*sum(i) + sum(i+1); bend < 0 {
			lag += (sum(i-1) - sum(i+1)) / (2 * bend)
		}
		c := f.candidate(lag / rate)
		if c.score = m.score(f, c); c.score > best.score {
			best = c
		}
	}
	if math.IsInf(best.score, -1) { // no peak at all: the usual time, as bad as it is
		best = f.candidate(m.Stride[0])
		best.score = m.score(f, best) - 3
	}
	return best
}

func (f *feature) candidate(period float64) candidate {
	return candidate{period: period, whole: at(f.vert, period*rate), half: at(f.vert, period*rate/2),
		sideWhole: at(f.side, period*rate), sideHalf: at(f.side, period*rate/2)}
}
