package measure

import (
	"math"
	"sort"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// isBigger says whether a figure is a pace to be shown bigger than the one before.
func isBigger(k terms.Kind) bool {
	return k == terms.MediumPace || k == terms.ExtendedPace || k == terms.Lengthened
}

const (
	// fromGain is how many metres either side of the place where a bigger pace begins or ends are left
	// out of its gain: some are asked a few metres late, and take some to be there. That is a late
	// transition and no smaller gain.
	fromGain = 8.0
	// leastGain is what must be left of a stretch when as much is left out.
	leastGain = 12.0
	// gainBefore is over how many metres before a bigger pace the usual one is looked at.
	gainBefore = 60.0
	// elsewhere is the share by which the speed of a pace over ten metres of straight differs from that
	// over the next (assumption, as in the simulated rides); a mean over more evens that out.
	elsewhere = 0.01
	// jumped is how many times the planned speed, or its share, no horse's usual pace has: some metres of
	// it were recorded with a jump.
	jumped = 1.6
)

// bigger measures a medium, lengthened or extended pace: how much faster than the pace
// before it, and how much of the distance it was held.
func (r *ride) bigger(b *book, f *rideplan.Figure) {
	if f.Between {
		return // a few strides anywhere on the line: the plan's place binds nobody
	}
	a, z := float64(f.StartM), float64(f.EndM)
	gain := entry{what: "gain", letter: f.At, atM: (a + z) / 2}
	held := entry{what: "held", letter: f.At, atM: gain.atM, asked: 100}
	base := r.paceBefore(f)
	var whole stretch
	for _, s := range r.stretches(a, z) {
		if s.variety == f.Variety && s.z-s.a > whole.z-whole.a {
			whole = s
		}
	}
	if len(base) == 0 || whole.z-whole.a < shortestStretch {
		return
	}
	fast := whole.within(fromGain, fromGain)
	before, ok := r.speedOver(base)
	of, cf := r.over(fast.a, fast.z)
	all, ca := r.over(whole.a, whole.z)
	gain.asked = 100 * (meanSpeed(r.planned(fast.a, fast.z))/before.planned - 1)
	gain.at, held.at = during(of), during(all)
	vb, why := before.speed, ""
	if !ok || len(of) < 4 || cf < 0.6 || ca < 0.6 {
		why = "too little of the pace and of the one before was recorded"
	} else if vb > jumped*before.planned || vb < before.planned/jumped {
		why = "the recording jumps where the pace that it is compared with was ridden"
	}
	if why != "" {
		b.cannot(gain, why)
		b.cannot(held, why)
		b.cannot(entry{what: "stride gain", letter: f.At, atM: gain.atM, at: gain.at, asked: math.NaN()}, why)
		return
	}
	wf, vf := r.speedWeights(of)
	gain.value = 100 * (vf/vb - 1)
	riding := math.Pow(elsewhere*vf/vb, 2)*(10/(fast.z-fast.a)+10/before.metres) + r.unlikeMean(of, vf)/(vb*vb) + before.unlike*math.Pow(vf/(vb*vb), 2)
	gain.parts = append(r.d.of(inTime(joined(before.ws, -100*vf/(vb*vb), wf, 100/vb))), part{fromRiding, 1e4 * riding})
	b.add(gain)
	r.strideGain(b, f, base, fast, gain)
	r.heldShare(b, held, all, vb, before.planned*gain.asked/100)
}

// within leaves more out at the ends of a stretch, as far as enough is left.
func (s stretch) within(first, last float64) stretch {
	ease := (s.whole - (s.z - s.a)) / 2
	first, last = math.Max(0, first-ease), math.Max(0, last-ease)
	if more := first + last; more > 0 {
		k := clamp((s.z-s.a-leastGain)/more, 0, 1)
		s.a, s.z = s.a+k*first, s.z-k*last
	}
	return s
}

// paceBefore finds the straight stretches of the same pace before (else after) a figure, where there
// are none the bent ones: a horse goes slower on a circle, which is no larger gain.
func (r *ride) paceBefore(f *rideplan.Figure) []stretch {
	for _, bent := range []float64{straightLine, bentLine} {
		for _, reach := range [][2]float64{{math.Max(0, float64(f.StartM)-gainBefore), float64(f.StartM)}, {float64(f.EndM), float64(f.EndM) + gainBefore}} {
			var out []stretch
			for _, s := range r.stretchesOn(reach[0], reach[1], bent) {
				if s.variety == f.Variety || s.variety.PaceOf() != f.Variety.PaceOf() || s.z-s.a < shortestStretch {
					continue
				}
				if len(out) > 0 && out[0].variety != s.variety {
					out = nil // the pace next to the figure is the one that it is compared with
				}
				out = append(out, s.within(r.leftOutAt(s, -1), r.leftOutAt(s, 1)))
			}
			if len(out) > 0 {
				return out
			}
		}
	}
	return nil
}

// leftOutAt is how much is left out at an end of a stretch: more where another pace follows.
func (r *ride) leftOutAt(s stretch, side float64) float64 {
	const looks = 5.0
	middle := (s.a + s.z) / 2
	for d := 0.5; d <= looks; d += 0.5 {
		at := clamp(middle+side*(s.whole/2+d), 0, float64(r.plan.Length))
		if r.plan.SampleAtM(metres(at)).Variety != s.variety {
			return fromGain
		}
	}
	return awayFrom
}

// usualPace is the speed over several stretches: all their way over all their time.
type usualPace struct {
	speed, planned, unlike float64
	metres                 float64 // of the stretches that were recorded
	ws                     []weight
}

// speedOver takes stretches together; ok is false when too little of them was recorded.
func (r *ride) speedOver(list []stretch) (p usualPace, ok bool) {
	var seconds, way, plannedWay, plannedSeconds float64
	for _, s := range list {
		exact := r.planned(s.a, s.z)
		if v := meanSpeed(exact); v > 0 {
			plannedWay, plannedSeconds = plannedWay+s.z-s.a, plannedSeconds+(s.z-s.a)/v
		}
		os, covered := r.over(s.a, s.z)
		if len(os) < 4 || covered < 0.6 {
			continue
		}
		ws, v := r.speedWeights(os)
		t := os[len(os)-1].t - os[0].t
		p.metres += s.z - s.a
		seconds, way = seconds+t, way+v*t
		p.ws = joined(p.ws, 1, ws, t)
		p.unlike += t * t * r.unlikeMean(os, v)
	}
	p.planned = plannedWay / plannedSeconds // what is asked does not hang on what was recorded
	if seconds <= 0 || plannedSeconds <= 0 {
		return p, false
	}
	p.speed, p.unlike = way/seconds, p.unlike/(seconds*seconds)
	p.ws = joined(p.ws, 1/seconds, nil, 0)
	return p, true
}

// inTime puts weights in the order of time, which a pace compared with one after it has not.
func inTime(ws []weight) []weight {
	sort.SliceStable(ws, func(i, j int) bool { return ws[i].t < ws[j].t })
	return ws
}
