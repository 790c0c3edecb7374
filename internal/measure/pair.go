package measure

import "math"

const (
	fromHeading = "the recorded heading"
	fromPair    = "the slow error of the two tags that the heading comes from"
)

// pairTurn is by how much the slow errors of two tags turn the heading taken from them, where each
// fix counts with its share c in a number in degrees. Their errors are taken as independent of each
// other: what both see alike is not known, and a pair that drifts apart more than its class says so
// itself (track.Track.PairWander).
func (r *ride) pairTurn(os []obs, c []float64) part {
	ws := make([]weight, len(os))
	for i, o := range os {
		ws[i] = weight{t: o.t, wx: c[i]}
	}
	return part{fromPair, 2 * square(r.pairAngle()) * slowOf(ws, r.d)}
}

// pairAngle is by how many degrees the slow error of one tag, on one axis, turns the heading.
func (r *ride) pairAngle() float64 {
	if d := r.rec.Noise.PairDistance; d > 0 {
		return r.d.wander / d * degrees
	}
	return 0
}

// pairSway is the variance that the drifting of two tags adds to headings over some seconds: all of
// it less what their mean keeps.
func (r *ride) pairSway(os []obs) float64 {
	return math.Max(0, 2*square(r.pairAngle())-r.pairTurn(os, evenly(len(os))).variance)
}

// pairSpot is by how much it moves the place of a part of the horse, ahead metres before the body:
// to the side of the body only.
func (r *ride) pairSpot(os []obs, ws []weight, ahead float64) part {
	side := make([]weight, len(ws))
	for i, w := range ws {
		left := os[i].head.Unit().Left()
		side[i] = weight{t: w.t, wx: ahead * (w.wx*left.X + w.wy*left.Y)}
	}
	return part{fromPair, 2 * square(r.pairAngle()/degrees) * slowOf(side, r.d)}
}

// slowOf is the variance of a weighted sum on the x axis when what wanders slowly is of size one.
func slowOf(ws []weight, d *doubt) float64 {
	one := doubt{wander: 1, tau: d.tau}
	return one.of(ws)[1].variance
}

// evenly gives each of n values the same share of one.
func evenly(n int) []float64 {
	c := make([]float64, n)
	for i := range c {
		c[i] = 1 / float64(n)
	}
	return c
}

func square(x float64) float64 { return x * x }
