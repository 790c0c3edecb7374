package remarks

import (
	"math"
	"sort"
)

// findRuns finds where in the commentary the test was ridden: the best start, and a second
// one where the words follow the order of the test once more. Runs come in order of time.
func findRuns(hs []heard, tl timeline, prior Prior) []run {
	sc := newScan(hs, tl)
	first := sc.best(prior, nil, insideNats)
	runs := []run{first}
	length := tl.to - tl.from
	second := sc.best(Prior{}, &first, 0)
	need := max(secondRunNats, 0.25*first.score)
	if announced(hs, second.guess) {
		need = max(announcedNats, 0.1*first.score)
	}
	if second.score > need && math.Abs(second.guess-first.guess) > 0.9*length {
		runs = append(runs, second)
	}
	if !prior.OffsetKnown {
		sort.SliceStable(runs, func(i, j int) bool { return runs[i].guess < runs[j].guess })
	} else if len(runs) == 2 && runs[1].guess < runs[0].guess {
		runs = runs[:1] // a ride before the one asked about: talk, as far as this test goes
	}
	return runs
}

// secondRunNats is how much the order of the words must speak for a second ride.
const secondRunNats = 9

// announcedNats is how much it must be where words such as "from the top" went before it.
const announcedNats = 4

// announced reports whether a ride that begins at d was spoken of as another one, up to a minute
// before.
func announced(hs []heard, d float64) bool {
	for _, h := range hs {
		if h.again > 0 && h.StartS >= d-60 && h.StartS <= d+10 {
			return true
		}
	}
	return false
}

// insideNats is what a remark speaks for a test around it before its words are heard: most of
// what is said on a file lies in the test. Without it a trainer whose words are not known has
// no test until the file is nearly over.
const insideNats = 0.3

// scan holds, per remark, the log likelihood ratio at each second of the test, with the
// pace left loose.
type scan struct {
	hs    []heard
	tl    timeline
	value [][]float64 // per remark, per second from tl.from-lead
}

const scanLead, scanTail = 15, 30 // seconds before the start and after the end

func newScan(hs []heard, tl timeline) *scan {
	s := &scan{hs: hs, tl: tl}
	n := int(tl.to-tl.from) + scanLead + scanTail + 1
	var shares [3][][]float64
	for c := range shares {
		shares[c] = make([][]float64, n)
		for b := range shares[c] {
			shares[c][b] = tl.looseShare(c, float64(b-scanLead))
		}
	}
	for _, h := range hs {
		v := make([]float64, n)
		for b := range v {
			v[b] = math.Log(h.emission(float64(b-scanLead), tl.to-tl.from, shares[h.lagClass()][b], nil)) + h.phaseNats()
		}
		s.value = append(s.value, v)
	}
	return s
}

// looseShare is share with the doubt of an unaligned pace, u seconds after the start.
func (tl *timeline) looseShare(class int, u float64) []float64 {
	loose := 3 + 0.04*max(u, 0)
	if tl.fixed {
		loose = 1
	}
	return tl.shareAt(class, tl.from+u, loose)
}

// phaseNats weighs the words that tell a test from talk.
func (n named) phaseNats() float64 {
	return -0.35*float64(min(n.talk, 3)) - 0.20*float64(min(n.lesson, 3)) - 0.3*float64(min(n.off, 2))
}

// best returns the start and rate with the highest score. Where another run is given, only
// starts that do not overlap it are tried. inside is what a remark gains by lying in the test.
func (s *scan) best(prior Prior, other *run, inside float64) run {
	length := s.tl.to - s.tl.from
	t0, t1 := s.hs[0].StartS-20, s.hs[len(s.hs)-1].StartS
	if s.tl.fixed {
		t0 = min(t0, s.tl.from-3*sameClockSD)
	}
	if prior.OffsetKnown {
		c, sd := prior.OffsetS+s.tl.from, offsetSD(prior)
		t0, t1 = c-4*sd, c+4*sd
	}
	out := run{guess: t0, rate: 1, score: math.Inf(-1)}
	for d := t0; d <= t1; d++ {
		for _, rate := range []float64{1, 0.88, 1.13} {
			if s.tl.fixed && rate != 1 {
				continue
			}
			if other != nil && d < other.guess+other.rate*length*0.95 && d+rate*length*0.95 > other.guess {
				continue
			}
			sc := s.score(d, rate, inside)
			if sc += s.startNats(d, prior); sc > out.score {
				out = run{guess: d, rate: rate, score: sc}
			}
		}
	}
	return out
}

