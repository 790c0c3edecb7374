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
	c := pl.at[i]
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
			c, h := pl.at[i], 1.5*pl.u
			g.Add(Path{Style: Style{Class: "solid", Fill: InkMain, Stroke: Paper, Width: 0.5 * pl.u}, Closed: true,
				Lines: [][]Pt{{{c.X - h, c.Y - h}, {c.X + h, c.Y - h}, {c.X + h, c.Y + h}, {c.X - h, c.Y + h}}}})
		}
		i = j
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
		if v.PaceOf() == gait.Halt {
			continue
		}
		head := arrowhead(p, d, 3.3*pl.u, 2.7*pl.u)
		g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: 0.9 * pl.u}, Lines: [][]Pt{head}, Closed: true},
			Path{Style: Style{Class: "way " + paceClass(v), Fill: paceInk(v)}, Lines: [][]Pt{head}, Closed: true})
	}
}

// startSign is an open triangle at the beginning of the line, endSign two rings at its end.
func (pl *plotter) startSign(g *Group) {
	p, d := pl.at[0], pl.dir(pl.plan.Samples[0].Heading)
	tri := arrowhead(Pt{p.X + d.X*1.9*pl.u, p.Y + d.Y*1.9*pl.u}, d, 3.6*pl.u, 3.6*pl.u)
	g.Add(Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.6 * pl.u}, Lines: [][]Pt{tri}, Closed: true})
}

func (pl *plotter) endSign(g *Group) {
	p := pl.at[len(pl.at)-1]
	g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.45 * pl.u}, Closed: true, Lines: [][]Pt{disc(p, 3*pl.u), disc(p, 4*pl.u)}})
}

// number puts the movement's number beside the beginning of its line, on the side and at the
// distance where it is least in the way of other numbers.
func (pl *plotter) number(g *Group, m *rideplan.Movement, from, to int) {
	ss := pl.plan.Samples
	m0, m1 := float64(ss[from].M), float64(ss[to].M)
	best, cost := Pt{}, math.Inf(1)
	r := 2.5 * pl.u
	for k := 0; k < 5; k++ {
		p, d := pl.along(from, to, m0+(m1-m0)*(0.1+0.2*float64(k)))
		for _, side := range []float64{1, -1} {
			c := Pt{p.X - d.Y*side*3.7*pl.u, p.Y + d.X*side*3.7*pl.u}
			if v := pl.crowding(c, r) + 0.15*float64(k); v < cost {
				best, cost = c, v
			}
		}
	}
	pl.tags = append(pl.tags, best)
	words := fmt.Sprint(m.Number)
	size := 3.3 * pl.u
	if len(words) > 2 {
		size = 2.4 * pl.u
	}
	tag := &Group{Class: "number", Title: fmt.Sprintf("Movement %d begins near here", m.Number), Data: [][2]string{{"movement", words}}}
	tag.Add(Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.35 * pl.u}, Lines: [][]Pt{disc(best, r)}, Closed: true},
		Text{At: Pt{best.X, best.Y + size*0.36}, Size: size, Anchor: Middle, Bold: true, Class: "ink", Ink: InkMain, Words: words})
	g.Add(tag)
}

// crowding says how much is already where a number would go: numbers, lines, the boards.
func (pl *plotter) crowding(c Pt, r float64) float64 {
	v := 0.0
	for _, t := range pl.tags {
		if d := dist(c, t); d < 2.3*r {
			v += 8 * (2.3*r - d) / r
		}
	}
	for i := 0; i < len(pl.thin); i += 1 + len(pl.thin)/4000 {
		p := pl.thin[i]
		if dx, dy := c.X-p.X, c.Y-p.Y; dx*dx+dy*dy < r*r {
			v += 0.25
		}
	}
	for _, name := range pl.board.Letters() {
		p, _ := pl.board.Letter(name)
		if dist(c, pl.pt(p)) < r+1.6*pl.u {
			v += 1.5
		}
	}
	lo, hi := pl.pt(arena.Point{X: -float64(pl.board.Width) / 2, Y: float64(pl.board.Length)}), pl.pt(arena.Point{X: float64(pl.board.Width) / 2})
	if c.X < lo.X+r || c.X > hi.X-r || c.Y < lo.Y+r || c.Y > hi.Y-r {
		v += 4
	}
	return v
}
