package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"ringcraft/internal/arena"
)

// Rides by another hand: a second writer of rides that shares nothing with internal/sim. It was
// written from the sheet language, the definitions in docs/MEASURES.md and published speeds alone,
// and draws every figure itself in arena coordinates instead of following the compiled plan.

type pt = arena.Point

const (
	step  = 0.05 // metres between points of a drawn path
	side9 = 9.2  // where the rider's body rides along the long sides: 0.8 m inside the boards
	inset = 0.8
	up    = math.Pi / 2
	down  = -math.Pi / 2
)

// drawn is a path with everything that is known of it.
type drawn struct {
	rng     *rand.Rand
	length  float64
	letters map[string]pt
	lines   []string
	number  int
	pts     []pt
	slant   []float64 // degrees by which the body is turned against the line, anticlockwise
	face    []float64 // where the body faces whatever the line does, NaN elsewhere
	dir     float64
	rein    float64 // 1 left, -1 right
	corner  float64 // radius
	scale   float64 // of all speeds: the horse's own
	paces   []*paceAt
	stops   []*stop
	slow    []slowly
	facts   []*fact
	spans   []spanAt
	oblique [][2]pt
}

type spanAt struct{ number, i int }

// paceAt is a change of pace: off metres past point i, spread over some metres.
type paceAt struct {
	i, mid          int
	off, over       float64
	v, before       float64
	name            string
	sudden, unasked bool
}

// stop stands still at point i, and may step forward and back from there.
type stop struct {
	i                           int
	seconds, back, crook, ahead float64
	letter, along               pt
	began                       float64 // on the ride's clock
}

type slowly struct {
	a, z int
	v    float64
}

// fact is a measure whose truth is known.
type fact struct {
	what   string
	a, z   int
	mid    int
	truth  float64
	t      float64
	number int
	letter pt
	along  pt
	centre pt
	base   float64
	parts  [][2]int
	stop   *stop
	half   bool
}

func newDrawn(name string, length float64, seed uint64) *drawn {
	d := &drawn{rng: rand.New(rand.NewPCG(seed, 20260503)), length: length, letters: map[string]pt{"A": {}, "C": {Y: length}}}
	rows := []string{"KEH", "FBM", "DXG"}
	ys := []float64{6, 20, 34}
	if length == 60 {
		rows, ys = []string{"KVESH", "FPBRM", "DLXIG"}, []float64{6, 18, 30, 42, 54}
	}
	for r, x := range []float64{-10, 10, 0} {
		for i, l := range rows[r] {
			d.letters[string(l)] = pt{X: x, Y: ys[i]}
		}
	}
	d.scale, d.corner = d.between(0.9, 1.1), d.between(3.2, 6)
	d.lines = []string{"name: " + name + " (invented)", fmt.Sprintf("arena: 20 x %g", length)}
	return d
}

func (d *drawn) sheet() string { return strings.Join(d.lines, "\n") + "\n" }

func (d *drawn) between(lo, hi float64) float64 { return lo + (hi-lo)*d.rng.Float64() }

// fault is one of that size to either side with some chance, else a small error.
func (d *drawn) fault(chance, lo, hi, small float64) float64 {
	if d.rng.Float64() >= chance {
		return small * d.rng.NormFloat64()
	}
	if d.rng.IntN(2) == 0 {
		return -d.between(lo, hi)
	}
	return d.between(lo, hi)
}

// box begins a movement of the sheet where the ride now is.
func (d *drawn) box(letters, text string) {
	d.number++
	d.lines = append(d.lines, fmt.Sprintf("%d\t%s\t%s", d.number, letters, text))
	d.spans = append(d.spans, spanAt{d.number, max(0, d.last())})
}

func (d *drawn) more(letters, text string) { d.lines = append(d.lines, "\t"+letters+"\t"+text) }

func (d *drawn) last() int { return len(d.pts) - 1 }
func (d *drawn) pos() pt   { return d.pts[d.last()] }

func (d *drawn) put(p pt, slant, face float64) {
	d.pts, d.slant, d.face = append(d.pts, p), append(d.slant, slant), append(d.face, face)
}

func unit(a float64) pt { return pt{X: math.Cos(a), Y: math.Sin(a)} }

// to goes straight to a point with the body at an angle.
func (d *drawn) to(x, y float64) { d.slanted(x, y, 0) }

func (d *drawn) slanted(x, y, slant float64) {
	a, b := d.pos(), pt{X: x, Y: y}
	way := float64(a.Dist(b))
	if way < 1e-6 {
		return
	}
	n := max(1, int(way/step))
	for k := 1; k <= n; k++ {
		d.put(a.Lerp(b, float64(k)/float64(n)), slant, math.NaN())
	}
	d.dir = float64(b.Sub(a).Heading())
}

