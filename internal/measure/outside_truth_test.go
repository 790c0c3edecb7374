package measure_test

import (
	"math"
	"sort"

	"ringcraft/internal/measure"
	"ringcraft/internal/rideplan"
)

// roundest is the circle of least squares through some points (Gauss-Newton on the distances).
func roundest(ps []pt) (c pt, radius float64) {
	for _, p := range ps {
		c = c.Add(p.Mul(1 / float64(len(ps))))
	}
	for _, p := range ps {
		radius += float64(p.Dist(c)) / float64(len(ps))
	}
	for range 60 {
		var a [3][4]float64
		for _, p := range ps {
			q := p.Sub(c)
			n := float64(q.Norm())
			row := [4]float64{q.X / n, q.Y / n, 1, n - radius}
			for i := range 3 {
				for j := range 4 {
					a[i][j] += row[i] * row[j]
				}
			}
		}
		x := solve3(a)
		c, radius = c.Add(pt{X: x[0], Y: x[1]}), radius+x[2]
		if math.Abs(x[0])+math.Abs(x[1])+math.Abs(x[2]) < 1e-10 {
			break
		}
	}
	return c, radius
}

func solve3(a [3][4]float64) (x [3]float64) {
	for i := range 3 {
		for k := i + 1; k < 3; k++ {
			f := a[k][i] / a[i][i]
			for j := i; j < 4; j++ {
				a[k][j] -= f * a[i][j]
			}
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = a[i][3]
		for j := i + 1; j < 3; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
	}
	return x
}

// riseOf is the straight line of least squares: its rise over the length of xs.
func riseOf(xs, ys []float64) float64 {
	var mx, my, sxy, sxx float64
	n := float64(len(xs))
	for i := range xs {
		mx, my = mx+xs[i]/n, my+ys[i]/n
	}
	for i := range xs {
		sxy += (xs[i] - mx) * (ys[i] - my)
		sxx += (xs[i] - mx) * (xs[i] - mx)
	}
	return sxy / sxx * (xs[len(xs)-1] - xs[0])
}

func (r *done) timeAt(i int) float64 {
	s := r.s[min(max(i, 0), len(r.s)-1)]
	for k, w := range r.way {
		if w >= s-0.01 {
			return r.t[k]
		}
	}
	return r.t[len(r.t)-1]
}

// truths works out everything known of the ride by the definitions in docs/MEASURES.md.
func (r *done) truths(p *rideplan.Plan) []*fact {
	for _, f := range r.facts {
		f.z = min(f.z, len(r.pts)-1)
		r.truthOf(f)
	}
	for k, e := range r.paces {
		if k > 0 && !e.unasked {
			r.changeFacts(p, e)
		}
	}
	r.gains()
	for _, f := range r.facts {
		f.t = r.timeAt(f.mid)
		for _, s := range r.spans {
			if s.i <= f.mid {
				f.number = s.number
			}
		}
	}
	return r.facts
}

func (r *done) truthOf(f *fact) {
	ps := r.pts[f.a : f.z+1]
	switch f.what {
	case "circle diameter", "circle place", "circle roundness", "circle opening", "circle closing":
		f.truth = r.circleTruth(f)
	case "corner depth":
		f.truth = math.Inf(1)
		for i, p := range ps {
			if d := float64(p.Dist(f.centre)); d < f.truth {
				f.truth, f.mid = d, f.a+i
			}
		}
	case "loop size":
		f.truth = furthest(ps, f.base)
	case "loop difference":
		lo, hi := math.Inf(1), 0.0
		for _, x := range f.parts {
			d := furthest(r.pts[x[0]:x[1]], 0)
			lo, hi = math.Min(lo, d), math.Max(hi, d)
		}
		f.truth = hi - lo
	case "turn size":
		f.truth = f.base
	case "turn duration":
		f.truth = r.timeAt(f.z) - r.timeAt(f.a)
	case "angle", "arrival", "evenness":
		f.truth = r.sidewaysTruth(f)
	default:
		f.truth = r.haltTruth(f)
	}
}

func furthest(ps []pt, base float64) (far float64) {
	for _, p := range ps {
		far = math.Max(far, math.Abs(p.X-base))
	}
	return far
}

func (r *done) circleTruth(f *fact) float64 {
	ends := int(0.5 / step)
	a, z := f.a+ends, f.z-ends
	switch f.what {
	case "circle opening":
		z = (f.a + f.z) / 2
	case "circle closing":
		a = (f.a + f.z) / 2
	}
	c, radius := roundest(r.pts[a : z+1])
	switch f.what {
	case "circle diameter":
		return 2 * radius
	case "circle place":
		return float64(c.Dist(f.centre))
	case "circle roundness":
		return unroundness(r.pts[a:z+1], c, radius)
	}
	return c.Sub(f.letter).Dot(f.along)
}

// unroundness is the longest less the shortest diameter: four times the second harmonic.
func unroundness(ps []pt, c pt, radius float64) float64 {
	var co, si float64
	for i, p := range ps {
		q := p.Sub(c)
		th := math.Atan2(q.Y, q.X)
		next := ps[min(i+1, len(ps)-1)].Sub(c)
		w := math.Abs(turnBy(math.Atan2(next.Y, next.X)-th)) / math.Pi
		e := float64(q.Norm()) - radius
		co, si = co+w*e*math.Cos(2*th), si+w*e*math.Sin(2*th)
	}
	return 4 * math.Hypot(co, si)
}

func (r *done) sidewaysTruth(f *fact) float64 {
	n := f.z - f.a
	if f.what == "evenness" {
		a, b, m := r.pts[f.a], r.pts[f.z], r.pts[f.a+n/2]
		u := unit(float64(b.Sub(a).Heading()))
		return math.Abs(m.Sub(a).Dot(u.Left()))
	}
	a, z := f.a+n/4, f.z-n/4
	if f.what == "angle" {
		var sum float64
		for i := a; i < z; i++ {
			sum += math.Abs(r.heading[i]-r.tangent[i]) * 180 / math.Pi / float64(z-a)
		}
		return sum
	}
	return r.pts[f.z].Y - f.letter.Y // where the way across comes to the line it leads to
}

func (r *done) haltTruth(f *fact) float64 {
	h := f.stop
	k := sort.SearchFloat64s(r.t, h.began+0.3)
	a, z := k, k
	for a > 0 && r.v[a-1] < 0.2 {
		a--
	}
	for z < len(r.v)-1 && r.v[z+1] < 0.2 {
		z++
	}
	switch f.what {
	case "halt place":
		return r.pts[h.i].Sub(h.letter).Dot(h.along)
	case "halt duration":
		return r.t[z] - r.t[a]
	case "rein-back length":
		return h.back - h.ahead
	case "forward first":
		return h.ahead
	}
	most, side := 0.0, 0.0
	for i := k; i < min(len(r.t), k+1000); i++ {
		p := pt{X: r.x[i], Y: r.y[i]}.Sub(pt{X: r.x[k], Y: r.y[k]})
		if b := -p.Dot(h.along); b > most {
			most, side = b, math.Abs(p.Dot(h.along.Left()))
		}
	}
	return side
}

// changeFacts says how far past the plan's own change of speed the ride's was, and how long it took.
func (r *done) changeFacts(p *rideplan.Plan, e *paceAt) {
	half := (e.before + e.v) / 2
	lo, hi := r.s[e.mid]-e.over, r.s[e.mid]+e.over
	i := sort.SearchFloat64s(r.s, lo)
	for i < len(r.s)-1 && r.s[i] < hi && (r.own[i]-half)*(r.own[i+1]-half) > 0 {
		i++
	}
	f := &fact{what: "transition place", mid: i}
	q, ok := planChange(p, r.pts[e.i], r.pace[max(0, e.mid-100)], e.name)
	if !ok {
		return
	}
	best := math.Inf(1)
	for k := max(0, e.i-400); k < min(len(r.pts), e.i+400); k++ {
		if d := float64(r.pts[k].Dist(q)); d < best {
			best, f.truth = d, r.s[i]-r.s[k]
		}
	}
	r.facts = append(r.facts, f, &fact{what: "transition length", mid: i, truth: r.secondsOfChange(sort.SearchFloat64s(r.s, lo), sort.SearchFloat64s(r.s, hi))})
}

// secondsOfChange is the length of the even change that is spread as much in time.
func (r *done) secondsOfChange(a, z int) float64 {
	var w, m, ss float64
	for i := a; i < z-1; i++ {
		d := math.Abs(r.own[i+1] - r.own[i])
		w, m = w+d, m+d*r.timeAt(i)
	}
	for i := a; i < z-1; i++ {
		t := r.timeAt(i) - m/w
		ss += math.Abs(r.own[i+1]-r.own[i]) * t * t
	}
	return math.Sqrt(12 * ss / w)
}

// planChange is where the plan's speed passes halfway between two paces near a point.
func planChange(p *rideplan.Plan, near pt, from, to string) (pt, bool) {
	ss := p.Samples
	k, best := -1, 9.0
	for i := 1; i < len(ss); i++ {
		if string(ss[i].Variety) == to && string(ss[i-1].Variety) == from {
			if d := float64(ss[i].Point.Dist(near)); d < best {
				k, best = i, d
			}
		}
	}
	if k < 0 {
		return pt{}, false
	}
	half := (usualSpeed(p, from) + usualSpeed(p, to)) / 2
	at, found := 0, math.Inf(1)
	for i := 1; i < len(ss); i++ {
		off := math.Abs(float64(ss[i].M - ss[k].M))
		if off < 10 && off < found && (float64(ss[i].Speed)-half)*(float64(ss[i-1].Speed)-half) <= 0 && ss[i].M > ss[i-1].M {
			at, found = i, off
		}
	}
	return ss[at].Point, found < 10
}

func usualSpeed(p *rideplan.Plan, pace string) float64 {
	var vs []float64
	for _, s := range p.Samples {
		if string(s.Variety) == pace && s.Speed > 0.3 {
			vs = append(vs, float64(s.Speed))
		}
	}
	sort.Float64s(vs)
	if len(vs) == 0 {
		return math.NaN()
	}
	return vs[len(vs)*7/10]
}

// gains is how much faster a medium pace was than the last straights of the pace before it.
func (r *done) gains() {
	for k := 1; k < len(r.paces)-1; k++ {
		e, next := r.paces[k], r.paces[k+1]
		if e.name != "medium trot" && e.name != "medium canter" {
			continue
		}
		ease := func(p *paceAt) int { return int((3 + p.over/2) / step) }
		z := e.mid - ease(e)
		base := r.straightSpeed(max(r.paces[k-1].mid+ease(r.paces[k-1]), z-1200), z, 0.08)
		if v := r.straightSpeed(e.mid+ease(e), next.mid-ease(next), math.Inf(1)); base > 0 && v > 0 {
			r.facts = append(r.facts, &fact{what: "gain", mid: (e.mid + next.mid) / 2, truth: 100 * (v/base - 1)})
		}
	}
}

// straightSpeed is way over time on the straights between two points.
func (r *done) straightSpeed(a, z int, bend float64) float64 {
	var slow float64
	n := 0
	for i := max(a, 40); i < min(z, len(r.s)-40); i++ {
		if math.Abs(r.tangent[i+40]-r.tangent[i-40])/4 < bend {
			slow += 1 / r.speed[i]
			n++
		}
	}
	if n < 100 {
		return 0
	}
	return float64(n) / slow
}

// lineTruth is what a measure of a straight line, or a speed, should be over the stretch of the ride
// that it says it is made of.
func (r *done) lineTruth(what string, m measure.Measure, grid float64) (float64, bool) {
	if m.FromS == nil || m.ToS == nil {
		return 0, false
	}
	from, to := *m.FromS, *m.ToS
	if what != "speed" { // the first and last fix stand for half the time to the next
		from, to = from-grid/2, to+grid/2
	}
	a, z := sort.SearchFloat64s(r.t, from), min(sort.SearchFloat64s(r.t, to), len(r.t)-1)
	if z-a < 10 {
		return 0, false
	}
	if what == "speed" {
		return (r.way[z] - r.way[a]) / (r.t[z] - r.t[a]), true
	}
	p0, u, ok := r.lineNear(a, z)
	if !ok {
		return 0, false
	}
	n := u.Left()
	if n.X+0.01*n.Y < 0 { // towards B, on a line across towards C
		n = n.Mul(-1)
	}
	var along, off []float64
	for i := a; i <= z; i++ {
		q := pt{X: r.x[i], Y: r.y[i]}.Sub(p0)
		if l := q.Dot(u); len(along) == 0 || l > along[len(along)-1]+step {
			along, off = append(along, l), append(off, q.Dot(n))
		}
	}
	if len(along) < 20 {
		return 0, false
	}
	switch rise := riseOf(along, off); what {
	case "centre line drift", "line drift":
		return rise, true
	case "halt approach":
		return math.Abs(rise) * 6 / (along[len(along)-1] - along[0]), true // of the last 6 m, also where a part is missing
	case "turn overshoot": // outside of the turn before: to the right after a left turn
		out := math.Copysign(1, r.tt[a]-r.tt[max(0, a-200)]) * math.Copysign(1, -n.Dot(u.Left()))
		return out * meanUntil(along, off, along[0]+5), true
	}
	return meanUntil(along, off, math.Inf(1)), true
}

func meanUntil(along, off []float64, end float64) float64 {
	var sum float64
	n := 0
	for i, l := range along {
		if l <= end {
			sum, n = sum+off[i], n+1
		}
	}
	return sum / float64(n)
}

// lineNear is the planned line, by its letters, that a stretch of the ride runs along.
func (r *done) lineNear(a, z int) (p, u pt, ok bool) {
	from, to := pt{X: r.x[a], Y: r.y[a]}, pt{X: r.x[z], Y: r.y[z]}
	if from.Dist(to) < 1.5 {
		return p, u, false
	}
	d, m := unit(float64(to.Sub(from).Heading())), from.Lerp(to, 0.5)
	const askew = 0.2 // of a line along the boards or across
	nearest := func(v float64, list ...float64) (best float64) {
		best = list[0]
		for _, x := range list {
			if math.Abs(x-v) < math.Abs(best-v) {
				best = x
			}
		}
		return best
	}
	switch {
	case math.Abs(d.X) < askew:
		return pt{X: nearest(m.X, -side9, 0, side9)}, pt{Y: math.Copysign(1, d.Y)}, true
	case math.Abs(d.Y) < askew:
		rows := []float64{inset, r.length - inset, 6, 20, 34}
		if r.length == 60 {
			rows = []float64{inset, r.length - inset, 6, 18, 30, 42, 54}
		}
		return pt{Y: nearest(m.Y, rows...)}, pt{X: math.Copysign(1, d.X)}, true
	}
	for _, l := range r.oblique {
		v := unit(float64(l[1].Sub(l[0]).Heading()))
		if math.Abs(v.Left().Dot(d)) < 0.2 && math.Abs(m.Sub(l[0]).Dot(v.Left())) < 3 {
			return l[0], v, true
		}
	}
	return p, u, false
}
