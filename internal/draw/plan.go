package draw

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// Options say what to draw of a plan. The zero value is the whole test, 90 mm wide.
type Options struct {
	Movement  int     // number of the one movement to draw, 0 for all
	Stage     *Stage  // only these movements, each with its number
	Highlight int     // number of a movement to light up in the whole test
	Width     float64 // mm; 0: 90
	Title     string  // above the arena; "" for none
	Legend    bool    // below the arena, only the signs that are used
	Lying     bool    // the arena on its side, A at the left, as seen from B: for wide room on paper
	NoNumbers bool    // leave the movements' numbers out
	NoLanes   bool    // draw repeated lines on top of each other, where they really are
	Mono      bool    // black, white and greys
	Ridden    *Overlay
	Marks     []Mark
}

// Plan draws the line of a plan in its arena. A plan without a line (a sheet that could not
// be read) gives the empty arena.
func Plan(p *rideplan.Plan, o Options) *Scene {
	if o.Width <= 0 {
		o.Width = 90
	}
	s := &Scene{W: o.Width, Title: planTitle(p, o), Desc: planDesc(p, o)}
	board := p.Board
	if board == nil {
		board = arena.Standard60
	}
	top := 0.0
	u := signSize(o.Width)
	paper := &Group{}
	s.Add(paper)
	for _, line := range Wrap(o.Title, 4.6*u, o.Width-4*u, true) {
		top += 5.6 * u
		s.Add(Text{At: Pt{2 * u, top}, Size: 4.6 * u, Bold: true, Class: "ink", Ink: InkMain, Words: line})
	}
	f := newFrame(board, 0, top, o.Width)
	if o.Lying {
		f = newLyingFrame(board, 0, top, o.Width)
	}
	s.Data = f.data()
	s.H = top + f.height()
	pl := newPlotter(f, p, o)
	pl.into(&s.Group)
	if o.Legend {
		s.H = pl.legend(&s.Group, s.H, o.Width)
	}
	s.H = math.Ceil(s.H)
	paper.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{{{0, 0}, {s.W, 0}, {s.W, s.H}, {0, s.H}}}, Closed: true})
	if o.Mono {
		return s.Mono()
	}
	return s
}

func planTitle(p *rideplan.Plan, o Options) string {
	name := p.Name
	if name == "" {
		name = "Sheet"
	}
	switch {
	case o.Movement != 0:
		return fmt.Sprintf("%s, movement %d", name, o.Movement)
	case o.Stage != nil:
		return name + ", " + o.Stage.Words(p)
	}
	return name + ", the whole test"
}

// shows reports whether movement number n, the i-th of the plan, is drawn.
func (o *Options) shows(i, n int) bool {
	if o.Stage != nil {
		return i >= o.Stage.First && i <= o.Stage.Last
	}
	return o.Movement == 0 || n == o.Movement
}

func planDesc(p *rideplan.Plan, o Options) string {
	var b strings.Builder
	for i := range p.Movements {
		m := &p.Movements[i]
		if o.shows(i, m.Number) {
			fmt.Fprintf(&b, "%d: %s. ", m.Number, strings.TrimSuffix(m.Reading, "."))
		}
	}
	if o.Ridden != nil {
		b.WriteString("The ridden line is laid over the planned one.")
	}
	return strings.TrimSpace(b.String())
}

// plotter draws one plan into one frame.
type plotter struct {
	frame
	plan *rideplan.Plan
	o    Options
	at   []Pt  // where each sample is drawn
	thin *dots // the same, about one a metre
	used usedSigns
	tags []Pt // places taken by numbers

	signs   []Pt   // places of the marks' signs
	said    []area // places of the marks' words
	halted  []Pt   // places of halts
	letters []Pt   // places of the letters of the arena
}

// usedSigns are what the legend has to explain.
type usedSigns struct {
	varieties                                       []gait.Variety
	body, lead, halt, turn, change, piaffe, laneing bool
}

func newPlotter(f frame, p *rideplan.Plan, o Options) *plotter {
	pl := &plotter{frame: f, plan: p, o: o, at: make([]Pt, len(p.Samples))}
	for _, name := range f.board.Letters() {
		p, _ := f.board.Letter(name)
		pl.letters = append(pl.letters, f.pt(p))
	}
	moves := pl.lanes()
	first, last := pl.drawn()
	_, end := f.corners()
	pl.thin = newDots(end.X, end.Y, tagRadius*f.u)
	var thinned Pt
	for i, s := range p.Samples {
		q := s.Point
		if moves != nil {
			q = q.Add(moves[i])
			pl.used.laneing = pl.used.laneing || moves[i].Norm() > 0.3
		}
		pl.at[i] = f.pt(q)
		if i < first || i > last {
			continue
		}
		if i == first || dist(thinned, pl.at[i]) > 0.8*f.k {
			thinned = pl.at[i]
			pl.thin.add(thinned)
		}
	}
	return pl
}

// lanes are the moves of the samples, nil where no line is moved.
func (pl *plotter) lanes() []arena.Point {
	p, o := pl.plan, pl.o
	if o.Movement != 0 || o.Ridden != nil || o.NoLanes || len(p.Samples) < 2 || p.Board == nil {
		return nil
	}
	if o.Stage == nil {
		return lanes(p.Samples, p.Board)
	}
	moves := make([]arena.Point, len(p.Samples))
	if from, to := pl.drawn(); from < to {
		copy(moves[from:], lanes(p.Samples[from:to+1], p.Board))
	}
	return moves
}

