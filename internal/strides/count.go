package strides

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
)

// beat is one vertical oscillation: its time and height.
type beat struct{ t, height float64 }

// beats finds the upward peaks of the vertical motion near the span's beat.
func (s *signal) beats(sp Span) []beat {
	hz := sp.beatHz()
	if hz == 0 || sp.End-sp.Start < 0.5 {
		return nil
	}
	from, to := s.index(sp.Start), s.index(sp.End)
	pf, pt := max(0, from-int(2*rate)), min(len(s.vert)-1, to+int(2*rate))
	x := bandpass(s.vert[pf:pt+1], 0.6*hz, 1.5*hz)
	rms := 0.0
	for i := from; i <= to; i++ {
		rms += x[i-pf] * x[i-pf]
	}
	rms = math.Sqrt(rms / float64(to-from+1))
	var all []beat
	for i := max(from-pf, 1); i < to-pf+1 && i+1 < len(x); i++ {
		if x[i] <= 0.35*rms || x[i] < x[i-1] || x[i] <= x[i+1] {
			continue
		}
		d := 0.0
		if bend := x[i-1] - 2*x[i] + x[i+1]; bend < 0 {
			d = (x[i-1] - x[i+1]) / (2 * bend)
		}
		all = append(all, beat{float64(s.t0) + (float64(pf+i)+d)/rate, x[i]})
	}
	return spaced(all, 0.6/hz)
}

// spaced keeps the higher of two peaks that stand too close for two beats.
func spaced(all []beat, least float64) []beat {
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return all[order[i]].height > all[order[j]].height })
	dropped := make([]bool, len(all))
	for _, i := range order {
		if dropped[i] {
			continue
		}
		for j := i - 1; j >= 0 && all[i].t-all[j].t < least; j-- {
			dropped[j] = true
		}
		for j := i + 1; j < len(all) && all[j].t-all[i].t < least; j++ {
			dropped[j] = true
		}
	}
	var out []beat
	for i, b := range all {
		if !dropped[i] {
			out = append(out, b)
		}
	}
	return out
}

// leastRhythm is the likeness of strides below which a movement is no pace: a hand on the phone, a shy.
const leastRhythm = 0.45

// count fills in the strides of a span.
func (s *signal) count(sp *Span) {
	if sp.StrideHz == 0 {
		return
	}
	if sp.Regularity < leastRhythm {
		sp.StrideHz, sp.Reason = 0, "no steady rhythm: not counted"
		return
	}
	b := s.heard(s.beats(*sp))
	per := 2
	if sp.Pace == gait.Canter {
		per = 1
	}
	sp.Count = float64(len(b)) / float64(per)
	for i := 0; i+per < len(b); i += per {
		if s.misses(Seconds(b[i].t), Seconds(b[i+per].t)) {
			continue // nothing was recorded in it: no stride, however long
		}
		sp.Strides = append(sp.Strides, Stride{T: Seconds(b[i].t), Duration: Seconds(b[i+per].t - b[i].t)})
	}
	// two ways of counting: peaks, and rate times time; their difference is part of the doubt
	byRate := sp.StrideHz * float64(sp.End-sp.Start)
	sp.CountSD = math.Hypot(math.Max(0.5, 0.015*sp.Count), (byRate-sp.Count)/2)
	if n := len(sp.Strides); n >= 3 {
		s.rhythm(sp, b, per)
	}
}

// heard leaves out beats inside missing data: what the filter makes of the bridge over it.
func (s *signal) heard(all []beat) []beat {
	var out []beat
	for _, b := range all {
		if !s.misses(Seconds(b.t), Seconds(b.t)) {
			out = append(out, b)
		}
	}
	return out
}

// misses reports whether data are missing anywhere between two times.
func (s *signal) misses(from, to Seconds) bool {
	for _, m := range s.missing {
		if from < m[1] && to > m[0] {
			return true
		}
	}
	return false
}

