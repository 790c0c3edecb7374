package draw

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// StripOptions say how to draw a strip over the time of the test. The zero value is 180 mm
// by 42 mm, all movements.
type StripOptions struct {
	Width, Height float64 // mm
	Highlight     int     // number of a movement to light up
	Mono          bool
	Title         string
	Ride          *RideClock // nil: the plan's own clock
}

// RideClock lays a strip over the seconds of a ride in place of the plan's: From and To are its
// first and last second, Bands the movements as ridden, Paces what was asked where they were.
type RideClock struct {
	From, To float64
	Bands    []Band
	Paces    []PaceRun
}

// Band is a movement on a strip's clock, in seconds.
type Band struct {
	Number     int
	Start, End float64
}

// PaceRun is a stretch of one variety on a strip's clock, in seconds.
type PaceRun struct {
	Variety  gait.Variety
	From, To float64
}

// planClock is the plan's own clock as bands and paces.
func planClock(p *rideplan.Plan) *RideClock {
	c := &RideClock{To: float64(p.Total)}
	for i := range p.Movements {
		m := &p.Movements[i]
		c.Bands = append(c.Bands, Band{m.Number, float64(m.StartS), float64(m.EndS)})
	}
	for a := 0; a < len(p.Samples)-1; {
		b := a + 1
		for b < len(p.Samples)-1 && p.Samples[b].Variety == p.Samples[a].Variety {
			b++
		}
		c.Paces = append(c.Paces, PaceRun{p.Samples[a].Variety, float64(p.Samples[a].T), float64(p.Samples[b].T)})
		a = b
	}
	return c
}

// timeAxis puts seconds on a strip.
type timeAxis struct {
	t0, t1 float64 // seconds
	x0, x1 float64 // mm
}

func (a timeAxis) x(t float64) float64 {
	if a.t1 <= a.t0 {
		return a.x0
	}
	return a.x0 + (a.x1-a.x0)*min(max((t-a.t0)/(a.t1-a.t0), 0), 1)
}

// data lets a page turn a place on the strip into a second: t = t0 + (x - x0)/(x1 - x0) (t1 - t0).
func (a timeAxis) data() [][2]string {
	return [][2]string{{"t0", num(a.t0)}, {"t1", num(a.t1)}, {"x0", num(a.x0)}, {"x1", num(a.x1)}}
}

// strip is the common frame: bands of movements above, room for a graph, pace and time below.
type strip struct {
	s      *Scene
	ax     timeAxis
	over   *RideClock // what runs along it
	top    float64    // of the graph
	bottom float64
	rows   []int // for each movement the row its number stands in, 0 nearest the graph, -1 for none
	upper  float64
}

// numberSize is the size of a movement's number on a strip, numberRow the height of a row of them.
const (
	numberSize = 3.0
	numberRow  = 3.6
)

func newStrip(p *rideplan.Plan, o StripOptions, title, desc string) *strip {
	if o.Width <= 0 {
		o.Width = 180
	}
	if o.Height <= 0 {
		o.Height = 42
	}
	s := &Scene{W: o.Width, H: o.Height, Title: title, Desc: desc}
	over := o.Ride
	if over == nil {
		over = planClock(p)
	}
	st := &strip{s: s, over: over, ax: timeAxis{t0: over.From, t1: over.To, x0: 7, x1: o.Width - 3}, top: 7, bottom: o.Height - 10}
	s.Data = st.ax.data()
	if o.Ride != nil {
		s.Data = append(s.Data, [2]string{"clock", "ride"})
	}
	s.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, 0, o.Width, o.Height)}, Closed: true})
	if o.Title != "" {
		s.Add(Text{At: Pt{st.ax.x0, 4}, Size: 3.6, Bold: true, Class: "ink", Ink: InkMain, Words: o.Title})
		st.top += 5
	}
	st.upper = st.top - 5
	st.numberRows()
	return st
}

// numberRows finds a row for every movement's number: where the bands are narrow a second row
// above the first takes what would run into its neighbour, and what finds no room in either is
// left to its tick.
func (st *strip) numberRows() {
	labels := make([]label, len(st.over.Bands))
	for i, m := range st.over.Bands {
		labels[i] = label{x: (st.ax.x(m.Start) + st.ax.x(m.End)) / 2, w: TextWidth(fmt.Sprint(m.Number), numberSize, true)}
	}
	st.rows = placeLabels(labels, 2)
	if slices.Contains(st.rows, 1) {
		st.top += numberRow
	}
}

// label is a word that wants to stand centred at x.
type label struct{ x, w float64 }

