package sim

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// at is the share of a change that is done at x, the way since its middle over its length.
func (e Ease) at(x float64) float64 {
	switch e {
	case EaseSoft:
		return 0.5 + 0.5*math.Sin(math.Pi*math.Max(-0.5, math.Min(0.5, x)))
	case EaseSudden:
		return 1 / (1 + math.Exp(-8*x))
	}
	return math.Max(0, math.Min(1, x+0.5))
}

// changed is the share of a change of pace done at metre m by this rider.
func (r *rider) changed(s *shift, m float64) float64 {
	middle := s.mid + s.late
	if k := r.faults.Manner; k.Own {
		return k.Ease.at((m - middle) / math.Max(0.5, float64(k.ChangeM)))
	}
	if s.v1 == s.v2 {
		if m >= middle {
			return 1
		}
		return 0
	}
	return (s.pace(m, middle) - s.v1) / (s.v2 - s.v1)
}

// bendFactor is how much faster than planned this rider goes in a bend, where flat is the
// planned speed were there none.
func (r *rider) bendFactor(m, flat float64) float64 {
	k := r.faults.Manner
	v := float64(r.plan.SampleAtM(arena.Metres(m)).Speed)
	if !k.Own || flat <= 0 || v < 0.6*flat || v >= flat { // a halt is near, or no bend
		return 1
	}
	return math.Pow(v/flat, k.Bends-1)
}

// flat is the planned speed of a variety on the straight: the highest that it keeps for a metre or
// so. Where one pace becomes another its samples go faster or slower than the variety does.
func (r *rider) flat(v gait.Variety) float64 {
	if r.flats == nil {
		r.flats = map[gait.Variety]float64{}
		for _, s := range r.plan.Samples {
			r.flats[s.Variety] = math.Max(r.flats[s.Variety], r.keptSpeed(float64(s.M)))
		}
	}
	return r.flats[v]
}

// keptSpeed is the planned speed at metre m where it keeps for a metre or so, else 0.
func (r *rider) keptSpeed(m float64) float64 {
	v := func(m float64) float64 { return float64(r.plan.SampleAtM(arena.Metres(m)).Speed) }
	w := v(m)
	if math.Abs(v(m+0.6)-w) > 0.02*w || math.Abs(v(m-0.6)-w) > 0.02*w {
		return 0
	}
	return w
}
