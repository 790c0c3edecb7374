package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// lineEase is what is left out at either end of a straight line, in metres: the rider comes
// out of one turn and prepares the next. On short lines it is a quarter of the line.
const lineEase = 4.0

// line measures how far a straight line was ridden from where it is asked.
func (r *ride) line(b *book, f *rideplan.Figure) {
	for _, part := range r.straights(f) {
		r.straight(b, f, part[0], part[1])
	}
}

// straights returns the longest straight part of a figure, if it is worth a measure.
func (r *ride) straights(f *rideplan.Figure) [][2]float64 {
	const shortest = 8.0
	ss := r.plan.Samples
	var best [2]float64
	for i := 0; i < len(ss); {
		if ss[i].M < f.StartM || ss[i].M > f.EndM || math.Abs(ss[i].Curvature) > 1e-6 || ss[i].Variety == gait.ReinBackVar {
			i++
			continue
		}
		j := i
		for j+1 < len(ss) && ss[j+1].M <= f.EndM && math.Abs(ss[j+1].Curvature) <= 1e-6 &&
			math.Abs(float64(ss[j+1].Heading.Diff(ss[i].Heading))) < 0.02 && ss[j+1].Variety != gait.ReinBackVar {
			j++
		}
		if a, z := float64(ss[i].M), float64(ss[j].M); z-a > best[1]-best[0] {
			best = [2]float64{a, z}
		}
		i = j + 1
	}
	if best[1]-best[0] < shortest {
		return nil
	}
	return [][2]float64{best}
}

func (r *ride) straight(b *book, f *rideplan.Figure, a, z float64) {
	defer r.overshoot(b, f, a)
	ease := math.Min(lineEase, (z-a)/4)
	a, z = a+ease, z-ease
	names := [2]string{"line offset", "line drift"}
	if f.Kind == terms.CentreLine || f.Kind == terms.Entry {
		names = [2]string{"centre line offset", "centre line drift"}
	}
	letter := f.At
	e := entry{what: names[0], letter: letter, atM: (a + z) / 2}
	drift := entry{what: names[1], letter: letter, atM: e.atM}
	os, covered := r.over(a, z)
	e.at, drift.at = during(os), during(os)
	if len(os) < 3 || covered < 0.6 {
		b.cannot(e, "too little of the line was recorded")
		return
	}
	normal := towardsB(os[0].u)
	base, _, _ := r.dirs((a + z) / 2)
	mean, slope := r.lineWeights(os, a, z)
	for i, o := range os {
		side := o.at.Sub(base).Dot(normal)
		e.value += mean[i] * side
		drift.value += slope[i] * side
	}
	e.parts = append(r.d.of(across(os, mean, normal)), part{fromRiding, 0.01 * 0.01})
	r.sided(b, e, os[0].u, normal)
	drift.parts = append(r.d.of(across(os, slope, normal)), part{fromRiding, 0.01 * 0.01})
	r.sided(b, drift, os[0].u, normal)
	r.lineAngle(b, drift, z-a, os[0].u, normal)
}

// lineWeights gives each fix the share of the line that it stands for, and the weights of
// the drift from end to end.
func (r *ride) lineWeights(os []obs, a, z float64) (mean, slope []float64) {
	n := len(os)
	mean, slope = make([]float64, n), make([]float64, n)
	var total, centre, spread float64
	for i := range os {
		lo, hi := a, z
		if i > 0 {
			lo = (os[i-1].s + os[i].s) / 2
		}
		if i+1 < n {
			hi = (os[i].s + os[i+1].s) / 2
		}
		// jittered fixes may change places along the line: each stands for a little at least
		mean[i] = math.Max(hi-lo, 0.2*(z-a)/float64(n))
		if r.standsAt(os, i) {
			mean[i] = math.Min(mean[i], 0.2*(z-a)/float64(n))
		}
		total += mean[i]
	}
	for i := range os {
		mean[i] /= total
		centre += mean[i] * os[i].s
	}
	for i := range os {
		spread += mean[i] * (os[i].s - centre) * (os[i].s - centre)
	}
	for i := range os {
		slope[i] = mean[i] * (os[i].s - centre) / spread * (z - a)
	}
	return mean, slope
}

// standsAt reports whether the ride stands still around fix i: a second's way under 0.3 m.
func (r *ride) standsAt(os []obs, i int) bool {
	lo, hi := i, i
	for lo > 0 && os[i].t-os[lo].t < 0.5 {
		lo--
	}
	for hi+1 < len(os) && os[hi].t-os[i].t < 0.5 {
		hi++
	}
	return os[hi].t-os[lo].t > 0.5 && r.planSpeed(os[i].s) < 0.5
}

func across(os []obs, c []float64, normal arena.Point) []weight {
	ws := make([]weight, len(os))
	for i, o := range os {
		ws[i] = weight{o.t, o.at, c[i] * normal.X, c[i] * normal.Y}
	}
	return ws
}

// towardsB is the unit normal of a line to the side that counts positive: towards B, or
// towards C on a line across.
func towardsB(u arena.Point) arena.Point {
	n := u.Left()
	if math.Abs(n.X) >= math.Abs(n.Y) && n.X < 0 || math.Abs(n.X) < math.Abs(n.Y) && n.Y < 0 {
		n = n.Mul(-1)
	}
	return n
}

// sided adds an offset and names left and right as the rider has them.
func (r *ride) sided(b *book, e entry, u, normal arena.Point) {
	n := len(b.list)
	b.add(e)
	if len(b.list) == n || u.Left().Dot(normal) < 0 {
		return // positive is right of the rider, as the data file has it
	}
	tol := tolerances[e.what]
	switch m := &b.list[n]; m.Verdict {
	case tol.High:
		m.Verdict = tol.Low
	case tol.Low:
		m.Verdict = tol.High
	}
}
