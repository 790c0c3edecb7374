package measure

import (
	"math"

	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
)

const (
	piaffeBelow  = 0.8  // m/s along the line: slower than any collected walk or trot, faster than any piaffe
	piaffeReach  = 6.0  // metres of plan before and after a piaffe within which the ride's own is looked for
	leastPiaffe  = 3.0  // s: shorter is a hesitation
	piaffeEdge   = 0.4  // s either side of an edge over which its place is averaged
	edgeOff      = 0.15 // s: by so much a smoothed speed passes an edge early or late, besides what jitter does
	piaffeAcross = 0.1  // m: how far a rider rocks over a horse that sits down and comes up again (assumption)
)

// piaffe measures how far forward the horse moved over a piaffe: between the moments when it comes
// to be slower than piaffeBelow and when it is faster again. What slowing down and moving off take of
// that is the plan's own share too, so that a ride as planned measures what is asked.
func (r *ride) piaffe(b *book, f *rideplan.Figure) {
	e := entry{what: "piaffe travel", letter: f.At, atM: float64(f.StartM+f.EndM) / 2}
	lo, hi := float64(f.StartM)-piaffeReach, float64(f.EndM)+piaffeReach
	planned := r.planned(lo, hi)
	a, z, ok := slowest(timesOf(planned), speedsOf(planned))
	if !ok {
		b.cannot(e, "the plan does not piaffe here for long enough")
		return
	}
	from, _, _ := meanOver(planned, a-piaffeEdge, a+piaffeEdge, wayOf)
	to, _, _ := meanOver(planned, z-piaffeEdge, z+piaffeEdge, wayOf)
	e.asked = to - from
	os, covered := r.over(lo, hi)
	if len(os) < 8 || covered < 0.6 {
		b.cannot(e, "too little around the piaffe was recorded")
		return
	}
	ts, vs := r.speedAlong(os)
	if a, z, ok = slowest(ts, vs); !ok {
		b.cannot(e, "the horse was not seen to stay nearly on the spot here")
		return
	}
	before, ca, na := meanOver(os, a-piaffeEdge, a+piaffeEdge, wayOf)
	after, cz, nz := meanOver(os, z-piaffeEdge, z+piaffeEdge, wayOf)
	if na < 2 || nz < 2 {
		b.cannot(e, "too few fixes where the piaffe begins and ends")
		return
	}
	for i := range ca {
		cz[i] -= ca[i]
	}
	e.value, e.at = after-before, when{a, (a + z) / 2, z, true}
	edge := piaffeBelow * math.Hypot(edgeOff, 2*r.d.white)
	e.parts = append(r.d.of(along(os, cz)), part{fromRiding, 2*edge*edge + piaffeAcross*piaffeAcross})
	b.addTravel(e)
}

// creptBack is the verdict on a piaffe that goes backwards by half a metre or more.
const (
	creptBack   = "crept backwards"
	leastBack   = 0.5
	slowingTook = 0.6 // m of the way between the edges that slowing down and moving off take (from the definition)
)

// addTravel adds how far a piaffe travelled and names one that went back.
func (b *book) addTravel(e entry) {
	if m := b.addBelow(e, slowingTook-leastBack); m != nil {
		m.Verdict = creptBack
	}
}

func wayOf(o obs) float64 { return o.s }

// speedsOf is the planned speed at samples of the plan.
func speedsOf(os []obs) []float64 {
	v := make([]float64, len(os))
	for i := range os {
		k, j := max(0, i-1), min(len(os)-1, i+1)
		v[i] = (os[j].s - os[k].s) / math.Max(os[j].t-os[k].t, 1e-6)
	}
	return v
}

// speedAlong is the smoothed speed of the ride along the plan while some fixes were recorded.
func (r *ride) speedAlong(os []obs) (ts, vs []float64) {
	u := os[len(os)/2].u
	first, last := os[0].t, os[len(os)-1].t
	inside := func(s match.Sample) bool { return float64(s.T) >= first && float64(s.T) <= last }
	for _, s := range r.rec.Samples {
		if inside(s) {
			ts, vs = append(ts, float64(s.T)), append(vs, s.V.Dot(u))
		}
	}
	return ts, vs
}

// slowest is the longest time at less than piaffeBelow; ok is false where there is none to speak of.
func slowest(ts, vs []float64) (a, z float64, ok bool) {
	for i := 0; i < len(ts); i++ {
		if vs[i] >= piaffeBelow {
			continue
		}
		j := i
		for j+1 < len(ts) && vs[j+1] < piaffeBelow {
			j++
		}
		if ts[j]-ts[i] > z-a {
			a, z = ts[i], ts[j]
		}
		i = j
	}
	return a, z, z-a >= leastPiaffe
}
