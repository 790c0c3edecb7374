package match

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
)

// Taken is what the fit of a ride that placed itself took up of the errors it was made from. The
// fit follows the recorder's slow error, so that a place keeps only what is left of it: where
// the whole ride strays to one side, nothing. It follows the rider too, and that is lost from
// what the places show. Vectors of three are a shift along x, one along y, in metres, and a turn
// about Mid in radians.
type Taken struct {
	Mid arena.Point
	// Ride is the covariance of what the rider's errors did to the fit.
	Ride [3][3]float64
	// Slow is the covariance of what the slow error did to it, for a slow error of one metre an axis.
	Slow [3][3]float64

	tau            float64
	times          []float64
	before, beyond []shared // what a sighting's time shares with those up to it, and with it and those after it
}

// shared is a covariance, divided by the variance of the slow error along an axis: of what the
// fit took up (three rows) with that error along x and y at one time.
type shared [3][2]float64

func (s *shared) fade(k float64) {
	for i := range s {
		s[i][0] *= k
		s[i][1] *= k
	}
}

// add counts one sighting: a slow error of a metre along its normal moves the fit by gain.
func (s *shared) add(gain [3]float64, normal arena.Point) {
	for i := range s {
		s[i][0] += gain[i] * normal.X
		s[i][1] += gain[i] * normal.Y
	}
}

// At is the covariance of what the fit took up with the slow error of time t along x and y,
// divided by that error's variance along an axis. The errors fade alike with time.
func (k *Taken) At(t float64) (out [3][2]float64) {
	i := sort.SearchFloat64s(k.times, t) // the first sighting at t or after it
	if i > 0 {
		s := k.before[i-1]
		s.fade(math.Exp(-(t - k.times[i-1]) / k.tau))
		out = s
	}
	if i < len(k.times) {
		s := k.beyond[i]
		s.fade(math.Exp(-(k.times[i] - t) / k.tau))
		for r := range out {
			out[r][0] += s[r][0]
			out[r][1] += s[r][1]
		}
	}
	return out
}

// taken follows the slow error through a fit whose normal equations have the inverse inv.
// Feet that slip turn the fit further than the sightings say, by the factor slip.
func taken(ss []sighting, inv square, tau, slip float64) *Taken {
	k := &Taken{tau: tau, times: make([]float64, len(ss)), before: make([]shared, len(ss)), beyond: make([]shared, len(ss))}
	gain := func(s sighting) (g [3]float64) {
		for i := range g {
			for j := range s.by {
				g[i] += inv[i][j] * s.weight * s.by[j]
			}
		}
		g[2] *= slip
		return g
	}
	var so shared
	for i, s := range ss {
		k.times[i] = s.t
		if i > 0 {
			so.fade(math.Exp(-math.Abs(s.t-ss[i-1].t) / tau))
		}
		so.add(gain(s), s.normal)
		k.before[i] = so
	}
	so = shared{}
	for i := len(ss) - 1; i >= 0; i-- {
		if i+1 < len(ss) {
			so.fade(math.Exp(-math.Abs(ss[i+1].t-ss[i].t) / tau))
		}
		so.add(gain(ss[i]), ss[i].normal)
		k.beyond[i] = so
	}
	return k
}

// Moved is what the fit adds to the variance of a sum of places that moves by g with a shift along
// x, along y and a turn, and of whose slow error the fit shares with: for that error, of one metre an
// axis, what the fit was moved by less twice what is shared (mostly less than nothing: the fit followed
// it); for the rider the variance itself.
func (k *Taken) Moved(g, with [3]float64) (slow, rider float64) {
	for i := range g {
		for j := range g {
			slow += g[i] * k.Slow[i][j] * g[j]
			rider += g[i] * k.Ride[i][j] * g[j]
		}
		slow -= 2 * g[i] * with[i]
	}
	return slow, rider
}

// placeVariance is the variance along an axis, the mean of both, that a place of the ride has from
// the rider's part and from what is left of a slow error of the given standard deviation.
func (k *Taken) placeVariance(t float64, at arena.Point, slow float64) (v float64) {
	arm, shares := at.Sub(k.Mid).Left(), k.At(t)
	for axis, g := range [2][3]float64{{1, 0, arm.X}, {0, 1, arm.Y}} {
		moved, rider := k.Moved(g, [3]float64{shares[0][axis], shares[1][axis], shares[2][axis]})
		v += (slow*slow*math.Max(1+moved, 0) + rider) / 2
	}
	return v
}
