package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

func metres(m float64) arena.Metres { return arena.Metres(m) }

// lateral measures arrival (half-pass and leg-yield across the arena) and the angle between
// body and line.
func (r *ride) lateral(b *book, f *rideplan.Figure) {
	r.arrival(b, f)
	r.angle(b, f)
}

// angle is the mean angle between body and line over the middle of a figure.
func (r *ride) angle(b *book, f *rideplan.Figure) {
	a, z := float64(f.StartM), float64(f.EndM)
	ease := math.Min(4, (z-a)/4)
	mid := r.plan.SampleAtM(metres((a + z) / 2))
	e := entry{what: "angle", letter: f.At, asked: math.Abs(mid.Angle.Deg()), nominal: math.Abs(f.Angle.Deg()), atM: (a + z) / 2}
	if e.asked == 0 {
		e.asked = e.nominal
	}
	if !r.rec.HasHeading {
		b.lacks(LacksHeading, e, "the angle of the body needs a recorded heading; positions do not show it")
		return
	}
	os, covered := r.over(a+ease, z-ease)
	e.at = during(os)
	list, planned := r.bodyAngles(os, mid)
	if len(list) < 6 || covered < 0.6 {
		b.cannot(e, "too little heading was recorded")
		return
	}
	mean, sd := meanSD(list)
	jitter := jitterOf(list)
	seconds := os[len(os)-1].t - os[0].t
	e.value = mean
	// the body's own swaying is part of its mean angle, but for what even times weigh other than even
	// metres; a third of a degree is left of any pair of antennas
	e.parts = append(r.d.of(lineTurn(os)), part{fromHeading, jitter/float64(len(list)) + swayLeft*swayLeft*math.Max(0, sd*sd-jitter) + 0.3*0.3}, r.pairTurn(os, evenly(len(os))))
	b.addAngle(e)
	r.steadiness(b, f, list, planned, seconds, r.pairSway(os))
}

// addAngle adds an angle of the body and names one to the other side than asked, which is no angle
// that is merely too little.
func (b *book) addAngle(e entry) {
	tol := tolerances[e.what]
	if m := b.addBelow(e, -tol.around(e.asked)); m != nil && m.Verdict == tol.Low {
		m.Verdict = wrongSide
	}
}

// wrongSide is the verdict on a body that is turned to the other side of its line than asked by more
// than a judge lets pass.
const wrongSide = "to the wrong side"

// bodyAngles are the angles in degrees between body and ridden line to the side of a sample of the
// plan, at each fix that has a heading, and those of the plan there.
func (r *ride) bodyAngles(os []obs, mid rideplan.Sample) (list, planned []float64) {
	side := 1.0
	if mid.Side == rideplan.Right {
		side = -1
	}
	for _, o := range os {
		if o.hasH {
			at := r.plan.SampleAtM(metres(o.m))
			planned = append(planned, at.Angle.Deg()+at.Heading.Diff(mid.Heading).Deg())
			list = append(list, side*o.head.Diff(r.travel(os, o)).Deg())
		}
	}
	return list, planned
}

// swayLeft is the share of the body's swaying that is left in its mean angle.
const swayLeft = 0.1

// lineTurn is how much the direction of the ridden line, in degrees, moves with each fix.
func lineTurn(os []obs) []weight {
	n := max(1, len(os)/4)
	c := make([]float64, len(os))
	var way float64
	for i := range n {
		k := len(os) - 1 - i
		c[i] -= 1 / float64(n)
		c[k] += 1 / float64(n)
		way += (os[k].s - os[i].s) / float64(n)
	}
	ws := make([]weight, len(os))
	for i, o := range os {
		side := o.u.Left().Mul(c[i] / math.Max(way, 1) * 180 / math.Pi)
		ws[i] = weight{o.t, o.at, side.X, side.Y}
	}
	return ws
}