// arc turns by sweep radians to a hand; egg makes it longer one way, drift carries its centre off.
func (d *drawn) arc(hand, sweep, radius, egg, eggAt float64, drift pt) {
	p := d.pos()
	centre := p.Add(unit(d.dir + hand*up).Mul(radius))
	from := float64(p.Sub(centre).Heading())
	n := max(4, int(radius*sweep/step))
	for k := 1; k <= n; k++ {
		th := sweep * float64(k) / float64(n)
		r := radius + egg*(math.Cos(2*(th-eggAt))-math.Cos(2*eggAt))
		d.put(centre.Add(unit(from+hand*th).Mul(r)).Add(drift.Mul(th/(2*math.Pi))), 0, math.NaN())
	}
	d.dir += hand * sweep
}

func turnBy(a float64) float64 { return math.Remainder(a, 2*math.Pi) }

// fillet goes round a corner point onto another direction.
func (d *drawn) fillet(v pt, dir, radius float64) {
	p := d.pos()
	in := float64(v.Sub(p).Heading())
	phi := turnBy(dir - in)
	cut, have := radius*math.Tan(math.Abs(phi)/2), float64(v.Dist(p))
	if cut > have {
		radius *= have / cut
		cut = have
	}
	q := v.Sub(unit(in).Mul(cut))
	d.to(q.X, q.Y)
	d.dir = in
	d.arc(math.Copysign(1, phi), math.Abs(phi), radius, 0, 0, pt{})
	d.dir = dir
}

// quarter is the direction as a multiple of a right angle.
func (d *drawn) quarter() float64 { return up * math.Round(d.dir/up) }

// follow keeps to the track on the present rein as far as a letter or place on it.
func (d *drawn) follow(letter string) { d.followTo(d.letters[letter]) }

func (d *drawn) followTo(to pt) {
	short := math.Abs(to.X) < 9.9
	for range 8 {
		dir := d.quarter()
		u, p := unit(dir), d.pos()
		aim := pt{X: math.Copysign(side9, to.X), Y: to.Y}
		if short {
			aim = pt{X: to.X, Y: p.Y}
			if math.Abs(to.Y-p.Y) > 2 {
				aim.Y = math.Min(math.Max(to.Y, inset), d.length-inset)
			}
		}
		gap := aim.Sub(p)
		if math.Abs(gap.Dot(u.Left())) < 1.5 && gap.Dot(u) > -0.01 {
			d.to(aim.X, aim.Y)
			d.dir = dir
			return
		}
		v := pt{X: math.Copysign(side9, u.X), Y: p.Y}
		if math.Abs(u.X) < 0.5 {
			v = pt{X: p.X, Y: inset}
			if u.Y > 0 {
				v.Y = d.length - inset
			}
		}
		next := dir + d.rein*up
		most := 9.0
		if g := aim.Sub(v); math.Abs(g.Dot(unit(next).Left())) < 1.5 && g.Dot(unit(next)) > 0 {
			most = math.Max(2, g.Dot(unit(next))-0.1)
		}
		d.roundCorner(v, next, most)
	}
	panic("the track does not lead there")
}

func (d *drawn) roundCorner(v pt, next, most float64) {
	a := d.last()
	d.fillet(v, next, math.Min(most, math.Max(2.2, d.corner+0.5*d.rng.NormFloat64())))
	boards := pt{X: math.Copysign(10, v.X)}
	if v.Y > d.length/2 {
		boards.Y = d.length
	}
	d.facts = append(d.facts, &fact{what: "corner depth", a: max(0, a-20), z: d.last() + 20, centre: boards})
}

// pace asks a pace here and rides it so many metres late.
func (d *drawn) pace(name string, share, late float64) *paceAt {
	p := &paceAt{i: d.last(), off: late, over: d.between(2, 6), v: speeds[name] * d.scale * share, name: name}
	d.paces = append(d.paces, p)
	return p
}

// resume goes on in a pace from a stand, where no change is measured.
func (d *drawn) resume(name string) { p := d.pace(name, 1, 0); p.sudden, p.unasked = true, true }

// speeds in m/s: published means (Clayton 1994, 1995) moved by this writer to a smaller horse.
var speeds = map[string]float64{"medium walk": 1.68, "free walk": 1.85, "working trot": 3.45, "medium trot": 4.35, "collected trot": 3.1,
	"working canter": 3.9, "collected canter": 3.3, "medium canter": 4.8}

func (d *drawn) halt(letter string, seconds float64) *stop {
	s := &stop{i: d.last(), seconds: seconds, letter: d.letters[letter], along: unit(d.quarter())}
	d.stops = append(d.stops, s)
	for _, what := range []string{"halt place", "halt duration"} {
		d.facts = append(d.facts, &fact{what: what, a: s.i, z: s.i, mid: s.i, stop: s})
	}
	return s
}

func (d *drawn) reinBack(s *stop, back, crook, ahead float64) {
	s.back, s.crook, s.ahead = back, crook, ahead
	for _, what := range []string{"rein-back length", "rein-back straightness", "forward first"} {
		d.facts = append(d.facts, &fact{what: what, a: s.i, z: s.i, mid: s.i, stop: s})
	}
}
