package sim

import (
	"math"
	"sort"
	"strconv"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// teller writes down what is true of a ride, under the names of the measures.
type teller struct {
	r         *rider
	tr        *Truth
	at, leave []float64
	movement  int
	names     map[string]bool
	letterOf  string // of a turning point between two works to the side
}

// sayTruth goes through the figures of the plan as a measurer would, but knowing the ride.
func (r *rider) sayTruth(tr *Truth, at, leave []float64) {
	for i := range r.plan.Movements {
		mv := &r.plan.Movements[i]
		if r.leftOut(mv.Number) {
			continue
		}
		t := &teller{r: r, tr: tr, at: at, leave: leave, movement: mv.Number, names: map[string]bool{}}
		for k := range mv.Figures {
			t.figure(&mv.Figures[k])
		}
		t.corners(mv)
		t.speed(mv)
	}
}

func (t *teller) say(what, letter string, v float64) {
	name := what
	if t.names[name] && letter != "" {
		name = what + " " + letter
	}
	for n := 2; t.names[name]; n++ {
		name = what + " " + strconv.Itoa(n)
	}
	t.names[name] = true
	if !math.IsNaN(v) {
		t.tr.Values = append(t.tr.Values, Value{t.movement, name, v})
	}
}

func (t *teller) figure(f *rideplan.Figure) {
	switch string(f.Kind) {
	case "circle", "volte", "half circle":
		c, d := t.circle(f)
		t.say("circle diameter", f.At, d)
		t.say("circle place", f.At, float64(c.Dist(f.Centre)))
		if string(f.Kind) != "half circle" && float64(f.EndM-f.StartM) > 0.85*math.Pi*float64(f.Asked) {
			t.circleShape(f, c, d/2)
		}
	case "entry", "centre line":
		t.line(f, "centre line offset", "centre line drift")
	case "straight", "turn across", "diagonal", "track":
		t.line(f, "line offset", "line drift")
	case "halt":
		t.halt(f)
	case "transition":
		t.transition(f)
	case "rein-back":
		t.reinBack(f)
	case "half-pass", "leg-yield", "shoulder-in", "shoulder-out", "travers", "renvers":
		if !t.counterChange(f) {
			t.arrival(f)
		}
		if !t.legAngle(f) {
			t.angle(f)
			t.steadiness(f)
		}
	case "zig-zag":
		t.zigZag(f)
	case "change through the circle":
		t.circleChange(f)
	case "turn on the haunches", "turn on the forehand", "walk pirouette", "canter pirouette":
		t.turn(f)
	case "serpentine", "loop":
		t.loops(f)
	case "medium pace", "extended pace", "lengthened strides":
		t.bigger(f)
	}
}

// cellsIn returns the cells of the plan between two metres that lie on the line ridden.
func (t *teller) cellsIn(a, z float64) (lo, hi int) {
	cs := t.r.cells
	lo = sort.Search(len(cs), func(i int) bool { return cs[i].m >= a-1e-9 })
	hi = sort.Search(len(cs), func(i int) bool { return cs[i].m > z+1e-9 })
	return lo, hi
}

// circle is the best circle through the ridden path, each metre of it counting alike.
func (t *teller) circle(f *rideplan.Figure) (centre arena.Point, diameter float64) {
	lo, hi := t.cellsIn(float64(f.StartM), float64(f.EndM))
	c, rad := bestCircle(t.r.cells[lo:hi], f)
	return c, 2 * rad
}

// bestCircle minimises the squared radial distances, each metre counting alike.
func bestCircle(cs []cell, f *rideplan.Figure) (c arena.Point, rad float64) {
	c, rad = f.Centre, float64(f.Asked)/2
	if rad == 0 {
		rad = 5
	}
	for range 50 { // Gauss-Newton on the radial distances
		var n [3][4]float64
		for i := 1; i < len(cs); i++ {
			w := float64(cs[i].p.Dist(cs[i-1].p))
			d := cs[i].p.Sub(c)
			l := float64(d.Norm())
			if l < 1e-9 {
				continue
			}
			row := [3]float64{d.X / l, d.Y / l, 1}
			for a := range 3 {
				for b := range 3 {
					n[a][b] += w * row[a] * row[b]
				}
				n[a][3] += w * row[a] * (l - rad)
			}
		}
		s := solve3(n)
		c, rad = c.Add(arena.Point{X: s[0], Y: s[1]}), rad+s[2]
	}
	return c, rad
}

// solve3 solves three equations by elimination with pivots.
func solve3(n [3][4]float64) (x [3]float64) {
	for i := range 3 {
		p := i
		for j := i + 1; j < 3; j++ {
			if math.Abs(n[j][i]) > math.Abs(n[p][i]) {
				p = j
			}
		}
		n[i], n[p] = n[p], n[i]
		if n[i][i] == 0 {
			return x
		}
		for j := range 3 {
			if j == i {
				continue
			}
			k := n[j][i] / n[i][i]
			for c := i; c < 4; c++ {
				n[j][c] -= k * n[i][c]
			}
		}
	}
	for i := range 3 {
		x[i] = n[i][3] / n[i][i]
	}
	return x
}

// line is offset and drift of the straight part of a figure, without 4 m at either end.
func (t *teller) line(f *rideplan.Figure, offset, drift string) {
	a, z, ok := t.longestStraight(f)
	if !ok {
		return
	}
	defer t.overshoot(f, a)
	ease := math.Min(4, (z-a)/4)
	a, z = a+ease, z-ease
	lo, hi := t.cellsIn(a, z)
	base := t.r.plan.SampleAtM(arena.Metres((a + z) / 2))
	n := base.Heading.Unit().Left()
	if math.Abs(n.X) >= math.Abs(n.Y) && n.X < 0 || math.Abs(n.X) < math.Abs(n.Y) && n.Y < 0 {
		n = n.Mul(-1)
	}
	var w, sm, sd, sdd, sy, sdy float64
	for i := lo + 1; i < hi; i++ {
		k := float64(t.r.cells[i].p.Dist(t.r.cells[i-1].p))
		d := t.r.cells[i].m - (a+z)/2
		y := t.r.cells[i].p.Sub(base.Point).Dot(n)
		w, sm, sd, sdd, sy, sdy = w+k, sm+k*y, sd+k*d, sdd+k*d*d, sy+k*y, sdy+k*d*y
	}
	t.say(offset, f.At, sm/w)
	slope := (sdy - sd*sy/w) / (sdd - sd*sd/w)
	t.say(drift, f.At, slope*(z-a))
	t.say("line angle", f.At, math.Atan(slope)*180/math.Pi)
}

// longestStraight is the longest part of a figure without bend, at least 8 m.
func (t *teller) longestStraight(f *rideplan.Figure) (a, z float64, ok bool) {
	ss := t.r.plan.Samples
	for i := 0; i < len(ss); i++ {
		if ss[i].M < f.StartM || ss[i].M > f.EndM || !straightAt(ss[i]) {
			continue
		}
		j := i
		for j+1 < len(ss) && ss[j+1].M <= f.EndM && straightAt(ss[j+1]) && math.Abs(float64(ss[j+1].Heading.Diff(ss[i].Heading))) < 0.02 {
			j++
		}
		if float64(ss[j].M-ss[i].M) > z-a {
			a, z = float64(ss[i].M), float64(ss[j].M)
		}
		i = j
	}
	return a, z, z-a >= 8
}

func straightAt(s rideplan.Sample) bool {
	return math.Abs(s.Curvature) <= 1e-6 && s.Variety != gait.ReinBackVar
}

// halt is where and how long the horse stood.
func (t *teller) halt(f *rideplan.Figure) {
	for i := range t.r.cells {
		c := &t.r.cells[i]
		if c.dwell == 0 || math.Abs(t.r.warp(c.m)-float64(f.StartM)) > 0.05 {
			continue
		}
		u := c.plan.Heading.Unit()
		t.say("halt place", f.At, c.p.Sub(f.Place).Dot(u))
		t.say("halt duration", f.At, c.dwell+t.slowBefore(i)+t.slowAfter(i))
		t.approach(f, i)
		return
	}
	t.say("halt place", f.At, math.NaN())
	t.say("halt duration", f.At, math.NaN())
}

const stillBelow = 0.2 // m/s

// slowBefore is the time just before cell i at less than stillBelow, the plan's way of
// slowing down taken as even.
func (t *teller) slowBefore(i int) float64 { return t.slow(i, -1) }

func (t *teller) slowAfter(i int) float64 { return t.slow(i, 1) }

func (t *teller) slow(i, dir int) float64 {
	j := i + 8*dir
	if j < 0 || j >= len(t.r.cells) {
		return 0
	}
	d := math.Abs(t.r.cells[j].m - t.r.cells[i].m)
	dt := math.Abs(t.leave[j] - t.at[i])
	if dir > 0 {
		dt = math.Abs(t.at[j] - t.leave[i])
	}
	if d == 0 || dt == 0 {
		return 0
	}
	acc := 2 * d / (dt * dt) // from rest
	return stillBelow / acc
}

// transition is how far along the line a change of pace was moved.
func (t *teller) transition(f *rideplan.Figure) {
	from, to := f.From.PaceOf(), f.Variety.PaceOf()
	if quiet(from) || quiet(to) {
		return
	}
	m := float64(f.StartM+f.EndM) / 2
	v := 0.0
	for _, s := range t.r.shifts {
		if math.Abs(s.m-m) < 1e-6 {
			v = s.late
		}
	}
	if from == gait.Trot && to == gait.Canter || from == gait.Canter && to == gait.Trot {
		v = math.NaN()
	}
	if t.givenUpNear(m) { // the pace was left, or not reached, elsewhere: its change has no one place
		v = math.NaN()
	}
	place, length, smooth := v, math.NaN(), math.NaN()
	for i := range t.r.shifts {
		s := &t.r.shifts[i]
		if math.Abs(s.m-m) > 1e-6 || math.IsNaN(v) {
			continue
		}
		length, smooth = t.changeLength(s), t.smoothness(s)
		if t.r.dipped(s) { // the speed passes the middle elsewhere, or more than once
			place, length = math.NaN(), math.NaN()
		}
	}
	t.say("transition place", f.At, place)
	t.say("transition length", f.At, length)
	t.say("transition smoothness", f.At, smooth)
}

// changeLength is the seconds of the even change of speed that is spread as much in time as this
// one: the square root of twelve times the standard deviation of when the speed changes.
func (t *teller) changeLength(s *shift) float64 {
	lo, hi := t.cellsIn(s.lo, s.hi)
	var w, wt, wtt float64
	for i := lo + 1; i < hi; i++ {
		d := t.r.changed(s, t.r.cells[i].m) - t.r.changed(s, t.r.cells[i-1].m)
		at := t.at[i] - t.at[lo]
		w, wt, wtt = w+d, wt+d*at, wtt+d*at*at
	}
	if w < 0.9 { // begins or ends in another thing
		return math.NaN()
	}
	return math.Sqrt(12 * math.Max(0, wtt/w-wt*wt/(w*w)))
}

// givenUpNear reports whether a bigger pace that was not held begins or ends at metre m.
func (t *teller) givenUpNear(m float64) bool {
	for _, h := range t.r.faults.Held {
		for _, kind := range biggerKinds {
			f := t.r.figure(h.Movement, h.Nth, kind)
			if f != nil && (math.Abs(float64(f.StartM)-m) < 4 || math.Abs(float64(f.EndM)-m) < 4) {
				return true
			}
		}
	}
	return false
}

// reinBack is how far the horse went back.
func (t *teller) reinBack(f *rideplan.Figure) {
	lo, hi := t.cellsIn(float64(f.StartM), float64(f.EndM))
	var far, most float64
	defer t.backwards(f)
	for i := lo + 1; i < hi; i++ {
		d := t.r.cells[i].p.Sub(t.r.cells[i-1].p).Dot(t.r.cells[i].plan.Heading.Unit())
		far -= d
		most = math.Max(most, far)
	}
	t.say("rein-back length", f.At, most)
}

// speed is the mean speed over the longest stretch of one pace at its steady speed.
func (t *teller) speed(mv *rideplan.Movement) {
	a, z := t.longestSteady(float64(mv.StartM), float64(mv.EndM))
	if z-a < 6 {
		return
	}
	ease := math.Max(0, math.Min(3, (z-a-6)/2))
	a, z = a+ease, z-ease
	lo, hi := t.cellsIn(a, z)
	var d float64
	for i := lo + 1; i < hi; i++ {
		d += float64(t.r.cells[i].p.Dist(t.r.cells[i-1].p))
	}
	t.say("speed", "", d/(t.at[hi-1]-t.leave[lo]))
}

func (t *teller) longestSteady(a, z float64) (lo, hi float64) {
	ss := t.r.plan.Samples
	for i := 0; i < len(ss); i++ {
		s := ss[i]
		p := s.Variety.PaceOf()
		if float64(s.M) < a || float64(s.M) > z || s.Speed < 0.5 || p == gait.Halt || p == gait.ReinBack || math.Abs(s.Curvature) >= 0.14 {
			continue
		}
		j := i
		for j+1 < len(ss) && float64(ss[j+1].M) <= z && ss[j+1].Variety == s.Variety && math.Abs(ss[j+1].Curvature) < 0.14 &&
			math.Abs(float64(ss[j+1].Speed-s.Speed)) <= 0.04*float64(s.Speed) {
			j++
		}
		if float64(ss[j].M-s.M) > hi-lo {
			lo, hi = float64(s.M), float64(ss[j].M)
		}
		i = j
	}
	return lo, hi
}