// placeLabels gives each label, in order, the first row in which it touches none of those
// placed before it; -1 where there is none.
func placeLabels(ls []label, rows int) []int {
	const gap = 0.9
	out := make([]int, len(ls))
	for i, l := range ls {
		out[i] = -1
		for r := 0; r < rows && out[i] < 0; r++ {
			free := true
			for j := range i {
				free = free && (out[j] != r || math.Abs(ls[j].x-l.x) >= (ls[j].w+l.w)/2+gap)
			}
			if free {
				out[i] = r
			}
		}
	}
	return out
}

// frame draws the bands of the movements with their numbers, the pace and the clock.
func (st *strip) frame(highlight int) {
	g := &Group{Class: "bands", Title: "Movements over time"}
	numbers := &Group{Class: "numbers"}
	for i, m := range st.over.Bands {
		x0, x1 := st.ax.x(m.Start), st.ax.x(m.End)
		band := &Group{Class: "band", Title: fmt.Sprintf("Movement %d, %s to %s", m.Number, Clock(m.Start), Clock(m.End)),
			Data: [][2]string{{"movement", fmt.Sprint(m.Number)}, {"start", num(m.Start)}, {"end", num(m.End)}}}
		style := Style{Class: "paper", Fill: Paper}
		if i%2 == 1 {
			style = Style{Class: "shade", Fill: InkShade}
		}
		if m.Number == highlight {
			style = Style{Class: "glow-fill", Fill: InkGlow}
		}
		band.Add(Path{Style: style, Lines: [][]Pt{box(x0, st.upper, x1-x0, st.bottom-st.upper)}, Closed: true})
		g.Add(band)
		st.number(numbers, fmt.Sprint(m.Number), (x0+x1)/2, st.rows[i])
	}
	st.s.Add(g, numbers)
}

// number writes a movement's number in its row; in the upper row, or where there is no room, a
// tick points to its band.
func (st *strip) number(g *Group, words string, x float64, row int) {
	foot := st.top - 1.6
	if row != 0 {
		g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.2}, Lines: [][]Pt{{{x, foot - 1}, {x, foot + 0.6}}}})
	}
	if row >= 0 {
		g.Add(Text{At: Pt{x, foot - numberRow*float64(row)}, Size: numberSize, Anchor: Middle, Bold: true, Class: "ink", Ink: InkMain, Words: words})
	}
}

// clock draws the rhythm of the paces and the minutes below the graph.
func (st *strip) clock() {
	g := &Group{Class: "clock"}
	y := st.bottom + 2
	for _, run := range st.over.Paces {
		if style := lineStyle(run.Variety, 0.55); style.Dash != nil {
			g.Add(Path{Style: style, Lines: [][]Pt{{{st.ax.x(run.From), y}, {st.ax.x(run.To), y}}}})
		}
	}
	var ticks [][]Pt
	step := clockStep(st.ax)
	for t := math.Ceil(st.ax.t0/step*2) * step / 2; t <= st.ax.t1; t += step / 2 {
		h := 0.9
		if math.Mod(t, step) == 0 {
			h = 1.8
		}
		x := st.ax.x(t)
		ticks = append(ticks, []Pt{{x, y + 1.6}, {x, y + 1.6 + h}})
		if math.Mod(t, step) == 0 {
			g.Add(Text{At: Pt{x, y + 6.6}, Size: 2.8, Anchor: Middle, Class: "soft", Ink: InkSoft, Words: Clock(t)})
		}
	}
	if len(ticks) > 0 {
		g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.25}, Lines: ticks})
	}
	st.s.Add(g)
}

// clockStep is the seconds between two times written below a strip, so that they do not meet.
func clockStep(a timeAxis) float64 {
	for _, step := range []float64{10, 30, 60, 120, 300, 600} {
		if a.t1 <= a.t0 || step/(a.t1-a.t0)*(a.x1-a.x0) > 11 {
			return step
		}
	}
	return 3600
}

// Clock writes seconds as minutes and seconds, 65.4 as 1:05.
func Clock(s float64) string {
	n := int(math.Floor(math.Max(s, 0) + 0.5))
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}

