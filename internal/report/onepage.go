package report

import (
	"fmt"
	"io"
	"math"

	"ringcraft/internal/draw"
	"ringcraft/internal/rideplan"
)

// mostStages are the pictures that one page has room for.
const mostStages = 9

// OnePagePDF writes the whole test on one page, cut into stages that do not ride over
// themselves: each stage is an arena with the sheet's own words beside it. Below them are the
// legend and the pressure over time. Only where the words of a stage cannot be read at 2 mm
// do they go on to a further page.
func OnePagePDF(w io.Writer, plan *rideplan.Plan) error {
	p := newPages(plan.Name, plan.Name)
	p.title(plan.Name, planFacts(plan))
	p.faults(plan)
	stages := draw.Stages(plan, mostStages)
	strip := draw.Strip(plan, draw.StripOptions{Width: p.width(), Height: 36})
	stripY := p.bottom() - strip.H
	legend := draw.StagesLegend(plan, stages, p.width(), 0.9)
	legendY := stripY - legend.H - 1
	left := stageGrid(p, plan, stages, p.y+1, legendY-1)
	legend.Onto(p.f, edge, legendY, 1)
	strip.Onto(p.f, edge, stripY, 1)
	if len(left) > 0 {
		p.addPage()
		p.heading("What did not fit beside its line", 20)
		p.table([]column{{"", 12, true}, {"", p.width() - 12, false}}, left, 3.2, 5)
	}
	return p.finish(w)
}

// stageGrid sets the stages in rows between top and bottom, and returns the rows of words for
// which there was no room.
func stageGrid(p *pages, plan *rideplan.Plan, stages []draw.Stage, top, bottom float64) [][]string {
	n := len(stages)
	if n == 0 {
		return nil
	}
	cols := 2
	if n > 6 {
		cols = 3
	}
	rows := (n + cols - 1) / cols
	cell := stageCell{w: (p.width() + stageGap) / float64(cols), h: (bottom - top) / float64(rows)}
	cell.w -= stageGap
	share := 0.5
	if cols == 2 {
		share = 0.6
	}
	cell.picW, cell.k = cell.picture(plan, share)
	cell.size = cell.wordSize(plan, stages)
	var left [][]string
	for i := range stages {
		x, y := edge+float64(i%cols)*(cell.w+stageGap), top+float64(i/cols)*cell.h
		if i%cols > 0 {
			p.hair(x-stageGap/2, y+2, x-stageGap/2, y+cell.h-3)
		}
		left = append(left, cell.put(p, plan, &stages[i], x, y)...)
	}
	return left
}

// stageGap is between two columns of stages, in mm.
const stageGap = 4.0

// stageCell is the room of one stage: its picture at the left, its words at the right.
type stageCell struct {
	w, h    float64
	picW, k float64 // width for which the picture is drawn, and its scale
	size    float64 // of the words
}

// picture finds the width at which the arena fills the height of the cell and leaves the
// words the rest of its width.
func (c stageCell) picture(plan *rideplan.Plan, share float64) (w, k float64) {
	w = c.w * share
	for range 3 { // the margins of a picture depend on its width
		if h := draw.Plan(plan, draw.Options{Stage: &draw.Stage{}, Width: w}).H; h > c.h-1 {
			w *= (c.h - 1) / h
		}
	}
	h := draw.Plan(plan, draw.Options{Stage: &draw.Stage{}, Width: w}).H
	return w, math.Min(1, (c.h-1)/h)
}

func (c stageCell) wordsWidth() float64 { return c.w - c.picW*c.k - 2 }

// wordSize is the largest size at which the words of every stage fit beside it.
func (c stageCell) wordSize(plan *rideplan.Plan, stages []draw.Stage) float64 {
	size := 3.8
	for ; size > 2; size -= 0.1 {
		fits := true
		for _, st := range stages {
			fits = fits && c.wordsHeight(plan, st, size) <= c.h-2
		}
		if fits {
			break
		}
	}
	return size
}

func (c stageCell) lines(m *rideplan.Movement, size float64) []string {
	return draw.Wrap(movementWords(m), size, c.wordsWidth()-2.2*size, false)
}

func (c stageCell) wordsHeight(plan *rideplan.Plan, st draw.Stage, size float64) float64 {
	h := 2.0
	for i := st.First; i <= st.Last; i++ {
		h += float64(len(c.lines(&plan.Movements[i], size)))*size*1.2 + size*0.6
	}
	return h
}

// put draws a stage and returns the words that found no room.
func (c stageCell) put(p *pages, plan *rideplan.Plan, st *draw.Stage, x, y float64) [][]string {
	draw.Plan(plan, draw.Options{Stage: st, Width: c.picW}).Onto(p.f, x, y, c.k)
	x += c.picW*c.k + 2
	at := y + 2
	var left [][]string
	for i := st.First; i <= st.Last; i++ {
		m := &plan.Movements[i]
		lines := c.lines(m, c.size)
		if at+float64(len(lines))*c.size*1.2 > y+c.h {
			left = append(left, []string{fmt.Sprint(m.Number), movementWords(m)})
			continue
		}
		p.put(x+1.7*c.size, at, c.size, true, draw.InkMain, draw.End, fmt.Sprint(m.Number))
		for _, l := range lines {
			p.line(x+2.2*c.size, at, c.size, false, l)
			at += c.size * 1.2
		}
		at += c.size * 0.6
	}
	return left
}

// hair draws a thin grey line.
func (p *pages) hair(x0, y0, x1, y1 float64) {
	s := draw.Scene{}
	s.Add(draw.Path{Style: draw.Style{Stroke: draw.InkFaint, Width: 0.2}, Lines: [][]draw.Pt{{{X: x0, Y: y0}, {X: x1, Y: y1}}}})
	s.Onto(p.f, 0, 0, 1)
}
