package measure

import (
	"math"
	"slices"

	"ringcraft/internal/rideplan"
)

const (
	turnReach   = 8.0  // s: how long before and after what was aligned with a turn the rest of it may lie
	turnWindow  = 0.8  // s over which it is looked whether the body still turns,
	stillTurns  = 0.3  // at this share of the speed of turning that was aligned
	leastTurn   = 5.0  // degrees a second: slower is swaying
	askedTurned = 1.05 // times what is asked: so far a turn is followed beyond what was aligned with it
	mostTurned  = 1.35 // times what is asked: more than that and a corner has joined the turn
)

// wholeTurn follows a turn on the spot, aligned from one fix to another, to where the heading stops
// turning on either side, whatever metre of the plan those fixes were aligned to: positions jump
// about while a horse turns on the spot, the heading does not. What was aligned stays as it is where
// that would take in a corner.
func (r *ride) wholeTurn(os []obs, turned []float64, from, to int, f *rideplan.Figure) ([]obs, []float64, int, int) {
	if to <= from || os[to].t <= os[from].t {
		return os, turned, from, to
	}
	rate := (turned[to] - turned[from]) / (os[to].t - os[from].t)
	least := math.Max(stillTurns*rate, leastTurn)
	var all []obs
	for _, x := range r.rec.Fixes {
		if t := float64(x.T); !x.Outlier && x.HasHeading && t >= os[from].t-turnReach && t <= os[to].t+turnReach {
			all = append(all, obs{t: t, at: x.Point, head: x.Heading, hasH: true})
		}
	}
	by := running(turnedTo(all, f.Hand), 2)
	a, z := 0, len(all)-1
	for a < len(all)-1 && all[a].t < os[from].t {
		a++
	}
	for z > a && all[z].t > os[to].t {
		z--
	}
	a = keepsTurning(all, by, a, -1, least)
	aligned := z
	z = keepsTurning(all, by, z, 1, least)
	if asked := math.Abs(f.Angle.Deg()); asked > 0 {
		for z > aligned && by[z]-by[a] > asked*askedTurned {
			z-- // what it turns beyond is the next line's
		}
		if by[z]-by[a] > mostTurned*asked {
			return os, turned, from, to
		}
	}
	return all, by, a, z
}

// running is the median of each value with n before and n after it, so that one heading that jumps
// is no beginning of a turn.
func running(v []float64, n int) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		k := min(n, i, len(v)-1-i)
		near := slices.Clone(v[i-k : i+k+1])
		slices.Sort(near)
		out[i] = near[k]
	}
	return out
}

// keepsTurning goes one way from fix i for as long as the heading turns at least so many degrees a
// second over the next moments.
func keepsTurning(os []obs, turned []float64, i, dir int, least float64) int {
	for {
		k := i + dir
		for k+dir >= 0 && k+dir < len(os) && math.Abs(os[k].t-os[i].t) < turnWindow {
			k += dir
		}
		if k < 0 || k >= len(os) || (turned[k]-turned[i])/(os[k].t-os[i].t) < least {
			return i
		}
		i += dir
	}
}