// rhythm measures how even the strides are. Breaks where a beat was missed are left out of the
// spread; a change of tempo on purpose is not, it is in the spread of the span.
func (s *signal) rhythm(sp *Span, b []beat, per int) {
	var d []float64
	for i := 0; i+per < len(b); i++ {
		d = append(d, b[i+per].t-b[i].t)
	}
	var sum, sq, n float64
	for i, x := range d {
		if near := median(d[max(0, i-5):min(len(d), i+6)]); math.Abs(x/near-1) < 0.35 {
			sum += x
			sq += x * x
			n++
		}
	}
	if n < 3 {
		return
	}
	mean := sum / n
	sp.DurationCV = math.Sqrt(math.Max(sq/n-mean*mean, 0)) / mean
	sp.StrideHz = 1 / mean
	sp.StrideHzSD = sp.StrideHz * sp.DurationCV / math.Sqrt(math.Max(n/float64(per), 1))
	markIrregular(sp.Strides)
}

// markIrregular flags strides whose duration leaves that of the six around them by more than a
// tenth and more than four times their usual spread. A stride is timed from beat to beat, so the next one may
// have half of what is odd about it (mixing.go): two neighbours that are off to the same side are looked at
// together too, and the further off of them is flagged.
func markIrregular(st []Stride) {
	dev := make([]float64, len(st))
	for i := range st {
		dev[i] = deviation(st, i)
	}
	spread := scatter(dev, 0)
	for i := range st {
		st[i].Irregular = math.Abs(dev[i]) > math.Max(0.10, 4*spread)
	}
	both := make([]float64, max(len(dev)-1, 0))
	for i := range both {
		both[i] = dev[i] + dev[i+1]
	}
	spread = scatter(both, 0)
	for i, d := range both {
		if dev[i]*dev[i+1] <= 0 || math.Abs(d) <= math.Max(0.15, 4*spread) || st[i].Irregular || st[i+1].Irregular {
			continue
		}
		if math.Abs(dev[i+1]) > math.Abs(dev[i]) {
			i++
		}
		st[i].Irregular = true
	}
}

// deviation is a stride's duration over the median of up to three on each side, less 1.
func deviation(st []Stride, i int) float64 {
	var near []float64
	for j := max(0, i-3); j <= min(len(st)-1, i+3); j++ {
		if j != i {
			near = append(near, float64(st[j].Duration))
		}
	}
	if len(near) < 3 {
		return 0
	}
	return float64(st[i].Duration)/median(near) - 1
}

// Count returns how often the vertical motion went up and down between two times, for steps of a
// rein-back or of a pirouette: peaks between least and most Hz. ok is false without motion there or
// with a motion too small to be steps.
func (r *Result) Count(from, to Seconds, least, most float64) (beats int, ok bool) {
	s := r.sig
	if s == nil || len(s.vert) == 0 || from < s.t0 || to > s.time(len(s.vert)-1) || to-from < 0.5 {
		return 0, false
	}
	mid := (least + most) / 2
	sp := Span{Start: from, End: to, Pace: gait.Canter, StrideHz: mid}
	b := s.beats(sp)
	if s.size(from, to) < 0.3 {
		return 0, false
	}
	return len(upright(b)), true
}

// upright leaves out beats of less than half the usual height: what rings in the filter beside the first and the last.
func upright(b []beat) (out []beat) {
	height := make([]float64, len(b))
	for i := range b {
		height[i] = b[i].height
	}
	usual := median(height)
	for i := range b {
		if height[i] >= usual/2 {
			out = append(out, b[i])
		}
	}
	return out
}

func (s *signal) size(from, to Seconds) float64 {
	sum, n := 0.0, 0
	for i := s.index(from); i <= s.index(to); i++ {
		sum += s.vert[i] * s.vert[i]
		n++
	}
	return math.Sqrt(sum / float64(max(n, 1)))
}
