package match

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// How far a ride that placed itself may lie wrong. The fit sees the distances between ride and
// plan, fifty times each: fixes beside each other stray together. What strays is of two kinds.
// The rider is off the line alike over some twenty metres of it; the recorder's slow error is
// alike over its time constant. Each is carried through the fit as the correlated error it is,
// so that its independent pieces count and not its fixes. What a rider does everywhere alike no
// fit can see at all.

const (
	alikeMetres = 20.0 // correlation length of riding errors along the plan (assumption: about a line or half a circle)
	habitSD     = 0.1  // metres per axis that a rider keeps to one side throughout (assumption)
	leastRide   = 0.15 // metres a rider is off the line at the least (assumption)
	// slipM: fixes that lie metres off find their feet on the wrong part of the line, and the fit
	// holds the turn less than it seems; a slow error of so many metres adds as much again (fitted
	// to simulated rides, docs/RECORDINGS.md shows how well).
	slipM = 3.6
)

// sighting is what one epoch says of the placing: how far off the plan's line it lies, and how
// that changes with a shift in x, in y and a turn about the middle.
type sighting struct {
	t, m   float64
	off    float64
	normal arena.Point
	by     [3]float64
	weight float64
}

// sightings are the epochs on the plan, seen across its line.
func sightings(p *rideplan.Plan, c candidate, mid arena.Point) []sighting {
	out := make([]sighting, 0, len(c.pairs))
	for _, q := range c.pairs {
		s := p.SampleAtM(arena.Metres(q.m))
		n := s.Heading.Unit().Left()
		at := c.r.apply(q.from)
		d := at.Sub(q.to)
		arm := at.Sub(mid).Left()
		out = append(out, sighting{t: q.t, m: q.m, off: d.Dot(n), normal: n, by: [3]float64{n.X, n.Y, n.Dot(arm)}, weight: q.weight})
	}
	return out
}

// polish moves the placing to where the distances across the line are least. Along the line
// a foot follows the ride, so that a fit of points to points creeps and stops short.
func (a *aligner) polish(c candidate) candidate {
	for range polishRounds {
		for i := range c.pairs {
			q := &c.pairs[i]
			at := c.r.apply(q.from)
			q.m = footNear(a.plan, at, q.m, 2.5)
			q.to = a.plan.SampleAtM(arena.Metres(q.m)).Point
			d := float64(at.Dist(q.to)) / (robustScale + a.noise.WanderSD)
			q.weight = 1 / (1 + d*d)
		}
		mid, _ := spreadOf(c.pairs)
		var h square
		var g [3]float64
		for _, s := range sightings(a.plan, c, mid) {
			h.addOuter(s.by, s.by, s.weight)
			for j := range g {
				g[j] -= s.weight * s.off * s.by[j]
			}
		}
		inv, ok := h.inverse()
		if !ok {
			break
		}
		var by [3]float64
		for i := range by {
			for j := range g {
				by[i] += inv[i][j] * g[j]
			}
		}
		c.r = c.r.moved(mid, by[2], arena.Point{X: by[0], Y: by[1]})
	}
	return c
}

const polishRounds = 6

// moved turns what is already placed by a little about a point of the arena, and shifts it.
func (r rigid) moved(about arena.Point, turn float64, shift arena.Point) rigid {
	sin, cos := math.Sincos(turn)
	t := rigid{cos: cos, sin: sin}
	return rigid{cos: cos*r.cos - sin*r.sin, sin: sin*r.cos + cos*r.sin, mirrored: r.mirrored,
		shift: t.turn(r.shift.Sub(about)).Add(about).Add(shift)}
}

// square is a symmetric 3 x 3 matrix over shift in x, shift in y and turn.
type square [3][3]float64

func (a *square) addOuter(u, v [3]float64, k float64) {
	for i := range u {
		for j := range v {
			a[i][j] += k * u[i] * v[j]
		}
	}
}

