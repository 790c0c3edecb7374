package measure

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ringcraft/internal/rideplan"
)

// What a trainer asks next after the main numbers: is the circle round, where was it opened
// and closed, was the turn overshot, was the line bowed, was the halt approached straight.

// roundness is the longest less the shortest diameter of a whole circle: four times the part
// of the radius that goes round twice a turn. It is never negative, so the doubt's own share
// is taken out, as for a place.
func (r *ride) roundness(b *book, f *rideplan.Figure, os []obs, c circle) {
	e := entry{what: "circle roundness", letter: f.At, at: during(os), atM: float64(f.StartM+f.EndM) / 2}
	egg := c.eggOf(os)
	// what is neither egg nor jitter, a spiral for instance, leaks into the egg
	// (the recorder's wander is counted beside it: within so short a time it walks at random, with this
	// variance about its mean)
	seconds := os[len(os)-1].t - os[0].t
	wander := r.d.wander * r.d.wander * math.Min(1, seconds/(3*r.d.tau))
	other := math.Max(0, egg.rest-1.2*r.d.white*r.d.white-wander)
	few := fewFixes * beyondJitter(c.rms, r.d.white) / float64(len(os))
	e.parts = append(r.d.of(egg.weights), part{fromRiding, 0.01*0.01 + 2*other + few*few})
	sd, _ := sum(e.parts)
	e.value = math.Sqrt(math.Max(0, egg.size*egg.size-2*sd*sd))
	b.add(e)
}

// opening and closing are how far past its letter a circle was begun and ended, along the
// line it starts from: where the circles through its first and its second half lie.
func (r *ride) opening(b *book, f *rideplan.Figure, whole circle) {
	_, u, _ := r.dirs(float64(f.StartM) + 0.1)
	for i, part := range r.ridden(f, whole) {
		e := entry{what: [2]string{"circle opening", "circle closing"}[i], letter: f.At, at: during(part), atM: [2]float64{float64(f.StartM), float64(f.EndM)}[i]}
		ps := pointsOf(part)
		c, err := fitHyper(ps)
		if err != nil || len(part) < 5 {
			b.cannot(e, "too few fixes on this half of the circle")
			continue
		}
		c = c.refine(ps)
		g, ok := c.sensitivities(ps)
		if !ok {
			b.cannot(e, errNoCircle.Error())
			continue
		}
		e.value = c.centre.Sub(f.Centre).Dot(u)
		e.parts = append(r.d.of(radial(part, c, g, u.X, u.Y, 0)), r.roundPart(c, whole, len(part)))
		b.add(e)
	}
}

// roundPart is the doubt of half a circle's place when the path is not round: it lies as far off any
// circle as jitter does not explain, and with few fixes it ends up to a step from where it should.
// Where it ends is not sharp when the whole is no circle.
func (r *ride) roundPart(c, whole circle, n int) part {
	excess := beyondJitter(math.Max(c.rms, whole.rms), r.d.white)
	return part{fromRiding, math.Pow(0.015+0.15*excess, 2) + math.Pow(fewFixes*excess/float64(n), 2)}
}

// beyondJitter is what lies off a fitted line beyond the jitter of the fixes.
func beyondJitter(rms, white float64) float64 {
	return math.Sqrt(math.Max(0, rms*rms-white*white))
}

// fewFixes is by how much a path that is no circle misleads where it is seen only in steps: its ends
// lie up to a step from where they should, so this many times what lies off the circle over the number
// of fixes (found by rides at one and two fixes a second).
const fewFixes = 4.0

// overshoot is how far the ride goes beyond a line that it turns onto, on the outside of the
// turn, over the first metres of the line; less than nothing when it cuts in.
func (r *ride) overshoot(b *book, f *rideplan.Figure, start float64) {
	k := 0.0
	for d := 0.2; d <= 3; d += 0.2 {
		if _, _, c := r.dirs(start - d); math.Abs(c) > math.Abs(k) {
			k = c
		}
	}
	if math.Abs(k) < 0.05 || start < 3 {
		return
	}
	e := entry{what: "turn overshoot", letter: f.At, atM: start + overshootLength/2}
	os, covered := r.over(start, start+overshootLength)
	e.at = during(os)
	if len(os) < 3 || covered < 0.6 {
		b.cannot(e, "too little of the turn was recorded")
		return
	}
	_, u, _ := r.dirs(start + 1)
	out := u.Left().Mul(-math.Copysign(1, k))
	base, _, _ := r.dirs(start + 1)
	c := make([]float64, len(os))
	for i, o := range os {
		c[i] = 1 / float64(len(os))
		e.value += c[i] * o.at.Sub(base).Dot(out)
	}
	e.parts = append(r.d.of(across(os, c, out)), part{fromRiding, ofWobble(wobbleOfTurn)})
	b.add(e)
}

