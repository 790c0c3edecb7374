package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// besideCircle is how many metres of the plan before and after a circle may hold some of it: a rider
// who begins late or rides a larger one is still on it where the plan has left it.
const besideCircle = 3.0

// ridden parts the fixes of a whole circle into its two halves, as it was ridden: from where the ride
// leaves the line that it started from to where it is opposite that line, and on to where it comes back
// to it. The plan's own ends and middle are elsewhere when a circle was begun late or is of another
// size. Half a metre at either end is left out.
func (r *ride) ridden(f *rideplan.Figure, whole circle) (halves [2][]obs) {
	os, _ := r.over(math.Max(0, float64(f.StartM)-besideCircle), float64(f.EndM)+besideCircle)
	middles := [3]arena.Point{whole.centre, whole.centre, whole.centre} // of the first half, of all, of the second
	for range 3 {
		halves = r.halvesAbout(f, os, middles, whole.radius)
		for i, half := range halves { // a circle that drifts ends about another point than it began
			if c, err := fitHyper(pointsOf(half)); err == nil && len(half) >= 5 && float64(c.centre.Dist(whole.centre)) < whole.radius/2 {
				middles[2*i] = c.centre
			}
		}
	}
	return halves
}

// halvesAbout parts fixes by how far the ride has turned about three points: one for where the circle
// begins, one for its middle, one for its end.
func (r *ride) halvesAbout(f *rideplan.Figure, os []obs, middles [3]arena.Point, radius float64) (halves [2][]obs) {
	a, z := float64(f.StartM), float64(f.EndM)
	start, _, _ := r.dirs(a)
	from := start.Sub(f.Centre).Heading()
	hand := math.Copysign(1, r.plan.SampleAtM(metres((a+z)/2)).Curvature)
	ends := 0.5 / math.Max(radius, 1)
	for _, o := range os {
		planned := 2 * math.Pi * (o.m - a) / (z - a)
		turned := func(i int) float64 {
			return planned + math.Remainder(hand*float64(o.at.Sub(middles[i]).Heading()-from)-planned, 2*math.Pi)
		}
		switch second := turned(1) >= math.Pi; {
		case !second && turned(0) >= ends:
			halves[0] = append(halves[0], o)
		case second && turned(2) <= 2*math.Pi-ends:
			halves[1] = append(halves[1], o)
		}
	}
	return halves
}
