package sim

import (
	"math"
	"math/rand/v2"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// Truth is a simulated ride without any error of a recorder.
type Truth struct {
	Samples []Sample
	Values  []Value      // what is true of it, in riding order
	Spans   []Span       // of the movements that were ridden
	Start   gait.Seconds // when it passes A
	End     gait.Seconds // when the test ends
	Length  arena.Metres
	lever   arena.Metres
	board   *arena.Board
}

// Sample is the ride at one instant.
type Sample struct {
	T gait.Seconds
	arena.Point
	Heading  arena.Angle // of the horse's body
	PlanM    float64     // metre of the plan, NaN off it
	Movement int
}

// Value is one true number under the name a measure gives it.
type Value struct {
	Movement int
	What     string
	Value    float64
}

// Span is a movement on the ride's clock.
type Span struct {
	Movement   int
	Start, End gait.Seconds
}

// step is the spacing of the ridden line in metres of the plan.
const step = 0.1

// cell is the ride at one metre of the plan, before time is laid on it.
type cell struct {
	m     float64
	p     arena.Point
	head  float64 // of the body
	slow  float64 // planned seconds from the cell before, at planned length
	dwell float64 // seconds stood here
	plan  rideplan.Sample
	slip  float64 // factor on the speed that the rider is not even by
	off   bool
}

// rider holds what the steps of Ride share.
type rider struct {
	plan   *rideplan.Plan
	faults Faults
	rng    *rand.Rand
	still  []dwell
	moving []float64 // planned moving time at each plan sample
	warps  []warp
	shifts []shift
	dips   []dip
	cells  []cell
	flats  map[gait.Variety]float64
}

// dwell is a standstill of the plan.
type dwell struct{ m, dur float64 }

// Ride draws a ride of the plan with the given faults. Seed drives the wobble only.
func Ride(p *rideplan.Plan, f Faults, seed uint64) Truth {
	r := &rider{plan: p, faults: f, rng: rand.New(rand.NewPCG(seed, 0x5eed))}
	r.readTimes()
	r.addWarps()
	r.addDips()
	r.layCells()
	r.deform()
	r.cutOut()
	r.excursions()
	return r.clock()
}

// readTimes splits the plan's clock into moving and standing.
func (r *rider) readTimes() {
	ss := r.plan.Samples
	r.moving = make([]float64, len(ss))
	for i := 1; i < len(ss); i++ {
		dt := float64(ss[i].T - ss[i-1].T)
		if float64(ss[i].M-ss[i-1].M) > 1e-6 {
			r.moving[i] = r.moving[i-1] + dt
			continue
		}
		r.moving[i] = r.moving[i-1]
		if n := len(r.still); n > 0 && math.Abs(r.still[n-1].m-float64(ss[i].M)) < 1e-6 {
			r.still[n-1].dur += dt
		} else if dt > 0 {
			r.still = append(r.still, dwell{float64(ss[i].M), dt})
		}
	}
}

// movingAt is the planned moving time at metre m.
func (r *rider) movingAt(m float64) float64 {
	ss := r.plan.Samples
	i := sort.Search(len(ss), func(i int) bool { return float64(ss[i].M) >= m })
	if i <= 0 {
		return 0
	}
	if i >= len(ss) {
		return r.moving[len(ss)-1]
	}
	a, b := float64(ss[i-1].M), float64(ss[i].M)
	return r.moving[i-1] + (m-a)/(b-a)*(r.moving[i]-r.moving[i-1])
}

// layCells lays the planned line with planned times, moved by the warps.
func (r *rider) layCells() {
	end := float64(r.plan.Length)
	n := int(math.Ceil(end / step))
	var stops []dwell
	for _, d := range r.still {
		stops = append(stops, dwell{r.unwarp(d.m), math.Max(shortestStand, d.dur+r.longer(d.m))})
	}
	for _, p := range r.faults.Pauses {
		stops = append(stops, dwell{float64(p.AtM), float64(p.For)})
	}
	sort.SliceStable(stops, func(i, j int) bool { return stops[i].m < stops[j].m })
	at := make([]float64, 0, n+1+len(stops))
	for i := range n + 1 {
		at = append(at, math.Min(float64(i)*step, end))
	}
	for _, d := range stops {
		at = append(at, math.Max(0, math.Min(end, d.m)))
	}
	sort.Float64s(at)
	k := 0
	for i, m := range at {
		if i > 0 && m-at[i-1] < 1e-9 && k < len(stops) && stops[k].m > m {
			continue
		}
		s := r.plan.SampleAtM(arena.Metres(m))
		c := cell{m: m, p: s.Point, plan: s, head: r.body(s)}
		if i > 0 {
			c.slow = r.slowness(at[i-1], m)
		}
		for k < len(stops) && stops[k].m <= m+1e-9 {
			c.dwell += stops[k].dur
			k++
		}
		r.cells = append(r.cells, c)
	}
	r.cells[len(r.cells)-1].plan.Movement = r.cells[max(0, len(r.cells)-2)].plan.Movement
}

// shortestStand is the least a horse stands where it stops at all, in seconds.
const shortestStand = 0.3

// slowness is the time from metre a to b, at the plan's speeds as moved by the warps.
func (r *rider) slowness(a, b float64) float64 {
	if b <= a {
		return 0
	}
	wa, wb := r.warp(a), r.warp(b)
	if wb-wa < 1e-9 {
		return (b - a) / 1.5
	}
	return (r.movingAt(wb) - r.movingAt(wa)) * (b - a) / (wb - wa)
}

// body is the direction of the horse's body.
func (r *rider) body(s rideplan.Sample) float64 {
	a := float64(s.Angle)
	if r.faults.AngleScale != 0 {
		a *= r.faults.AngleScale
	}
	if s.Side == rideplan.Right {
		a = -a
	}
	return float64(s.Heading) + a
}

// clock lays time along the ridden cells and sums up.
func (r *rider) clock() Truth {
	tr := Truth{lever: r.faults.LeverM, board: r.plan.Board}
	r.prelude(&tr)
	t := 0.0
	if n := len(tr.Samples); n > 0 {
		t = float64(tr.Samples[n-1].T) + 0.05
	}
	tr.Start = gait.Seconds(t)
	slip := newWalk(r.rng, 6, r.faults.Wobble.Speed)
	var at []float64 // arrival at each cell
	var leave []float64
	for i := range r.cells {
		c := &r.cells[i]
		if i > 0 {
			t += r.cellTime(i, slip)
		}
		at = append(at, t)
		tr.add(t, c)
		if c.dwell > 0 {
			r.stand(&tr, i, t)
			t += c.dwell
		}
		leave = append(leave, t)
	}
	tr.End = gait.Seconds(t)
	for i := 1; i < len(r.cells); i++ {
		tr.Length += r.cells[i].p.Dist(r.cells[i-1].p)
	}
	r.spans(&tr, at, leave)
	r.sayTruth(&tr, at, leave)
	r.epilogue(&tr, t)
	return tr
}

func (tr *Truth) add(t float64, c *cell) {
	m := c.m
	if c.off {
		m = math.NaN()
	}
	tr.Samples = append(tr.Samples, Sample{gait.Seconds(t), c.p, arena.Angle(c.head), m, c.plan.Movement})
}

// stand adds the samples of a standstill, in which the plan may turn on the spot.
func (r *rider) stand(tr *Truth, i int, t float64) {
	c := r.cells[i]
	ss := r.plan.Samples
	m := r.warp(c.m)
	from := sort.Search(len(ss), func(i int) bool { return float64(ss[i].M) >= m-1e-4 })
	to := from
	for to+1 < len(ss) && float64(ss[to+1].M) <= m+1e-4 {
		to++
	}
	if from >= len(ss) || ss[to].T <= ss[from].T {
		tr.add(t+c.dwell-1e-3, &c)
		return
	}
	f, turn := r.turnAt(m)
	at, begin := c.p, ss[from].Heading.Unit()
	for k := from + 1; k <= to; k++ {
		share := float64((ss[k].T - ss[from].T) / (ss[to].T - ss[from].T))
		c.head = r.body(ss[k])
		if f != nil {
			done := ss[from].T + gait.Seconds(turn.uneven(share))*(ss[to].T-ss[from].T)
			h := r.headingAt(from, to, done)
			h += arena.Angle(turn.uneven(share)) * turn.further(f)
			c.head = float64(h)
			c.p = at.Add(h.Unit().Sub(begin).Mul(turn.arm(f)))
		}
		tr.add(t+share*(c.dwell-1e-3), &c)
	}
}

// headingAt is the plan's heading at a time within a standstill.
func (r *rider) headingAt(from, to int, t gait.Seconds) arena.Angle {
	ss := r.plan.Samples
	k := from + 1
	for k < to && ss[k].T < t {
		k++
	}
	a, b := ss[k-1], ss[k]
	if b.T <= a.T {
		return b.Heading
	}
	return a.Heading + arena.Angle((t-a.T)/(b.T-a.T))*b.Heading.Diff(a.Heading)
}

// cellTime is the time from the cell before: planned speed on the length really ridden,
// times what the faults make of the speed there.
func (r *rider) cellTime(i int, slip *walk) float64 {
	c, b := &r.cells[i], &r.cells[i-1]
	planned := c.plan.M - b.plan.M
	d := float64(c.p.Dist(b.p))
	t := c.slow
	if c.off {
		t = d / 3
	} else if planned > 1e-9 {
		t *= d / float64(planned)
	}
	f := r.heldFactor(c.m) * r.speedFactor(c) * r.dipFactor(c.m)
	c.slip = math.Exp(slip.next(d))
	return t / (f * c.slip)
}

// spans are the movements that were ridden on the ride's clock.
func (r *rider) spans(tr *Truth, at, leave []float64) {
	for _, mv := range r.plan.Movements {
		if r.leftOut(mv.Number) {
			continue
		}
		i := sort.Search(len(r.cells), func(i int) bool { return r.cells[i].m >= float64(mv.StartM)-1e-6 })
		j := sort.Search(len(r.cells), func(i int) bool { return r.cells[i].m >= float64(mv.EndM)-1e-6 })
		i, j = min(i, len(r.cells)-1), min(j, len(r.cells)-1)
		s := Span{mv.Number, gait.Seconds(at[i]), gait.Seconds(leave[j])}
		if d := r.planDwell(float64(mv.StartM)); d > 0 && mv.StartS >= r.arrives(float64(mv.StartM))+gait.Seconds(d)-0.25 {
			s.Start = gait.Seconds(leave[i])
		}
		if d := r.planDwell(float64(mv.EndM)); d > 0 && mv.EndS <= r.arrives(float64(mv.EndM))+0.25 {
			s.End = gait.Seconds(at[j])
		}
		tr.Spans = append(tr.Spans, s)
	}
}

// arrives is when the plan first reaches metre m.
func (r *rider) arrives(m float64) gait.Seconds {
	ss := r.plan.Samples
	i := sort.Search(len(ss), func(i int) bool { return float64(ss[i].M) >= m-1e-6 })
	return ss[min(i, len(ss)-1)].T
}

func (r *rider) planDwell(m float64) float64 {
	for _, d := range r.still {
		if math.Abs(d.m-m) < 1e-6 {
			return d.dur
		}
	}
	return 0
}

// At returns the ride at time t by interpolation, clamped to its ends.
func (tr *Truth) At(t gait.Seconds) Sample {
	ss := tr.Samples
	i := sort.Search(len(ss), func(i int) bool { return ss[i].T >= t })
	if i <= 0 {
		return ss[0]
	}
	if i >= len(ss) {
		return ss[len(ss)-1]
	}
	a, b := ss[i-1], ss[i]
	f := 0.0
	if b.T > a.T {
		f = float64((t - a.T) / (b.T - a.T))
	}
	out := b
	out.T = t
	out.Point = a.Point.Lerp(b.Point, f)
	out.Heading = a.Heading + arena.Angle(f)*b.Heading.Diff(a.Heading)
	return out
}