// wobble is how far a line wavers that is ridden well, one standard deviation in metres
// (assumption, as in the simulated rides).
const wobble = 0.08

// What is left of that in a number, as a share: fixes are even in time, and not along the way.
const (
	wobbleOfBow      = 0.22
	wobbleOfTurn     = 0.2
	wobbleOfApproach = 0.22
	wobbleStanding   = 0.15 // a rider sways as the horse comes to a stand
)

func ofWobble(share float64) float64 { return math.Pow(share*wobble, 2) }

// overshootLength is how much of a line shows whether the turn onto it was overshot.
const overshootLength = 5.0

// steadiness is how much the angle of the body varies, beyond the jitter of the heading; drift is the
// variance that the recorder itself adds by drifting meanwhile.
func (r *ride) steadiness(b *book, f *rideplan.Figure, list, planned []float64, seconds, drift float64) {
	e := entry{what: "angle steadiness", letter: f.At, atM: float64(f.StartM+f.EndM) / 2}
	_, e.asked = meanSD(planned) // an angle that the plan itself changes is not unsteady
	n := float64(len(list))
	if n < 20 || seconds/n > seldomHeading {
		b.cannot(e, "the heading is recorded too seldom to tell the body's swaying from the recorder's jitter")
		return
	}
	if spread := planSpread(planned); spread > steadyPlan {
		b.cannot(e, "the plan itself changes the angle or bends here")
		return
	}
	_, sd := meanSD(list)
	jitter := nugget(list)
	e.value = math.Sqrt(math.Max(0, sd*sd-jitter))
	// errors of the two variances: of white jitter the spread itself is off by 2/n of its square, the
	// nugget by 7/n, and 4/n of that is common to both
	one := jitterOf(list) // the surer of the two sizes of the jitter
	v := (4*e.value*e.value*one + 5*one*one) / n
	e.parts = []part{{fromHeading, math.Pow(rootDoubt(e.value, math.Sqrt(v)), 2) + 0.15*0.15 + math.Pow(0.05*e.value, 2)}, {fromPair, drift}}
	b.add(e)
}

// steadyPlan is how far, in degrees, the plan's own angle may range where steadiness is asked.
const steadyPlan = 0.5

func planSpread(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	return slices.Max(v) - slices.Min(v)
}

// rootDoubt is the doubt of a root, whose square has the doubt sd: the wider side of what 95 % of
// squares leave, which near nought is more than their slope says.
func rootDoubt(root, sd float64) float64 {
	const wide = 1.96
	up := math.Sqrt(root*root+wide*sd) - root
	down := root - math.Sqrt(math.Max(0, root*root-wide*sd))
	return math.Max(up, down) / wide
}

// seldomHeading is how many seconds apart headings may be for their jitter to be seen beside
// swaying, which forgets itself within a second or two.
const seldomHeading = 0.35

// nugget is the variance of what is new in every value: that from one to the next, less what
// grows from one step to two.
func nugget(list []float64) float64 {
	one := jitterOf(list)
	var two float64
	for i := 2; i < len(list); i++ {
		d := list[i] - list[i-2]
		two += d * d / float64(2*(len(list)-2))
	}
	return clamp(2*one-two, 0, one)
}

// jitterOf is the variance from one value to the next.
func jitterOf(list []float64) float64 {
	var v float64
	for i := 1; i < len(list); i++ {
		d := list[i] - list[i-1]
		v += d * d / float64(2*(len(list)-1))
	}
	return v
}