func box(x, y, w, h float64) []Pt {
	return []Pt{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// pressureTop is the pressure at the top of the strip; more is cut off there and written out.
const pressureTop = 1.5

// Strip draws the pressure over the time of the test: for every demand a block that begins
// where preparation must begin and ends where the demand is due, as high as the time needed
// over the time there is. What reaches the line marked "no time left" is striped as well as
// dark.
func Strip(p *rideplan.Plan, o StripOptions) *Scene {
	st := newStrip(p, o, planTitle(p, Options{})+": pressure over time", pressureDesc(p))
	st.frame(o.Highlight)
	st.pressure(p)
	st.clock()
	if o.Mono {
		return st.s.Mono()
	}
	return st.s
}

func pressureDesc(p *rideplan.Plan) string {
	worst, found := rideplan.Demand{}, false
	for i := range p.Movements {
		for _, d := range p.Movements[i].Demands {
			if !found || d.Pressure > worst.Pressure {
				worst, found = d, true
			}
		}
	}
	if !found {
		return "No demand of this test needs preparing."
	}
	return fmt.Sprintf("Highest at %s, %s near %s: needs %.1f s and has %.1f s.",
		Clock(float64(worst.At)), worst.What, worst.Letter, float64(worst.Needs), float64(worst.Has))
}

func (st *strip) pressure(p *rideplan.Plan) {
	g := &Group{Class: "pressure", Title: "Pressure: time needed over time there is"}
	var stripes [][]Pt
	var flags []blockLetter
	for i := range p.Movements {
		for _, d := range p.Movements[i].Demands {
			if !(d.Pressure > 0) {
				continue
			}
			x1 := st.ax.x(float64(d.At))
			x0, top := min(st.ax.x(float64(d.At-d.Needs)), x1-0.5), st.pressureY(d.Pressure)
			one := &Group{Class: "demand", Title: fmt.Sprintf("%s near %s at %s: needs %.1f s, has %.1f s", d.What, d.Letter, Clock(float64(d.At)), float64(d.Needs), float64(d.Has))}
			one.Add(Path{Style: Style{Class: "block", Fill: pressureInk(d.Pressure), Stroke: InkMain, Width: 0.2}, Lines: [][]Pt{box(x0, top, x1-x0, st.bottom-top)}, Closed: true})
			g.Add(one)
			if d.Pressure >= 1 {
				stripes = append(stripes, hatch(x0, top, x1-x0, st.bottom-top)...)
			}
			if d.Letter != "" && d.Pressure >= 0.6 {
				flags = append(flags, blockLetter{Pt{(x0 + x1) / 2, top}, d.Letter, d.Pressure})
			}
		}
	}
	if len(stripes) > 0 {
		g.Add(Path{Style: Style{Class: "halo", Stroke: Paper, Width: 0.35}, Lines: stripes})
	}
	full, half := st.pressureY(1), st.pressureY(0.5)
	g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.3, Dash: []float64{1.2, 0.8}}, Lines: [][]Pt{{{st.ax.x0, full}, {st.ax.x1, full}}}},
		Text{At: Pt{st.ax.x0 - 0.8, full + 0.9}, Size: 2.6, Anchor: End, Class: "ink", Ink: InkMain, Words: "full"},
		Text{At: Pt{st.ax.x0 - 0.8, half + 0.9}, Size: 2.6, Anchor: End, Class: "soft", Ink: InkSoft, Words: "half"},
		Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.3}, Lines: [][]Pt{{{st.ax.x0, st.bottom}, {st.ax.x1, st.bottom}}}}, st.letterFlags(flags))
	st.s.Add(g)
}

// pressureY is where a pressure stands; above the highest there is room for a letter.
func (st *strip) pressureY(v float64) float64 {
	return st.bottom - (st.bottom-st.top-3.2)*min(v, pressureTop)/pressureTop
}

// blockLetter is a letter over a block.
type blockLetter struct {
	at     Pt
	letter string
	weight float64
}

// letterFlags writes letters in a row of their own above the blocks, each on a hair that stands
// on its block: the heaviest first, and those for
// which there is no room left out.
func (st *strip) letterFlags(fs []blockLetter) *Group {
	slices.SortStableFunc(fs, func(a, b blockLetter) int { return cmp.Compare(b.weight, a.weight) })
	labels := make([]label, len(fs))
	for i, f := range fs {
		labels[i] = label{f.at.X, TextWidth(f.letter, letterSize, true)}
	}
	g := &Group{Class: "letters"}
	foot := st.pressureY(pressureTop) - 0.7
	for i, row := range placeLabels(labels, 1) {
		if f := fs[i]; row == 0 {
			g.Add(Text{At: Pt{f.at.X, foot}, Size: letterSize, Anchor: Middle, Bold: f.weight >= 1, Class: "ink", Ink: InkMain, Words: f.letter})
			if f.at.Y > foot+1 {
				g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.2}, Lines: [][]Pt{{{f.at.X, foot + 0.6}, f.at}}})
			}
		}
	}
	return g
}

// letterSize is the size of the letters over the blocks.
const letterSize = 2.8

// pressureInk darkens with pressure, so that height is not the only sign.
func pressureInk(v float64) Ink {
	switch {
	case v >= 1:
		return "#7c1d10"
	case v >= 0.75:
		return "#c7793a"
	case v >= 0.5:
		return "#e5c79b"
	}
	return "#dfe5e7"
}

// hatch returns stripes that fill a box.
func hatch(x, y, w, h float64) [][]Pt {
	var out [][]Pt
	for d := 1.1; d < w+h; d += 1.1 {
		a := Pt{x + min(d, w), y + max(0, d-w)}
		b := Pt{x + max(0, d-h), y + min(d, h)}
		out = append(out, []Pt{a, b})
	}
	return out
}