// drawn are the first and the last sample that are drawn.
func (pl *plotter) drawn() (from, to int) {
	if pl.o.Stage == nil {
		return 0, len(pl.plan.Samples) - 1
	}
	from, _ = pl.indexes(pl.plan.Movements[pl.o.Stage.First].Span)
	_, to = pl.indexes(pl.plan.Movements[pl.o.Stage.Last].Span)
	return from, to
}

// into adds the drawing to g, lowest layer first.
func (pl *plotter) into(g *Group) {
	glow := &Group{Class: "glows"}
	lines := &Group{Class: "plan"}
	signs := &Group{Class: "signs"}
	tags := &Group{Class: "tags"}
	for i := range pl.plan.Movements {
		if pl.o.shows(i, pl.plan.Movements[i].Number) {
			pl.movement(i, glow, lines, signs, tags)
		}
	}
	if pl.o.Ridden != nil {
		g.Add(pl.drawDoubt(pl.o.Ridden, pl.o.Movement))
	}
	g.Add(glow, pl.drawBoard(), lines)
	if pl.o.Ridden != nil {
		g.Add(pl.drawRidden(pl.o.Ridden, pl.o.Movement))
	}
	g.Add(signs, tags)
	marks := &Group{Class: "marks"}
	var shown []Mark
	for _, m := range pl.o.Marks {
		if pl.o.Movement == 0 || m.Movement == 0 || m.Movement == pl.o.Movement {
			shown = append(shown, m)
			pl.signs = append(pl.signs, pl.pt(m.Point))
		}
	}
	for _, m := range shown {
		marks.Add(pl.drawMark(m))
	}
	g.Add(marks)
}

func (pl *plotter) movement(i int, glow, lines, signs, tags *Group) {
	m := &pl.plan.Movements[i]
	from, to := pl.indexes(m.Span)
	if from >= to {
		return
	}
	number := [][2]string{{"movement", fmt.Sprint(m.Number)}}
	if pl.o.Highlight == m.Number {
		glow.Add(Path{Style: Style{Class: "glow", Stroke: InkGlow, Width: 3.4 * pl.u, Round: true}, Lines: [][]Pt{simplify(pl.at[from:to+1], 0.03)}})
	}
	if from > 0 && (pl.o.Movement != 0 || pl.o.Stage != nil && i == pl.o.Stage.First) {
		lines.Add(pl.leadIn(from))
	}
	g := &Group{Class: "movement", Title: fmt.Sprintf("Movement %d", m.Number), Desc: m.Reading, Data: number}
	lines.Add(g)
	sg := &Group{Class: "movement", Data: number}
	signs.Add(sg)
	for a := from; a < to; {
		b := pl.runEnd(a, to)
		pl.run(g, sg, a, b)
		a = b
	}
	pl.turns(sg, from, to)
	pl.leads(sg, m, from, to)
	pl.halts(sg, from, to)
	pl.piaffes(sg, from, to)
	pl.arrows(sg, from, to)
	if from == 0 {
		pl.startSign(sg)
	}
	if to == len(pl.at)-1 && pl.o.Movement == 0 {
		pl.endSign(sg)
	}
	if !pl.o.NoNumbers && pl.o.Movement == 0 {
		pl.number(tags, m, from, to)
	}
}

// indexes returns the first and last sample of a span; both ends are shared with the
// neighbours so that the line has no holes.
func (pl *plotter) indexes(sp rideplan.Span) (from, to int) {
	const eps = 1e-6
	ss := pl.plan.Samples
	from = sort.Search(len(ss), func(i int) bool { return float64(ss[i].T) >= float64(sp.StartS)-eps })
	to = sort.Search(len(ss), func(i int) bool { return float64(ss[i].T) > float64(sp.EndS)+eps }) - 1
	if from >= len(ss) || to < from {
		return 0, 0
	}
	if from > 0 && float64(ss[from].T-sp.StartS) > eps {
		from--
	}
	return from, to
}

// runEnd is the end of the piece of one pace that starts at sample a.
func (pl *plotter) runEnd(a, to int) int {
	ss := pl.plan.Samples
	v := ss[a].Variety
	if a+1 <= to && ss[a+1].M > ss[a].M && ss[a].Variety.PaceOf() == gait.Halt {
		v = ss[a+1].Variety
	}
	b := a + 1
	for b < to && ss[b].Variety == v {
		b++
	}
	return b
}

// run draws a piece of line of one pace with its body marks.
func (pl *plotter) run(g, signs *Group, a, b int) {
	ss := pl.plan.Samples
	v := ss[a].Variety
	if ss[b].M > ss[a].M && v.PaceOf() == gait.Halt {
		v = ss[a+1].Variety
	}
	if float64(ss[b].M-ss[a].M) < 1e-6 {
		return
	}
	pl.use(v)
	line := simplify(pl.at[a:b+1], 0.03)
	st := lineStyle(v, pl.u)
	if v == gait.ReinBackVar {
		g = signs // short and easily covered: above all lines
	}
	g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: st.Width + 1.3*pl.u}, Lines: [][]Pt{line}},
		Path{Style: st, Lines: [][]Pt{line}})
	if v == gait.ReinBackVar {
		pl.steps(g, st, a, b)
	}
	pl.bodies(signs, a, b)
}

func (pl *plotter) use(v gait.Variety) {
	for _, u := range pl.used.varieties {
		if u == v {
			return
		}
	}
	pl.used.varieties = append(pl.used.varieties, v)
}

// leadIn shows where the movement comes from.
func (pl *plotter) leadIn(from int) Item {
	ss := pl.plan.Samples
	a := from
	for a > 0 && float64(ss[from].M-ss[a].M) < 9 {
		a--
	}
	return Path{Style: Style{Class: "hair", Stroke: InkFaint, Width: 0.6 * pl.u}, Lines: [][]Pt{simplify(pl.at[a:from+1], 0.03)}}
}
