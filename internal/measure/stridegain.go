package measure

import (
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// strideGain measures how much longer the strides of a bigger pace are than those of the pace it grows
// out of, over the same stretches as its gain in speed: what is not gained in length is gained by hurrying.
// Asked is the usual difference of the horse between the two.
func (r *ride) strideGain(b *book, f *rideplan.Figure, base []stretch, fast stretch, gain entry) {
	e := entry{what: "stride gain", letter: f.At, atM: gain.atM, at: gain.at, asked: math.NaN()}
	from, to := base[0].variety, f.Variety
	usual, ok := r.opts.Horse.Figures(from)
	bigger, too := r.opts.Horse.Figures(to)
	if ok && too && usual.StrideM > 0 {
		e.asked = 100 * (bigger.StrideM/usual.StrideM - 1)
	}
	if r.rec.Strides == nil {
		b.lacks(LacksMotion, e, "positions do not show strides. "+needMotion)
		return
	}
	short, ok := r.strideLength(from, base)
	long, too := r.strideLength(to, []stretch{fast})
	if !ok || !too {
		why := r.whyNot(to.PaceOf(), gain.at.from, gain.at.to)
		if too {
			why = "too few strides of the pace before were counted"
		}
		b.cannot(e, why)
		return
	}
	ratio := long.metres / short.metres
	e.value = 100 * (ratio - 1)
	e.parts = append(r.d.of(inTime(joined(short.ws, -100*ratio/short.speed, long.ws, 100*ratio/long.speed))),
		part{fromRiding, 1e4 * ratio * ratio * (short.unlike + long.unlike)},
		part{fromMotion, 1e4 * ratio * ratio * (short.counted + long.counted)})
	b.add(e)
}

// lengthOf is the mean length of the strides over some stretches, with what its doubt is made of: the
// weights of the speed, and variances of speed and rate as shares of it.
type lengthOf struct {
	strideTimes
	metres, speed   float64
	ws              []weight
	unlike, counted float64
}

// strideLength is speed over stride rate; ok is false where too few strides were counted.
func (r *ride) strideLength(v gait.Variety, list []stretch) (l lengthOf, ok bool) {
	var seen []stretch
	var runs [][]float64
	for _, s := range list {
		os, covered := r.over(s.a, s.z)
		if len(os) < 4 || covered < 0.6 {
			continue
		}
		if d := durations(r.strideList(v.PaceOf(), os[0].t, os[len(os)-1].t)); len(d) >= fewStrides {
			seen, runs = append(seen, s), append(runs, d)
		}
	}
	if len(seen) == 0 {
		return l, false
	}
	p, ok := r.speedOver(seen)
	if !ok || !(p.speed > 0) {
		return l, false
	}
	t := pooled(runs)
	return lengthOf{t, p.speed * t.mean, p.speed, p.ws, p.unlike / (p.speed * p.speed), t.ends / math.Pow(t.n*t.mean, 2)}, true
}

// strideTimes are the seconds of the strides of several unbroken runs together.
type strideTimes struct {
	n, runs  float64
	mean, sd float64 // of single strides, about the mean of their run
	ends     float64 // variance of the seconds that n strides take
}

func pooled(list [][]float64) (p strideTimes) {
	var total, sq float64
	for _, d := range list {
		mean, sd := meanSD(d)
		p.n, total, sq = p.n+float64(len(d)), total+mean*float64(len(d)), sq+sd*sd*float64(len(d)-1)
	}
	p.runs = float64(len(list))
	p.mean, p.sd = total/p.n, math.Sqrt(sq/math.Max(p.n-p.runs, 1))
	// each run errs by the times of its ends, and by the part of a stride that belongs to another
	p.ends = p.runs * (2*beatSD*beatSD + p.sd*p.sd*2/3)
	return p
}
