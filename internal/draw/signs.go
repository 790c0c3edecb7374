package draw

import (
	"fmt"
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// Spacings of signs along the line, in metres unless said.
const (
	bodyEvery  = 3.8
	bodyLength = 2.4 // a horse from above, to the scale of the arena
	stepLength = 0.55
	wayEvery   = 22
)

// steps are the crossbars of a rein-back, one a step.
func (pl *plotter) steps(g *Group, st Style, a, b int) {
	ss := pl.plan.Samples
	var lines [][]Pt
	for m := float64(ss[a].M) + stepLength/2; m < float64(ss[b].M); m += stepLength {
		p, d := pl.along(a, b, m)
		n, h := Pt{-d.Y, d.X}, 1.3*pl.u
		lines = append(lines, []Pt{{p.X - n.X*h, p.Y - n.Y*h}, {p.X + n.X*h, p.Y + n.Y*h}})
	}
	if len(lines) > 0 {
		g.Add(Path{Style: Style{Class: "line pace-rein-back", Stroke: st.Stroke, Width: 0.45 * pl.u}, Lines: lines})
	}
}

// along returns the drawn place and the drawn direction of travel m metres along the line,
// between samples a and b.
func (pl *plotter) along(a, b int, m float64) (p, d Pt) {
	ss := pl.plan.Samples
	lo, hi := a, b
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if float64(ss[mid].M) <= m {
			lo = mid
		} else {
			hi = mid
		}
	}
	step := float64(ss[hi].M - ss[lo].M)
	f := 0.0
	if step > 0 {
		f = min(max((m-float64(ss[lo].M))/step, 0), 1)
	}
	return lerp(pl.at[lo], pl.at[hi], f), unit(pl.at[lo], pl.at[hi])
}

// bodies marks the horse's body in lateral work: to scale, at its angle to the line, curved
// by its bend, a dot at the poll.
func (pl *plotter) bodies(g *Group, a, b int) {
	ss := pl.plan.Samples
	next := float64(ss[a].M) + bodyEvery/2
	var bars, heads [][]Pt
	for i := a; i <= b; i++ {
		if math.Abs(float64(ss[i].Angle)) < 0.03 || float64(ss[i].M) < next {
			continue
		}
		next = float64(ss[i].M) + bodyEvery
		bar := pl.body(i)
		bars = append(bars, bar)
		heads = append(heads, disc(bar[len(bar)-1], 0.75*pl.u))
	}
	if len(bars) == 0 {
		return
	}
	pl.used.body = true
	ink := paceInk(ss[a].Variety)
	g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: 1.9 * pl.u, Round: true}, Lines: bars},
		Path{Style: Style{Class: "line " + paceClass(ss[a].Variety), Stroke: ink, Width: 0.85 * pl.u, Round: true}, Lines: bars},
		Path{Style: Style{Class: "way " + paceClass(ss[a].Variety), Fill: ink}, Lines: heads, Closed: true})
}

// body is the curved bar of one body mark from tail to poll.
func (pl *plotter) body(i int) []Pt {
	s := pl.plan.Samples[i]
	turn := s.Angle
	if s.Side == rideplan.Right {
		turn = -turn
	}
	d := pl.dir(s.Heading + turn)
	n := Pt{d.Y, -d.X} // left of d on paper, y down
	half := math.Max(bodyLength*pl.k, 3.4*pl.u) / 2
	bow := 0.0
	switch s.Bend {
	case rideplan.Left:
		bow = -0.3 * half
	case rideplan.Right:
		bow = 0.3 * half
	}
	// What stays on the line in work along it stays on it here too, so that no body leaves the boards.
	ahead := float64(s.Pivot) * half / (bodyLength / 2)
	c := Pt{pl.at[i].X - d.X*ahead, pl.at[i].Y - d.Y*ahead}
	out := make([]Pt, 0, 7)
	for j := -3; j <= 3; j++ {
		t := float64(j) / 3
		side := bow * (1 - t*t) // the ribs stand out to the outside of the bend
		out = append(out, Pt{c.X + d.X*half*t + n.X*side, c.Y + d.Y*half*t + n.Y*side})
	}
	return out
}

