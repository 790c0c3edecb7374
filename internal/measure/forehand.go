package measure

import (
	"math"

	"ringcraft/internal/rideplan"
)

// forelegsAhead is from the rider's body to between the forelegs, in metres: the plan's own
// figure (assumption, internal/rideplan/timing.json).
const (
	forelegsAhead = 0.55
	forelegsSD    = 0.1 // metres by which horses differ in it (assumption)
	fromForelegs  = "how far ahead of the body this horse's forelegs are"
)

// forehand measures a turn on the forehand: the circle that the forelegs describe, the seconds,
// and how far the body was turned to the hand asked.
func (r *ride) forehand(b *book, f *rideplan.Figure) {
	e := entry{what: "turn size", letter: f.At, asked: 2 * forelegsAhead, atM: float64(f.StartM+f.EndM) / 2}
	if !r.rec.HasHeading {
		b.lacks(LacksHeading, e, "the place of the forelegs needs a recorded heading; positions show only the rider's path")
		b.lacks(LacksHeading, entry{what: "turn angle", letter: f.At, asked: f.Angle.Deg(), nominal: f.Angle.Deg(), atM: float64(f.StartM)}, "how far the body turned needs a recorded heading")
		return
	}
	defer r.turnAngle(b, f)
	os := r.turning(float64(f.StartM)-0.5, float64(f.EndM)+0.5, f)
	e.at = during(os)
	if len(os) < 8 {
		b.cannot(e, "no turn to the "+string(f.Hand)+" was recorded closely enough")
		return
	}
	defer r.turnDuration(b, f, os)
	r.spotCircle(b, e, os, forelegsAhead, "forelegs", part{fromForelegs, 4 * forelegsSD * forelegsSD})
}

const (
	beforeTurn  = 1.5 // seconds of heading that are averaged before and after a turn
	clearOfTurn = 0.4 // seconds kept from the turn
	bodySways   = 1.1 // degrees by which a horse that goes straight on stands askew (assumption)
)

// turnAngle is how far the body was turned to the hand asked, from before the turn to after it;
// less than nothing when it turned the other way.
func (r *ride) turnAngle(b *book, f *rideplan.Figure) {
	e := entry{what: "turn angle", letter: f.At, asked: f.Angle.Deg(), nominal: f.Angle.Deg(), atM: float64(f.StartM)}
	os, turned := r.unwound(float64(f.StartM)-4, float64(f.EndM)+4, f.Hand)
	ts := timesOf(os)
	from, to := largestTurn(turned)
	var before, after []int
	if to > from {
		a, z := edges(ts, turned, from, to)
		for i, t := range ts {
			switch {
			case t > a-clearOfTurn-beforeTurn && t < a-clearOfTurn:
				before = append(before, i)
			case t > z+clearOfTurn && t < z+clearOfTurn+beforeTurn:
				after = append(after, i)
			}
		}
		e.at = when{a, (a + z) / 2, z, true}
	}
	if len(before) < 3 || len(after) < 3 {
		b.cannot(e, "too little of the heading was recorded before, in and after the turn")
		return
	}
	v0, v1 := chosen(turned, before), chosen(turned, after)
	e.value = mean(v1) - mean(v0)
	c := make([]float64, len(os))
	for _, i := range before {
		c[i] = -1 / float64(len(before))
	}
	for _, i := range after {
		c[i] = 1 / float64(len(after))
	}
	e.parts = []part{{fromHeading, jitterOf(v0)/float64(len(v0)) + jitterOf(v1)/float64(len(v1))}, {fromRiding, 2 * bodySways * bodySways}, r.pairTurn(os, c)}
	n := len(b.list)
	b.add(e)
	if m := &b.list[n]; m.Verdict == tolerances[e.what].Low && e.value < 0 {
		m.Verdict = "turned the wrong way"
	}
}

// chosen are the values with these indices.
func chosen(v []float64, idx []int) []float64 {
	out := make([]float64, len(idx))
	for k, i := range idx {
		out[k] = v[i]
	}
	return out
}

// unwound returns the fixes with a heading between two metres of the plan, and the heading of the
// body in degrees to one hand, turn upon turn.
func (r *ride) unwound(a, z float64, hand rideplan.Hand) (os []obs, turned []float64) {
	for _, x := range r.lastRun(a, z) {
		if !x.Outlier && x.HasHeading {
			os = append(os, r.observe(x, float64(x.PlanM)))
		}
	}
	return os, turnedTo(os, hand)
}

// turnedTo is the heading of the body at some fixes, in degrees to one hand since the first.
func turnedTo(os []obs, hand rideplan.Hand) []float64 {
	sign := 1.0
	if hand == rideplan.Right {
		sign = -1
	}
	turned := make([]float64, len(os))
	for i := 1; i < len(os); i++ {
		turned[i] = turned[i-1] + sign*os[i].head.Diff(os[i-1].head).Deg()
	}
	return turned
}

// largestTurn is from where to where the largest turn to either hand goes.
func largestTurn(v []float64) (from, to int) {
	if len(v) == 0 {
		return 0, 0
	}
	other := make([]float64, len(v))
	for i := range v {
		other[i] = -v[i]
	}
	a, b := largestRise(v)
	c, d := largestRise(other)
	if v[b]-v[a] >= v[c]-v[d] {
		return a, b
	}
	return c, d
}

// edges are the times at which a turn begins and ends, from those at a fifth and four fifths of it.
func edges(ts, v []float64, from, to int) (a, z float64) {
	at := func(share float64) float64 {
		for i := from; i <= to; i++ {
			if (v[i]-v[from])/(v[to]-v[from]) >= share {
				return ts[i]
			}
		}
		return ts[to]
	}
	a, z = at(0.2), at(0.8)
	more := 0.2 / 0.6 * (z - a) * 1.6 // a turn that is quickest in the middle takes longer at its ends
	return math.Max(ts[from], a-more), math.Min(ts[to], z+more)
}