// travel is the direction of the ridden line: the plan's at each fix, turned by as much as
// the straight through all of them is.
func (r *ride) travel(os []obs, o obs) arena.Angle {
	first, last := os[0], os[len(os)-1]
	n := max(1, len(os)/4)
	var left0, left1, s0, s1 float64
	for i := range n {
		left0, s0 = left0+os[i].left/float64(n), s0+os[i].s/float64(n)
		k := len(os) - 1 - i
		left1, s1 = left1+os[k].left/float64(n), s1+os[k].s/float64(n)
	}
	turn := 0.0
	if s1 > s0 && last.t > first.t {
		turn = math.Atan2(left1-left0, s1-s0)
	}
	return o.u.Heading() + arena.Angle(turn)
}

func meanSD(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += (x - mean) * (x - mean) / float64(max(1, len(v)-1))
	}
	return mean, math.Sqrt(sd)
}

// haunchesBehind is from the rider's body to the middle of the haunches, in metres (common
// practice, no source).
const haunchesBehind = 0.7

// turn measures a turn on the haunches or pirouette by the circle that the haunches describe.
func (r *ride) turn(b *book, f *rideplan.Figure) {
	e := entry{what: "turn size", letter: f.At, nominal: float64(f.Nominal), atM: float64(f.StartM+f.EndM) / 2, asked: 2 * haunchesBehind}
	if f.Asked > 0 {
		e.asked = float64(f.Asked)
	}
	if !r.rec.HasHeading {
		b.lacks(LacksHeading, e, "the place of the haunches needs a recorded heading; positions show only the rider's path")
		return
	}
	os := r.turning(float64(f.StartM)-0.5, float64(f.EndM)+0.5, f)
	e.at = during(os)
	if len(os) < 8 {
		b.cannot(e, "the turn was not recorded closely enough")
		return
	}
	defer r.tempoLoss(b, f, os)
	defer r.turnDuration(b, f, os)
	r.spotCircle(b, e, os, -haunchesBehind, "haunches", part{fromHaunches, 4 * haunchesSD * haunchesSD})
}

// spotCircle measures the circle that a part of the horse describes in a turn on the spot, ahead
// metres before the body; far is the doubt of how far.
func (r *ride) spotCircle(b *book, e entry, os []obs, ahead float64, name string, far part) {
	hs := append([]obs(nil), os...)
	for i := range hs {
		hs[i].at = hs[i].at.Add(hs[i].head.Unit().Mul(ahead))
	}
	ps := pointsOf(hs)
	c, err := fitHyper(ps)
	if err != nil {
		b.cannot(e, errNoCircle.Error())
		return
	}
	c = c.refine(ps)
	g, ok := c.sensitivities(ps)
	if !ok || r.d.white > c.radius { // jitter as large as the circle makes a circle of its own
		b.cannot(e, "the recorder's jitter is as large as the circle of the "+name)
		return
	}
	e.value = 2 * c.radius
	ws := radial(hs, c, g, 0, 0, 2)
	e.parts = append(r.d.of(ws), far, r.pairSpot(hs, ws, ahead), part{fromLever, 4 * r.d.lever * r.d.lever}, part{fromRiding, c.rms * c.rms})
	b.add(e)
}

const (
	haunchesSD   = 0.1 // metres by which horses differ in it (assumption)
	fromHaunches = "how far behind the body this horse's haunches are"
)

// turning returns the fixes in which the body makes a turn on the spot to one hand: between a tenth
// and nine tenths of the largest turn to it about two metres of the plan.
func (r *ride) turning(a, z float64, f *rideplan.Figure) []obs {
	all, turned := r.unwound(a, z, f.Hand)
	from, to := largestRise(turned)
	all, turned, from, to = r.wholeTurn(all, turned, from, to, f)
	var out []obs
	for i := from; i < to; i++ {
		if share := (turned[i] - turned[from]) / (turned[to] - turned[from]); share > turnEdge && share < 1-turnEdge {
			out = append(out, all[i])
		}
	}
	return out
}

// turnEdge is the share of a turn left out at either end, where it is not sure to have begun.
const turnEdge = 0.1

// largestRise returns the indices between which v rises most.
func largestRise(v []float64) (from, to int) {
	low, most := 0, 0.0
	for i := range v {
		if v[i] < v[low] {
			low = i
		}
		if rise := v[i] - v[low]; rise > most {
			most, from, to = rise, low, i
		}
	}
	return from, to
}
