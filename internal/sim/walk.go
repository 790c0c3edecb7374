package sim

import (
	"math"
	"math/rand/v2"
)

// walk is an Ornstein-Uhlenbeck process: it forgets over its reach and keeps its size.
type walk struct {
	rng     *rand.Rand
	reach   float64
	sd      float64
	x       float64
	started bool
}

func newWalk(rng *rand.Rand, reach, sd float64) *walk { return &walk{rng: rng, reach: reach, sd: sd} }

// next returns the value d further on.
func (w *walk) next(d float64) float64 {
	if w.sd == 0 {
		return 0
	}
	if !w.started {
		w.started, w.x = true, w.sd*w.rng.NormFloat64()
		return w.x
	}
	k := math.Exp(-d / w.reach)
	w.x = k*w.x + w.sd*math.Sqrt(1-k*k)*w.rng.NormFloat64()
	return w.x
}