// approach is how far the last metres before a halt drift sideways.
func (r *ride) approach(b *book, f *rideplan.Figure, os []obs, h halted) {
	const length = 6.0
	e := entry{what: "halt approach", letter: f.At, atM: float64(f.StartM) - length/2}
	var in []obs
	for _, o := range os {
		if o.t < h.theta[0] && o.s > h.theta[2]-length-0.5 && o.s < h.theta[2] {
			in = append(in, o)
		}
	}
	e.at = during(in)
	if len(in) < 4 || in[len(in)-1].s-in[0].s < 2.5 {
		b.cannot(e, "too little of the approach was recorded")
		return
	}
	_, slope := r.lineWeights(in, in[0].s, in[len(in)-1].s)
	normal := in[0].u.Left()
	scale := length / (in[len(in)-1].s - in[0].s)
	for i, o := range in {
		slope[i] *= scale
		e.value += slope[i] * o.left
	}
	e.parts = append(r.d.of(across(in, slope, normal)), part{fromRiding, ofWobble(wobbleOfApproach)})
	b.add(e)
}

// meanOver is the mean of a quantity of the fixes between two times, with the weights.
func meanOver(os []obs, from, to float64, of func(obs) float64) (mean float64, c []float64, n int) {
	c = make([]float64, len(os))
	for _, o := range os {
		if o.t >= from && o.t <= to {
			n++
		}
	}
	for i, o := range os {
		if o.t >= from && o.t <= to {
			c[i] = 1 / float64(n)
			mean += c[i] * of(o)
		}
	}
	return mean, c, n
}

// backwardsDetail measures how straight a rein-back was, and whether it began with a step
// forward.
func (r *ride) backwardsDetail(b *book, f *rideplan.Figure, os []obs, x *fit) {
	t0, t1 := x.theta[1], x.theta[2]
	straight := entry{what: "rein-back straightness", letter: f.At, at: during(os), atM: float64(f.StartM)}
	left := func(o obs) float64 { return o.left }
	before, ca, na := meanOver(os, t0-1.2, t0, left)
	after, cz, nz := meanOver(os, t1-0.2, t1+1, left)
	if na < 2 || nz < 2 {
		b.cannot(straight, "too few fixes before and after")
		return
	}
	for i := range ca {
		cz[i] -= ca[i]
	}
	straight.value = after - before
	straight.parts = append(r.d.of(across(os, cz, os[0].u.Left())), part{fromRiding, ofWobble(wobbleStanding)})
	b.add(straight)
	r.forwardFirst(b, f, os, x)
}

// forwardFirst is how far the horse went forward between standing and going back.
func (r *ride) forwardFirst(b *book, f *rideplan.Figure, os []obs, x *fit) {
	e := entry{what: "forward first", letter: f.At, at: during(os), atM: float64(f.StartM)}
	if x.theta[1]-x.theta[0] < stepTakes+0.6 {
		b.cannot(e, "the horse hardly stood before going back")
		return
	}
	e.value = math.Max(0, x.theta[8])
	c, fromPriors := x.weights([]float64{0, 0, 0, 0, 0, 0, 0, 0, 1})
	e.parts = append(r.d.of(along(os, c)), part{fromRiding, fromPriors + x.riding(timesOf(os), c, r.d.white) + 0.02*0.02 + math.Pow(0.05*e.value, 2)})
	b.add(e)
}

// loopDifference compares the loops of a serpentine: the largest less the smallest, without
// what the doubt alone would make of equal loops.
func (r *ride) loopDifference(b *book, f *rideplan.Figure, list []loopSize) {
	if len(list) < 2 {
		return
	}
	e := entry{what: "loop difference", letter: f.At, atM: float64(f.StartM+f.EndM) / 2}
	over := make([]float64, len(list))
	for i, l := range list {
		over[i] = l.over
	}
	root, ok := r.together(list)
	if !ok {
		b.cannot(e, "the loops lie too close together in time")
		return
	}
	mean, sd := rangeWithErrors(over, root)
	measured := slices.Max(over) - slices.Min(over)
	e.value = math.Max(0, 2*measured-mean) // errors make the range larger by as much once more
	e.parts = []part{{r.largestPart(list), math.Pow(math.Max(math.Hypot(sd, mean-measured), 0.85*worstPair(root)), 2)}}
	b.add(e)
}

// worstPair is the largest doubt of the difference of two of the values whose covariance has this
// root: which of them are the largest and the smallest is in doubt as well.
func worstPair(root *mat.TriDense) (sd float64) {
	n, _ := root.Dims()
	for i := range n {
		for j := range i {
			var v float64
			for k := range i + 1 {
				d := root.At(i, k)
				if k <= j {
					d -= root.At(j, k)
				}
				v += d * d
			}
			sd = math.Max(sd, math.Sqrt(v))
		}
	}
	return sd
}