// turns draws turns on the spot as an arc with an arrow.
func (pl *plotter) turns(g *Group, from, to int) {
	ss := pl.plan.Samples
	for i := from; i < to; {
		j, sum := i, 0.0
		for j < to && float64(ss[j+1].M-ss[i].M) < 0.6 && math.Abs(float64(ss[j+1].Heading.Diff(ss[j].Heading))) > 0.004 {
			sum += float64(ss[j+1].Heading.Diff(ss[j].Heading))
			j++
		}
		if math.Abs(sum) > 0.5 {
			pl.turnSign(g, pl.at[i], ss[i].Heading, sum, ss[i].Variety)
		}
		i = max(j, i+1)
	}
}

func (pl *plotter) turnSign(g *Group, c Pt, from arena.Angle, sum float64, v gait.Variety) {
	pl.used.turn = true
	const n = 16
	r := 2.6 * pl.u
	arc := make([]Pt, n+1)
	for k := range arc {
		d := pl.dir(from + arena.Angle(sum*float64(k)/n))
		arc[k] = Pt{c.X + d.X*r, c.Y + d.Y*r}
	}
	ink := paceInk(v)
	g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: 1.6 * pl.u}, Lines: [][]Pt{arc}},
		Path{Style: Style{Class: "line " + paceClass(v), Stroke: ink, Width: 0.6 * pl.u}, Lines: [][]Pt{arc}},
		Path{Style: Style{Class: "way " + paceClass(v), Fill: ink}, Closed: true,
			Lines: [][]Pt{disc(c, 0.7*pl.u), arrowhead(arc[n], unit(arc[n-2], arc[n]), 2*pl.u, 1.7*pl.u)}})
}

// leads flags the canter lead where it begins or changes, and again and again in
// counter-canter; a change without a break has a bar across the line.
func (pl *plotter) leads(g *Group, m *rideplan.Movement, from, to int) {
	ss := pl.plan.Samples
	prev := rideplan.NoHand
	if from > 0 {
		prev = ss[from-1].Lead
	}
	next := math.Inf(1)
	for i := from; i <= to; i++ {
		lead := ss[i].Lead
		if lead != rideplan.NoHand && (lead != prev || float64(ss[i].M) > next) {
			pl.flag(g, i, lead, prev != rideplan.NoHand && lead != prev)
			next = math.Inf(1)
			if counterAt(m, ss[i].T) {
				next = float64(ss[i].M) + 7
			}
		}
		if lead != rideplan.NoHand && math.IsInf(next, 1) && counterAt(m, ss[i].T) {
			next = float64(ss[i].M) + 7
		}
		prev = lead
	}
}

func counterAt(m *rideplan.Movement, t gait.Seconds) bool {
	for _, f := range m.Figures {
		if f.Kind == terms.CounterCanter && t >= f.StartS && t <= f.EndS {
			return true
		}
	}
	return false
}

func (pl *plotter) flag(g *Group, i int, lead rideplan.Hand, changed bool) {
	pl.used.lead = true
	d := pl.dir(pl.plan.Samples[i].Heading)
	n := Pt{d.Y, -d.X}
	if lead == rideplan.Right {
		n = Pt{-d.Y, d.X}
	}
	u, p := pl.u, pl.at[i]
	base := 0.9 * u
	tri := []Pt{{p.X + n.X*base - d.X*1.1*u, p.Y + n.Y*base - d.Y*1.1*u}, {p.X + n.X*base + d.X*1.1*u, p.Y + n.Y*base + d.Y*1.1*u},
		{p.X + n.X*3.2*u, p.Y + n.Y*3.2*u}}
	g.Add(Path{Style: Style{Class: "way pace-canter", Fill: InkCanter}, Lines: [][]Pt{tri}, Closed: true})
	if changed {
		pl.used.change = true
		g.Add(Path{Style: Style{Class: "line pace-canter", Stroke: InkCanter, Width: 0.6 * u}, Lines: [][]Pt{
			{{p.X - n.X*2.2*u, p.Y - n.Y*2.2*u}, {p.X + n.X*2.2*u, p.Y + n.Y*2.2*u}}}})
	}
}

