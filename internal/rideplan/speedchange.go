package rideplan

import (
	"math"

	"ringcraft/internal/arena"
)

// SpeedChange is a change of speed from V1 to V2 (m/s) at Acc (m/s^2, negative when slowing)
// whose middle is at metre M, were there no bends.
type SpeedChange struct {
	M, V1, V2, Acc float64
}

// At is the speed at metre s, m/s.
func (c SpeedChange) At(s float64) float64 {
	vm := (c.V1 + c.V2) / 2
	v := math.Sqrt(math.Max(0, vm*vm+2*c.Acc*(s-c.M)))
	return math.Max(math.Min(c.V1, c.V2), math.Min(math.Max(c.V1, c.V2), v))
}

// changeReach is how far from its letter, in metres, a plan may have the middle of a change.
const changeReach = 8.0

// MiddleOfChange is the metre between from and to where the plan is halfway through a change
// of speed asked at c.M. On a straight it is the letter; on a bend, where the plan goes slower
// anyway, it is not.
func (p *Plan) MiddleOfChange(c SpeedChange, from, to arena.Metres) arena.Metres {
	best, least := c.M, math.Inf(1)
	lo, hi := math.Max(float64(from), c.M-2*changeReach), math.Min(float64(to), c.M+2*changeReach)
	for m := math.Max(float64(from), c.M-changeReach); m <= math.Min(float64(to), c.M+changeReach); m += 0.25 {
		at := c
		at.M = m
		off := 0.0
		for s := lo; s <= hi; s += 0.5 {
			v := float64(p.SampleAtM(arena.Metres(s)).Speed)
			off += math.Abs(math.Log(math.Max(v, 0.05) / math.Max(at.At(s), 0.05)))
		}
		if off < least {
			best, least = m, off
		}
	}
	return arena.Metres(best)
}