// together is the lower root of the covariance of the loops' sizes. What shifts the whole serpentine
// to one side makes the loops there larger and those of the other side smaller.
func (r *ride) together(list []loopSize) (*mat.TriDense, bool) {
	n := len(list)
	k := mat.NewSymDense(n, nil)
	variance := func(ws []weight) float64 {
		sd, _ := sum(r.d.of(ws))
		return sd * sd
	}
	for i := range list {
		k.SetSym(i, i, variance(list[i].ws)+loopRiding)
		for j := i + 1; j < n; j++ {
			k.SetSym(i, j, (variance(joined(list[i].ws, 1, list[j].ws, 1))-variance(joined(list[i].ws, 1, list[j].ws, -1)))/4)
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(k) {
		return nil, false
	}
	var root mat.TriDense
	ch.LTo(&root)
	return &root, true
}

// largestPart names what most of the doubt between the loops comes from.
func (r *ride) largestPart(list []loopSize) string {
	_, name := sum(append(r.d.of(joined(list[0].ws, -1, list[1].ws, 1)), part{fromRiding, 2 * loopRiding}))
	return name
}

// rangeWithErrors is the mean and the spread of the largest less the smallest of some values with
// errors of this covariance, by drawing them: always the same draws.
func rangeWithErrors(values []float64, root *mat.TriDense) (mean, sd float64) {
	const draws = 400
	rng := rand.New(rand.NewPCG(1, 1))
	n := len(values)
	white, list, ranges := make([]float64, n), make([]float64, n), make([]float64, draws)
	for k := range ranges {
		for i := range white {
			white[i] = rng.NormFloat64()
		}
		for i, v := range values {
			list[i] = v
			for j := range i + 1 {
				list[i] += root.At(i, j) * white[j]
			}
		}
		ranges[k] = slices.Max(list) - slices.Min(list)
	}
	return meanSD(ranges)
}

// turnDuration is how long a turn on the spot took, by the heading. Its ends are not sharp: a
// turn that is quicker in the middle takes longer than its middle shows.
func (r *ride) turnDuration(b *book, f *rideplan.Figure, os []obs) {
	e := entry{what: "turn duration", letter: f.At, at: during(os), atM: float64(f.StartM), asked: float64(f.EndS - f.StartS)}
	last := len(os) - 1
	step := (os[last].t - os[0].t) / float64(last)
	e.value = (os[last].t - os[0].t + step) / (1 - 2*turnEdge) // the edges lie half a step outside, on average
	if step > e.value/8 {
		b.cannot(e, "the heading is recorded too seldom for the seconds of this turn")
		return
	}
	e.parts = []part{{fromHeading, step * step / 6}, {fromRiding, 0.15*0.15 + math.Pow(unevenTurn*e.value, 2)}}
	b.add(e)
}

// unevenTurn is the share by which the middle of a turn misleads about the whole (assumption; where a turn ends
// and the way back to the track begins is not sharp either).
const unevenTurn = 0.075

// lengthOfChange is how many seconds a change of speed took: those of the even change that
// moves the way as much. A horse that changes its speed by less than the plan's has less to do: what
// is asked is the plan's own rate of change over the difference really ridden.
func (r *ride) lengthOfChange(b *book, f *rideplan.Figure, ridden *riddenWay, w *whitener, x *fit, letter, rate float64) {
	e := entry{what: "transition length", letter: f.At, at: during(ridden.os), atM: letter}
	e.asked = math.Abs(x.theta[3]-x.theta[2]) / math.Abs(rate)
	e.value = x.theta[4]
	c, fromPriors := x.weights([]float64{0, 0, 0, 0, 1})
	e.parts = append(r.d.of(ridden.weights(c)), part{fromRiding, fromPriors + w.unevenness(c)*x.excess + math.Pow(shapeOfChange*e.value, 2)})
	if edge := x.theta[4]; edge >= longestChange || edge <= shortestChange {
		b.cannot(e, "the change of speed is not clear enough")
		return
	}
	b.add(e)
}

const (
	// shapeOfChange is how far an even change of speed that fits best is from one that lasts as long
	// by its spread in time, where the horse changes softly or suddenly, as a share.
	shapeOfChange                 = 0.17
	longestChange, shortestChange = 4.99, 0.11 // s: where the fit ends
)