// halts puts a solid square where the horse stands.
func (pl *plotter) halts(g *Group, from, to int) {
	ss := pl.plan.Samples
	for i := from; i <= to; i++ {
		if ss[i].Variety.PaceOf() != gait.Halt {
			continue
		}
		j := i
		for j < to && ss[j+1].Variety.PaceOf() == gait.Halt {
			j++
		}
		if ss[j].T > ss[i].T {
			pl.used.halt = true
			pl.halted = append(pl.halted, pl.at[i])
			c, h := pl.at[i], 1.5*pl.u
			g.Add(Path{Style: Style{Class: "solid", Fill: InkMain, Stroke: Paper, Width: 0.5 * pl.u}, Closed: true,
				Lines: [][]Pt{{{c.X - h, c.Y - h}, {c.X + h, c.Y - h}, {c.X + h, c.Y + h}, {c.X - h, c.Y + h}}}})
		}
		i = j
	}
}

// piaffes put a diamond with two beats in it where the horse trots on the spot.
func (pl *plotter) piaffes(g *Group, from, to int) {
	ss := pl.plan.Samples
	for i := from; i < to; i++ {
		if ss[i].Variety != gait.Piaffe {
			continue
		}
		j := i
		for j < to && ss[j+1].Variety == gait.Piaffe {
			j++
		}
		if ss[j].T > ss[i].T {
			pl.used.piaffe = true
			g.Add(piaffeSign(lerp(pl.at[i], pl.at[j], 0.5), pl.u)...)
		}
		i = j
	}
}

func piaffeSign(c Pt, u float64) []Item {
	h := 2.4 * u
	return []Item{
		Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.55 * u}, Closed: true,
			Lines: [][]Pt{{{c.X - h, c.Y}, {c.X, c.Y - h}, {c.X + h, c.Y}, {c.X, c.Y + h}}}},
		Path{Style: Style{Class: "ink", Fill: InkMain}, Closed: true,
			Lines: [][]Pt{disc(Pt{c.X - 0.75*u, c.Y}, 0.45*u), disc(Pt{c.X + 0.75*u, c.Y}, 0.45*u)}},
	}
}

// arrows show the way of riding.
func (pl *plotter) arrows(g *Group, from, to int) {
	ss := pl.plan.Samples
	m0, m1 := float64(ss[from].M), float64(ss[to].M)
	n := max(1, int(math.Round((m1-m0)/wayEvery)))
	if m1-m0 < 4 {
		return
	}
	for k := 0; k < n; k++ {
		m := m0 + (m1-m0)*(float64(k)+0.55)/float64(n)
		p, d := pl.along(from, to, m)
		s := pl.plan.SampleAtM(arena.Metres(m))
		v := s.Variety
		if v.PaceOf() == gait.Halt || pl.nearHalt(p) {
			continue
		}
		head := arrowhead(p, d, 3.3*pl.u, 2.7*pl.u)
		g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: 0.9 * pl.u}, Lines: [][]Pt{head}, Closed: true},
			Path{Style: Style{Class: "way " + paceClass(v), Fill: paceInk(v)}, Lines: [][]Pt{head}, Closed: true})
	}
}

// nearHalt reports whether a sign at p would hide a halt.
func (pl *plotter) nearHalt(p Pt) bool {
	for _, h := range pl.halted {
		if dist(p, h) < 3.4*pl.u {
			return true
		}
	}
	return false
}

