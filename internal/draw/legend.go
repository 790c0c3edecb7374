package draw

import (
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// entry is one line of a legend: a small drawing and its words.
type entry struct {
	words string
	draw  func(g *Group, x, y, u float64) // in a box 12u wide, middle line at y
}

// legend adds what explains the signs used, below y, and returns the new bottom.
func (pl *plotter) legend(g *Group, y, width float64) float64 {
	lg := &Group{Class: "legend", Title: "Legend"}
	words := &Group{}
	end := flowLegend(words, pl.entries(), y, width, pl.u)
	if pl.o.Ridden != nil { // what was ridden outside the arena does not run through the legend
		lg.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, y, width, end-y)}, Closed: true})
	}
	lg.Items = append(lg.Items, words.Items...)
	g.Add(lg)
	return end
}

// StagesLegend explains the signs that the pictures of these stages use; u is the size of its
// words, 1 for those of a drawing 90 mm wide.
func StagesLegend(p *rideplan.Plan, stages []Stage, width, u float64) *Scene {
	s := &Scene{W: width, Title: "Legend"}
	if p.Board == nil {
		return s
	}
	all := newPlotter(newFrame(p.Board, 0, 0, width), &rideplan.Plan{}, Options{})
	for i := range stages {
		pl := newPlotter(newFrame(p.Board, 0, 0, width), p, Options{Stage: &stages[i]})
		pl.into(&Group{})
		all.used.join(pl.used)
	}
	s.H = flowLegend(&s.Group, all.entries(), 0, width, u)
	return s
}

func (s *usedSigns) join(o usedSigns) {
	for _, v := range o.varieties {
		if !contains(s.varieties, v) {
			s.varieties = append(s.varieties, v)
		}
	}
	s.body, s.lead, s.halt = s.body || o.body, s.lead || o.lead, s.halt || o.halt
	s.turn, s.change, s.piaffe, s.laneing = s.turn || o.turn, s.change || o.change, s.piaffe || o.piaffe, s.laneing || o.laneing
}

// flowLegend sets entries in as many even columns as fit.
func flowLegend(g *Group, es []entry, y, width, u float64) float64 {
	const box, gap, rowH = 12.0, 2.0, 5.2
	size, widest := 2.7*u, 0.0
	for _, e := range es {
		widest = max(widest, (box+1.5+gap)*u+TextWidth(e.words, size, false)*1.08)
	}
	cols := max(1, int((width-2*u)/max(widest, 1)))
	rows := (len(es) + cols - 1) / cols
	y += 1.5 * u
	for i, e := range es {
		x, ey := 2*u+float64(i/max(rows, 1))*(width-2*u)/float64(cols), y+float64(i%max(rows, 1))*rowH*u
		e.draw(g, x, ey, u)
		g.Add(Text{At: Pt{x + (box+1.5)*u, ey + size*0.36}, Size: size, Class: "ink", Ink: InkMain, Words: e.words})
	}
	return y + float64(rows)*rowH*u - 1*u
}

func (pl *plotter) entries() []entry {
	var es []entry
	for _, v := range gait.Varieties() {
		if contains(pl.used.varieties, v) && v.PaceOf() != gait.Halt && v != gait.Piaffe {
			es = append(es, varietyEntry(v))
		}
	}
	if pl.used.body {
		es = append(es, entry{"body, dot at the poll", bodyEntry})
	}
	if pl.used.lead {
		es = append(es, entry{"canter lead, its side", flagEntry(false)})
	}
	if pl.used.change {
		es = append(es, entry{"change of lead", flagEntry(true)})
	}
	if pl.used.halt {
		es = append(es, entry{"halt", squareEntry})
	}
	if pl.used.turn {
		es = append(es, entry{"turn on the spot", turnEntry})
	}
	if pl.used.piaffe {
		es = append(es, entry{"piaffe, on the spot", piaffeEntry})
	}
	if pl.o.Ridden != nil {
		es = append(es, entry{pl.o.Ridden.Label + ", with doubt", riddenEntry})
	}
	if pl.used.laneing {
		es = append(es, entry{"ridden again, beside", lanesEntry})
	}
	return es
}

func contains(vs []gait.Variety, v gait.Variety) bool {
	for _, x := range vs {
		if x == v {
			return true
		}
	}
	return false
}

func varietyEntry(v gait.Variety) entry {
	return entry{string(v), func(g *Group, x, y, u float64) {
		st := lineStyle(v, u)
		g.Add(Path{Style: st, Lines: [][]Pt{{{x, y}, {x + 12*u, y}}}})
		if v == gait.ReinBackVar {
			var bars [][]Pt
			for i := 0; i < 5; i++ {
				bx := x + (1.5+2.4*float64(i))*u
				bars = append(bars, []Pt{{bx, y - 1.3*u}, {bx, y + 1.3*u}})
			}
			g.Add(Path{Style: Style{Class: st.Class, Stroke: st.Stroke, Width: 0.45 * u}, Lines: bars})
		}
	}}
}