func (a square) times(b square) (out square) {
	for i := range a {
		for j := range b {
			for k := range b {
				out[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return out
}

func (a *square) scale(k float64) {
	for i := range a {
		for j := range a[i] {
			a[i][j] *= k
		}
	}
}

func (a square) trace() float64 { return a[0][0] + a[1][1] + a[2][2] }

// inverse is by cofactors; ok is false where the ride leaves a way to lie open.
func (a square) inverse() (out square, ok bool) {
	det := 0.0
	for i := range 3 {
		for j := range 3 {
			p, q, r, s := (j+1)%3, (j+2)%3, (i+1)%3, (i+2)%3
			out[i][j] = a[p][r]*a[q][s] - a[p][s]*a[q][r]
		}
	}
	for k := range 3 {
		det += a[0][k] * out[k][0]
	}
	if !(math.Abs(det) > 1e-9*a[0][0]*a[1][1]*a[2][2]) {
		return out, false
	}
	for i := range 3 {
		for j := range 3 {
			out[i][j] /= det
		}
	}
	return out, true
}

// slip is how much further a slow error of some metres turns the fit, for feet that slip.
func slip(slow float64) float64 { return math.Sqrt(1 + slow*slow/(slipM*slipM)) }

// loosen raises what is said of the turn.
func (a *square) loosen(k float64) {
	for i := range 3 {
		a[i][2] *= k
		a[2][i] *= k
	}
}

// alike sums weight_i weight_j by_i by_j' over all pairs of sightings, each pair as alike as
// fade says of the step between neighbours: an error that fades exponentially. Where it is a
// vector of the ground and not a distance from the line, parts[k] is its share along each axis.
func alike(ss []sighting, parts func(sighting) [2]float64, fade func(a, b sighting) float64) (out square) {
	var so [2][3]float64 // decayed sums so far, one for each axis
	for i, s := range ss {
		k := 0.0
		if i > 0 {
			k = fade(ss[i-1], s)
		}
		for axis, share := range parts(s) {
			var v [3]float64
			for j := range v {
				v[j] = s.weight * share * s.by[j]
				so[axis][j] *= k
			}
			out.addOuter(v, v, 1)
			out.addOuter(v, so[axis], 1)
			out.addOuter(so[axis], v, 1)
			for j := range v {
				so[axis][j] += v[j]
			}
		}
	}
	return out
}

// selfPlacement says how well a ride placed itself.
func (a *aligner) selfPlacement(c candidate) Placement {
	mid, _ := spreadOf(c.pairs)
	out := Placement{Method: ByRide, Rotation: c.r.angle(), Shift: c.r.shift, Mirrored: c.r.mirrored, Pivot: mid,
		ShiftSD: a.noise.WanderSD, CorrelatedSD: 1, RotationSD: 0.1}
	ss := sightings(a.plan, c, mid)
	var h square
	for _, s := range ss {
		h.addOuter(s.by, s.by, s.weight)
	}
	inv, ok := h.inverse()
	if !ok {
		return out
	}
	tau := math.Max(float64(a.noise.WanderTau), 1)
	wander := alike(ss, func(s sighting) [2]float64 { return [2]float64{s.normal.X, s.normal.Y} },
		func(p, q sighting) float64 { return math.Exp(-math.Abs(q.t-p.t) / tau) })
	slow := a.noise.WanderSD * a.noise.WanderSD
	loose := slip(a.noise.WanderSD)
	ride, moved := riderCovariance(ss, inv, slow, inv.times(wander).trace()), inv.times(wander).times(inv)
	ride.loosen(loose)
	moved.loosen(loose)
	out.Taken = taken(ss, inv, tau, loose)
	out.Taken.Mid, out.Taken.Slow, out.Taken.Ride = mid, moved, ride
	for i := range 2 {
		out.Taken.Ride[i][i] += habitSD * habitSD
	}
	moved.scale(slow)
	return out.doubted(ride, moved)
}

// riderCovariance is what the rider's errors, as large as this ride shows them, do to the fit. Of
// the distances from the line, those that the slow error makes are the recorder's; fitted is how
// many of its sightings the fit takes up.
func riderCovariance(ss []sighting, inv square, slow, fitted float64) square {
	fade := func(p, q sighting) float64 { return math.Exp(-math.Abs(q.m-p.m) / alikeMetres) }
	var sum, squares float64
	for _, s := range ss {
		sum, squares = sum+s.weight, squares+s.weight*s.off*s.off
	}
	ridden := alike(ss, func(sighting) [2]float64 { return [2]float64{1, 0} }, fade)
	// what the fit took off the distances is not seen in those that are left
	left := squares - slow*(sum-fitted)
	free := math.Max(sum/4, sum-inv.times(ridden).trace())
	ride := math.Min(1, math.Max(leastRide*leastRide, left/free))
	out := inv.times(alike(ss, func(s sighting) [2]float64 { return [2]float64{s.off, 0} }, fade)).times(inv)
	out.scale(ride * free / squares)
	return out
}

// doubted fills in the doubt from the covariances of riding and of the recorder's slow error,
// about the point where shift and turn have nothing to do with each other.
func (p Placement) doubted(ride, slow square) Placement {
	var all square
	for i := range 3 {
		for j := range 3 {
			all[i][j] = ride[i][j] + slow[i][j]
		}
	}
	turn := all[2][2]
	arm := arena.Point{X: -all[1][2] / turn, Y: all[0][2] / turn}
	p.Pivot = p.Pivot.Add(arm)
	at := func(c square) float64 { // mean variance of the two axes at the pivot
		x := c[0][0] - 2*arm.Y*c[0][2] + arm.Y*arm.Y*c[2][2]
		y := c[1][1] + 2*arm.X*c[1][2] + arm.X*arm.X*c[2][2]
		return math.Max(0, (x+y)/2)
	}
	p.RotationSD = arena.Angle(math.Sqrt(turn))
	p.ShiftSD = math.Sqrt(at(slow))
	p.CorrelatedSD = math.Sqrt(at(ride) + habitSD*habitSD)
	return p
}