func (s *scan) score(d, rate, inside float64) float64 {
	length := s.tl.to - s.tl.from
	lo := sort.Search(len(s.hs), func(i int) bool { return s.hs[i].StartS >= d-scanLead*rate })
	sum := 0.0
	for i := lo; i < len(s.hs) && s.hs[i].StartS <= d+rate*(length+scanTail); i++ {
		b := int(math.Round((s.hs[i].StartS-d)/rate)) + scanLead
		if b >= 0 && b < len(s.value[i]) {
			sum += s.value[i][b]
			if b >= scanLead && float64(b-scanLead) <= length {
				sum += inside
			}
		}
	}
	return sum
}

// sameClockSD is the doubt, in seconds, of the guess that a recording and a commentary whose
// offset nobody gave were started together.
const sameClockSD = 8

// startWithin is how soon after the first words, in seconds, a test usually begins.
const startWithin = 60

// startNats is the prior of a start: as told; where the recording has it; or else rather
// near the beginning of the file.
func (s *scan) startNats(d float64, prior Prior) float64 {
	if prior.OffsetKnown {
		z := (d - prior.OffsetS - s.tl.from) / offsetSD(prior)
		return -z * z / 2
	}
	if s.tl.fixed { // a recording or taps: most likely the same clock as the commentary
		z := (d - s.tl.from) / sameClockSD
		return math.Log(0.002 + math.Exp(-z*z/2))
	}
	z := (d - s.hs[0].StartS) / startWithin
	return math.Log(0.03 + math.Exp(-z*z/2))
}

// phases cuts the commentary's time into stretches.
func phases(hs []heard, runs []run) []Phase {
	if len(hs) == 0 {
		return nil
	}
	begin, end := min(0, hs[0].StartS), hs[len(hs)-1].EndS
	var out []Phase
	at := begin
	for i, r := range runs {
		start, stop := max(r.start, at), max(r.end, r.start)
		kind := Test
		if i > 0 {
			kind = TestAgain
		}
		if start > at {
			if i == 0 {
				out = append(out, Phase{Before, at, start, sureness(r.score)})
			} else {
				out = append(out, between(hs, at, start)...)
			}
		}
		out = append(out, Phase{kind, start, stop, sureness(r.score)})
		at = stop
	}
	if end > at+1 {
		if len(runs) == 0 {
			return append(out, Phase{Before, at, end, 0.5})
		}
		out = append(out, between(hs, at, end)...)
	}
	for i := range out {
		out[i].StartS, out[i].EndS, out[i].Confidence = round2(out[i].StartS), round2(out[i].EndS), round2(out[i].Confidence)
	}
	return out
}

// sureness turns nats of evidence into a chance, never quite certain.
func sureness(nats float64) float64 { return min(0.99, 1/(1+math.Exp(-(nats-1)/4))) }

// between splits the time after a test into discussion and lesson where teaching begins.
func between(hs []heard, from, to float64) []Phase {
	var in []heard
	for _, h := range hs {
		if h.StartS >= from && h.StartS < to {
			in = append(in, h)
		}
	}
	// Sum over the remarks before the cut of talk minus teaching; the cut is where it peaks.
	sum, peak, cut := 0.0, 0.0, 0
	total := 0.0
	for i, h := range in {
		sum -= h.teaching()
		total += h.teaching()
		if sum > peak {
			peak, cut = sum, i+1
		}
	}
	after := total + peak // teaching after the cut
	switch {
	case len(in)-cut < 4 || after < 2 || to-startOf(in, cut, to) < 45:
		return []Phase{{Between, from, to, sureness(4 - after)}}
	case cut == 0:
		return []Phase{{Lesson, from, to, sureness(after)}}
	}
	mid := startOf(in, cut, to)
	return []Phase{{Between, from, mid, sureness(peak + 2)}, {Lesson, mid, to, sureness(after)}}
}

func startOf(in []heard, i int, end float64) float64 {
	if i >= len(in) {
		return end
	}
	return in[i].StartS
}

// teaching weighs a remark between tests: positive when it teaches, negative when it talks.
func (n named) teaching() float64 {
	return 0.5*float64(min(n.lesson, 3)) - 0.7*float64(min(n.talk, 3)) - 0.2*float64(min(n.off, 2))
}
