package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// going is a piece of the plan at one steady speed, from its very beginning to its end.
type going struct {
	variety gait.Variety
	a, z    float64
}

// eased leaves some metres out at either end, while this much is left.
func (g going) eased(first, last, least float64) going {
	k := math.Max(0, math.Min(1, (g.z-g.a-least)/(first+last)))
	return going{g.variety, g.a + k*first, g.z - k*last}
}

// bigger is how much faster a bigger pace was than the straights of the one before it, away from the
// changes, and the share of its stretch on which half of the gain at its best was kept.
func (t *teller) bigger(f *rideplan.Figure) {
	var whole going
	for _, g := range t.goings(float64(f.StartM), float64(f.EndM), 0.14) {
		if g.variety == f.Variety && g.z-g.a > whole.z-whole.a {
			whole = g
		}
	}
	base := t.usualBefore(f)
	held := whole.eased(3, 3, 6)
	if held.z-held.a < 6 || base == 0 {
		return
	}
	fast := whole.between(8, 8)
	t.say("gain", f.At, 100*(t.meanSpeed(fast.a, fast.z)/base-1))
	t.held(f, base, held.a, held.z)
}

// held is the share of a bigger pace on which half of the gain at its best was kept.
func (t *teller) held(f *rideplan.Figure, base, a, z float64) {
	const parts = 80
	var v [parts]float64
	for k := range v {
		v[k] = t.meanSpeed(a+(z-a)*float64(k)/parts, a+(z-a)*float64(k+1)/parts)
	}
	var best, sum float64
	for k := range v {
		sum += v[k]
		if k >= parts/4 {
			sum -= v[k-parts/4]
		}
		if k >= parts/4-1 {
			best = math.Max(best, sum/(parts/4))
		}
	}
	kept := 0.0
	for k := range v {
		if v[k] > (base+best)/2 {
			kept += 100.0 / parts
		}
	}
	t.say("held", f.At, kept)
}

// usualBefore is the speed over the straights of the same pace in the 60 m before a figure, else in
// those after it; where there are none, over the bent pieces. 0: none.
func (t *teller) usualBefore(f *rideplan.Figure) float64 {
	a, z := float64(f.StartM), float64(f.EndM)
	for _, bent := range []float64{0.05, 0.14} {
		for _, in := range [][2]float64{{math.Max(0, a-60), a}, {z, z + 60}} {
			var way, seconds float64
			var v gait.Variety
			for _, g := range t.goings(in[0], in[1], bent) {
				if eased := g.eased(3, 3, 6); g.variety == f.Variety || g.variety.PaceOf() != f.Variety.PaceOf() || eased.z-eased.a < 6 {
					continue
				}
				if g.variety != v {
					v, way, seconds = g.variety, 0, 0
				}
				g = g.between(t.leftOutAt(g, g.a, -1), t.leftOutAt(g, g.z, 1))
				d := (g.z - g.a) * t.longer(g.a, g.z)
				way, seconds = way+d, seconds+d/t.meanSpeed(g.a, g.z)
			}
			if seconds > 0 {
				return way / seconds
			}
		}
	}
	return 0
}

// between leaves 3 m out at either end and more where it is asked and 12 m are left.
func (g going) between(first, last float64) going {
	e := g.eased(3, 3, 6)
	if first+last <= 6 || e.z-e.a <= 12 {
		return e
	}
	k := math.Min(1, (e.z-e.a-12)/(first+last-6))
	return going{g.variety, e.a + k*(first-3), e.z - k*(last-3)}
}

// leftOutAt is how many metres are left out at an end of a piece: 8 where another pace is near.
func (t *teller) leftOutAt(g going, end, side float64) float64 {
	for d := 0.5; d <= 5; d += 0.5 {
		m := math.Max(0, math.Min(float64(t.r.plan.Length), end+side*d))
		if t.r.plan.SampleAtM(arena.Metres(m)).Variety != g.variety {
			return 8
		}
	}
	return 3
}

// goings are the pieces of the plan between two metres that keep one speed, on lines that bend less
// than this.
func (t *teller) goings(from, to, bent float64) (out []going) {
	ss := t.r.plan.Samples
	for i := 0; i < len(ss) && float64(ss[i].M) <= to; i++ {
		if float64(ss[i].M) < from || math.Abs(ss[i].Curvature) >= bent {
			continue
		}
		j := i
		for j+1 < len(ss) && float64(ss[j+1].M) <= to && ss[j+1].Variety == ss[i].Variety &&
			math.Abs(float64(ss[j+1].Speed-ss[i].Speed)) <= 0.04*float64(ss[i].Speed) && math.Abs(ss[j+1].Curvature) < bent {
			j++
		}
		if ss[i].Speed > 0.5 {
			out = append(out, going{ss[i].Variety, float64(ss[i].M), float64(ss[j].M)})
		}
		i = j
	}
	return out
}
