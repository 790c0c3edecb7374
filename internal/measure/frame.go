package measure

import (
	"math"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
)

// ride holds what the measures of one ride share.
type ride struct {
	plan *rideplan.Plan
	rec  *match.Ridden
	d    *doubt
	opts Options

	unevenShare float64 // see uneven; 0 until asked for
	bends       *slowing
	flats       map[gait.Variety]float64
}

// obs is a fix seen from the plan: how far along, how far to the left.
type obs struct {
	t    float64
	at   arena.Point
	m    float64     // metre of the plan it was aligned to
	s    float64     // metres along the plan, its own jitter included
	left float64     // metres to the left of travel
	u    arena.Point // direction of travel of the plan there
	k    float64     // curvature of the plan there, positive to the left
	head arena.Angle // of the body
	hasH bool
}

// along turns weights on s into weights on the fixes.
func along(os []obs, c []float64) []weight {
	ws := make([]weight, len(os))
	for i, o := range os {
		ws[i] = weight{o.t, o.at, c[i] * o.u.X, c[i] * o.u.Y}
	}
	return ws
}

// dirs gives the direction of travel of the plan at metre m (the horse's heading turned about
// in rein-back) and its point and curvature.
func (r *ride) dirs(m float64) (p, u arena.Point, k float64) {
	s := r.plan.SampleAtM(arena.Metres(m))
	u = s.Heading.Unit()
	if r.backwards(m) {
		u = u.Mul(-1)
	}
	return s.Point, u, s.Curvature
}

func (r *ride) backwards(m float64) bool {
	a, b := r.plan.SampleAtM(arena.Metres(m-0.1)), r.plan.SampleAtM(arena.Metres(m+0.1))
	return b.Point.Sub(a.Point).Dot(a.Heading.Unit()) < -0.01
}

func (r *ride) observe(f match.Fix, m float64) obs {
	p, u, k := r.dirs(m)
	q := f.Point.Sub(p)
	return obs{t: float64(f.T), at: f.Point, m: m, s: m + q.Dot(u), left: q.Dot(u.Left()), u: u, k: k, head: f.Heading, hasH: f.HasHeading}
}

// over returns the fixes that lie between two metres of the plan on the last ride through
// them, and how much of the stretch they cover.
func (r *ride) over(a, b float64) (os []obs, covered float64) {
	var run []match.Fix
	for _, f := range r.lastRun(a, b) {
		if !f.Outlier {
			run = append(run, f)
		}
	}
	if len(run) == 0 || b <= a {
		return nil, 0
	}
	for _, f := range run {
		os = append(os, r.observe(f, float64(f.PlanM)))
	}
	// neighbouring fixes that are far apart on the plan leave part of it unseen
	const usual = 6.0
	last := a
	seen := 0.0
	for _, f := range run {
		if d := float64(f.PlanM) - last; d <= usual {
			seen += math.Max(d, 0)
		}
		last = math.Max(last, float64(f.PlanM))
	}
	if b-last <= usual {
		seen += b - last
	}
	return os, seen / (b - a)
}

// lastRun returns the last unbroken run of fixes between two metres of the plan; a run that
// goes less than halfway is passed over for a longer one before it.
func (r *ride) lastRun(a, b float64) []match.Fix {
	fs := r.rec.Fixes
	var best []match.Fix
	for i := 0; i < len(fs); {
		if !within(fs[i], a, b) {
			i++
			continue
		}
		j := i
		for j < len(fs) && within(fs[j], a, b) && (j == i || fs[j].PlanM >= fs[j-1].PlanM-3) {
			j++
		}
		run := fs[i:j]
		if reach(run) >= 0.5*(b-a) || reach(run) >= reach(best) {
			best = run
		}
		i = j
	}
	return best
}

func within(f match.Fix, a, b float64) bool { return float64(f.PlanM) >= a && float64(f.PlanM) <= b }

func reach(run []match.Fix) float64 {
	if len(run) == 0 {
		return 0
	}
	return float64(run[len(run)-1].PlanM - run[0].PlanM)
}

// planned samples the plan itself between two metres as if it had been recorded without
// error: what a correct ride measures by the same definition.
func (r *ride) planned(a, b float64) []obs {
	ss := r.plan.Samples
	i := sort.Search(len(ss), func(i int) bool { return float64(ss[i].M) >= a })
	var os []obs
	for ; i < len(ss) && float64(ss[i].M) <= b; i++ {
		p, u, k := r.dirs(float64(ss[i].M))
		os = append(os, obs{t: float64(ss[i].T), at: p, m: float64(ss[i].M), s: float64(ss[i].M), u: u, k: k})
	}
	return os
}

// planSpeed is the planned speed around metre m while moving.
func (r *ride) planSpeed(m float64) float64 { return float64(r.plan.SampleAtM(arena.Metres(m)).Speed) }

// when is the time on the ride's clock that a number comes from, in seconds.
type when struct {
	from, mid, to float64
	known         bool
}

// during is the time over which some fixes were recorded.
func during(os []obs) when {
	if len(os) == 0 {
		return when{}
	}
	a, z := os[0].t, os[len(os)-1].t
	return when{a, (a + z) / 2, z, true}
}

// instant is a time without a length.
func instant(t float64) when { return when{t, t, t, true} }
