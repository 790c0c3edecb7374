package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
)

// weight is how much a measure moves when one fix moves by a metre along each axis. Every
// measure of places and times is, near its value, such a weighted sum of the fixes; what is
// known of the recorder's error then gives its doubt, whatever the measure.
type weight struct {
	t      float64
	at     arena.Point
	wx, wy float64
}

// doubt is the error model of a ride.
type doubt struct {
	white, wander, tau float64
	shift, swallowed   float64
	rotation           float64
	pivot              arena.Point
	lever              float64
	taken              *match.Taken // nil: the ride did not place itself
	carried            *carried     // nil: the recorder is not told from the body
}

// spreadOfScale widens the wander for what is not known of its size: a device is allowed half
// and twice what its class says, and half of that (on a log scale) shows in its jitter. With
// factors of 0.71, 1 and 1.41 left equally likely, 1.15 times the wander as a Gaussian holds
// the truth in 95 % of cases (docs/MEASURES.md).
const spreadOfScale = 1.15

func doubtOf(r *match.Ridden) *doubt {
	n, p := r.Noise, r.Placement
	return &doubt{white: n.WhiteSD, wander: n.WanderSD * math.Max(1, 1+(spreadOfScale-1)*n.WanderLogSD/0.462), tau: math.Max(float64(n.WanderTau), 1),
		shift: p.ShiftSD, swallowed: p.CorrelatedSD, rotation: float64(p.RotationSD), pivot: p.Pivot, lever: n.LeverSD, taken: p.Taken}
}

// part is one source of doubt of one measure: its name for people and its variance.
type part struct {
	name     string
	variance float64
}

const (
	fromJitter    = "the recorder's jitter from fix to fix"
	fromWander    = "the recorder's slow wander"
	fromPlacement = "the placing of the recording in the arena"
	fromSelf      = "the recording was placed by the ride itself, which swallows part of what it is to show"
	fromLever     = "where the recorder sits on the rider or horse"
	fromLean      = "how far the recorder leans into a bend with the rider"
	fromRiding    = "the ride's own unevenness"
)

// of returns the parts of the doubt of a weighted sum. Weights must be in time order.
func (d *doubt) of(ws []weight) []part {
	var white, slow, sx, sy, rot float64
	var cx, cy, last float64 // decayed sums of the weights so far
	for i, w := range ws {
		if i > 0 {
			k := math.Exp(-math.Max(w.t-last, 0) / d.tau)
			cx, cy = cx*k, cy*k
		}
		last = w.t
		white += w.wx*w.wx + w.wy*w.wy
		slow += w.wx*(w.wx+2*cx) + w.wy*(w.wy+2*cy)
		cx, cy = cx+w.wx, cy+w.wy
		sx, sy = sx+w.wx, sy+w.wy
		arm := w.at.Sub(d.pivot).Left()
		rot += w.wx*arm.X + w.wy*arm.Y
	}
	net := sx*sx + sy*sy
	placed, self := d.shift*d.shift*net+d.rotation*d.rotation*rot*rot, d.swallowed*d.swallowed*net
	if d.taken != nil {
		var left float64
		left, self = selfPlaced(d.taken, ws)
		slow, placed = slow+left, 0
	}
	parts := []part{
		{fromJitter, d.white * d.white * white},
		{fromWander, d.wander * d.wander * math.Max(slow, 0)},
		{fromPlacement, placed},
		{fromSelf, self},
	}
	if d.carried != nil {
		forward, left, lean := d.carried.moved(ws)
		parts = append(parts, part{fromLever, d.lever * d.lever * (forward*forward + left*left)}, part{fromLean, lean * lean})
	}
	return parts
}

// selfPlaced is what a ride that placed itself adds to the variance of a weighted sum: for the
// recorder's slow error, in units of its variance, and for the rider.
func selfPlaced(k *match.Taken, ws []weight) (slow, rider float64) {
	var g, with [3]float64 // how the sum moves with the fit, and what of the fit it shares
	for _, w := range ws {
		arm := w.at.Sub(k.Mid).Left()
		g[0], g[1], g[2] = g[0]+w.wx, g[1]+w.wy, g[2]+w.wx*arm.X+w.wy*arm.Y
		for i, c := range k.At(w.t) {
			with[i] += c[0]*w.wx + c[1]*w.wy
		}
	}
	return k.Moved(g, with)
}

// sum returns the standard deviation of the parts together and the name of the largest.
func sum(parts []part) (sd float64, largest string) {
	var v, most float64
	for _, p := range parts {
		v += p.variance
		if p.variance > most {
			most, largest = p.variance, p.name
		}
	}
	return math.Sqrt(v), largest
}