// startSign is an open triangle at the beginning of the line, endSign two rings at its end.
func (pl *plotter) startSign(g *Group) {
	p, d := pl.at[0], pl.dir(pl.plan.Samples[0].Heading)
	tri := arrowhead(Pt{p.X + d.X*1.9*pl.u, p.Y + d.Y*1.9*pl.u}, d, 3.6*pl.u, 3.6*pl.u)
	g.Add(Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.6 * pl.u}, Lines: [][]Pt{tri}, Closed: true})
}

func (pl *plotter) endSign(g *Group) {
	p := pl.at[len(pl.at)-1]
	g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.45 * pl.u}, Closed: true, Lines: [][]Pt{disc(p, 2.3*pl.u), disc(p, 3.1*pl.u)}})
}

// number puts the movement's number where it is least in the way, near the dot at which the
// movement begins, and ties it to the dot with a hair.
func (pl *plotter) number(g *Group, m *rideplan.Movement, from, to int) {
	best := pl.numberPlace(from, to)
	pl.tags = append(pl.tags, best)
	r := tagRadius * pl.u
	words := fmt.Sprint(m.Number)
	size := 3.3 * pl.u
	if len(words) > 2 {
		size = 2.4 * pl.u
	}
	start := pl.at[from]
	tag := &Group{Class: "number", Title: fmt.Sprintf("Movement %d begins at the dot", m.Number), Data: [][2]string{{"movement", words}}}
	if d := dist(start, best); d > r {
		tag.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.25 * pl.u}, Lines: [][]Pt{{start, lerp(best, start, r/d)}}})
	}
	if from > 0 { // where the line begins there is a sign already
		tag.Add(Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.4 * pl.u}, Lines: [][]Pt{disc(start, 0.8*pl.u)}, Closed: true})
	}
	tag.Add(Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.35 * pl.u}, Lines: [][]Pt{disc(best, r)}, Closed: true},
		Text{At: Pt{best.X, best.Y + size*0.36}, Size: size, Anchor: Middle, Bold: true, Class: "ink", Ink: InkMain, Words: words})
	g.Add(tag)
}

// tagRadius is the size of a number's circle in units of u mm.
const tagRadius = 2.5

// numberPlace looks around the first metres of a movement, on both sides and at two distances.
func (pl *plotter) numberPlace(from, to int) Pt {
	ss := pl.plan.Samples
	m0, m1 := float64(ss[from].M), float64(ss[to].M)
	best, cost := pl.at[from], math.Inf(1)
	start, r := pl.at[from], tagRadius*pl.u
	for _, ahead := range []float64{1, 3, 5.5, 8, 11} {
		p, d := pl.along(from, to, m0+min(ahead, (m1-m0)*0.8))
		for _, side := range []float64{1, -1} {
			for _, off := range []float64{3.7, 5.4, 7.6} {
				c := Pt{p.X - d.Y*side*off*pl.u, p.Y + d.X*side*off*pl.u}
				if v := pl.crowding(c, r) + 0.05*dist(c, start)/pl.u; v < cost {
					best, cost = c, v
				}
			}
		}
	}
	return best
}

// crowding says how much is already where a number would go: numbers, lines, the boards.
func (pl *plotter) crowding(c Pt, r float64) float64 {
	v := 0.0
	for _, t := range pl.tags {
		if d := dist(c, t); d < 2.3*r {
			v += 8 * (2.3*r - d) / r
		}
	}
	v += 0.25 * float64(min(pl.thin.within(c, r), 400))
	for _, p := range pl.letters {
		if dist(c, p) < r+1.6*pl.u {
			v += 1.5
		}
	}
	lo, hi := pl.corners()
	if c.X < lo.X+r || c.X > hi.X-r || c.Y < lo.Y+r || c.Y > hi.Y-r {
		v += 4
	}
	return v
}