func bodyEntry(g *Group, x, y, u float64) {
	g.Add(Path{Style: lineStyle(gait.CollectedTrot, u), Lines: [][]Pt{{{x, y}, {x + 12*u, y}}}})
	for i := 0; i < 2; i++ {
		cx := x + (3.2+5.4*float64(i))*u
		var bar []Pt
		for j := -3; j <= 3; j++ {
			t := float64(j) / 3
			bar = append(bar, Pt{cx + (2.4*t-0.5*(1-t*t))*u, y + (-1.5*t-0.7*(1-t*t))*u})
		}
		g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: 1.9 * u, Round: true}, Lines: [][]Pt{bar}},
			Path{Style: Style{Class: "line pace-trot", Stroke: InkTrot, Width: 0.85 * u, Round: true}, Lines: [][]Pt{bar}},
			Path{Style: Style{Class: "way pace-trot", Fill: InkTrot}, Lines: [][]Pt{disc(bar[6], 0.75*u)}, Closed: true})
	}
}

func flagEntry(change bool) func(g *Group, x, y, u float64) {
	return func(g *Group, x, y, u float64) {
		g.Add(Path{Style: lineStyle(gait.WorkingCant, u), Lines: [][]Pt{{{x, y}, {x + 12*u, y}}}})
		c := x + 7*u
		g.Add(Path{Style: Style{Class: "way pace-canter", Fill: InkCanter}, Closed: true,
			Lines: [][]Pt{{{c - 1.1*u, y - 0.9*u}, {c + 1.1*u, y - 0.9*u}, {c, y - 2.6*u}}}})
		if change {
			g.Add(Path{Style: Style{Class: "line pace-canter", Stroke: InkCanter, Width: 0.6 * u}, Lines: [][]Pt{{{c, y - 2.2*u}, {c, y + 2.2*u}}}})
		}
	}
}

func squareEntry(g *Group, x, y, u float64) {
	c, h := x+9*u, 1.5*u
	g.Add(Path{Style: Style{Class: "solid", Fill: InkMain}, Closed: true, Lines: [][]Pt{{{c - h, y - h}, {c + h, y - h}, {c + h, y + h}, {c - h, y + h}}}})
}

func turnEntry(g *Group, x, y, u float64) {
	c := Pt{x + 9*u, y + u}
	var arc []Pt
	for k := 0; k <= 12; k++ {
		arc = append(arc, polar(c, 2.4*u, -float64(k)*15))
	}
	g.Add(Path{Style: Style{Class: "line pace-walk", Stroke: InkWalk, Width: 0.6 * u}, Lines: [][]Pt{arc}},
		Path{Style: Style{Class: "way pace-walk", Fill: InkWalk}, Closed: true,
			Lines: [][]Pt{disc(c, 0.7*u), arrowhead(arc[12], unit(arc[10], arc[12]), 2*u, 1.7*u)}})
}

func piaffeEntry(g *Group, x, y, u float64) { g.Add(piaffeSign(Pt{x + 9*u, y}, u)...) }

func riddenEntry(g *Group, x, y, u float64) {
	g.Add(Path{Style: Style{Class: "doubt", Fill: InkDoubt}, Closed: true, Lines: [][]Pt{{{x, y - 1.4*u}, {x + 12*u, y - 1.4*u}, {x + 12*u, y + 1.4*u}, {x, y + 1.4*u}}}},
		Path{Style: Style{Class: "ridden", Stroke: InkRidden, Width: 0.55 * u}, Lines: [][]Pt{{{x, y}, {x + 12*u, y}}}})
}

func lanesEntry(g *Group, x, y, u float64) {
	st := lineStyle(gait.WorkingTrot, u)
	g.Add(Path{Style: st, Lines: [][]Pt{{{x, y - 1.1*u}, {x + 12*u, y - 1.1*u}}, {{x, y + 1.1*u}, {x + 12*u, y + 1.1*u}}}})
}

// Legend draws every sign of the look with its words: what docs/LOOK.md shows.
func Legend(width float64) *Scene {
	if width <= 0 {
		width = 150
	}
	s := &Scene{W: width, Title: "Legend of the drawings"}
	paper := &Group{}
	s.Add(paper)
	g := &Group{Class: "legend"}
	s.Add(g)
	s.H = flowLegend(g, allEntries(), 3, width, 1)
	paper.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, 0, s.W, s.H)}, Closed: true})
	return s
}

func markEntry(kind string) func(g *Group, x, y, u float64) {
	return func(g *Group, x, y, u float64) {
		g.Add(markSign(kind, Pt{x + 9*u, y}, u))
	}
}

// allEntries are all signs there are.
func allEntries() []entry {
	var es []entry
	for _, v := range gait.Varieties() {
		if v.PaceOf() != gait.Halt && v != gait.Piaffe {
			es = append(es, varietyEntry(v))
		}
	}
	return append(es, entry{"body, dot at the poll", bodyEntry}, entry{"canter lead, its side", flagEntry(false)}, entry{"change of lead", flagEntry(true)},
		entry{"halt", squareEntry}, entry{"turn on the spot", turnEntry}, entry{"piaffe, on the spot", piaffeEntry}, entry{"ridden, with doubt", riddenEntry}, entry{"ridden again, beside", lanesEntry},
		entry{"good at this place", markEntry("good")}, entry{"fault at this place", markEntry("fault")}, entry{"note", markEntry("note")})
}
