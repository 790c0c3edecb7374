package report

import (
	"fmt"
	"html/template"
	"io"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
)

// LessonPaper is a lesson or a homework sheet to print. Times count from its start.
type LessonPaper struct {
	Title, Facts string
	Blocks       []LessonBlock
	LeftOut      []string
	Cautions     []string
}

// LessonBlock is one block of a lesson; Plan is nil where there is nothing to draw.
type LessonBlock struct {
	StartS, LengthS   float64
	Kind, Title       string
	Rein, Pace        string
	Plan              *rideplan.Plan
	Look, Fault       string // what right looks like; the usual fault
	Lines             []string
	WithoutClock      bool // homework has no running clock
	RepeatsOrDuration string
}

func (b LessonBlock) clock() string {
	if b.WithoutClock {
		return ""
	}
	return duration(b.StartS)
}

func (b LessonBlock) facts() string {
	var out []string
	for _, s := range []string{b.Kind, reinWords(b.Rein), b.Pace, b.RepeatsOrDuration} {
		if s != "" {
			out = append(out, s)
		}
	}
	if !b.WithoutClock && b.LengthS > 0 {
		out = append(out, fmt.Sprintf("%.0f min", b.LengthS/60))
	}
	return strings.Join(out, " · ")
}

func reinWords(rein string) string {
	if rein == "left" || rein == "right" {
		return rein + " rein"
	}
	return rein
}

func planPicture(p *rideplan.Plan) template.HTML {
	if p == nil {
		return ""
	}
	return picture(draw.Plan(p, draw.Options{Width: 60, NoNumbers: len(p.Movements) < 2}))
}

// LessonHTML writes a lesson or homework as one page that needs nothing from outside.
func LessonHTML(w io.Writer, in LessonPaper) error {
	type block struct {
		LessonBlock
		Clock, Facts string
		Drawing      template.HTML
	}
	v := struct {
		htmlHead
		Facts             string
		Blocks            []block
		LeftOut, Cautions []string
	}{htmlHead: head(in.Title), Facts: in.Facts, LeftOut: in.LeftOut, Cautions: in.Cautions}
	for _, b := range in.Blocks {
		v.Blocks = append(v.Blocks, block{b, b.clock(), b.facts(), planPicture(b.Plan)})
	}
	return htmlPages().ExecuteTemplate(w, "lesson", v)
}

// LessonPDF writes a lesson or homework on paper: the drawing at the left of each block, the
// words at its right, a box to tick.
func LessonPDF(w io.Writer, in LessonPaper) error {
	p := newPages(in.Title, in.Title)
	p.title(in.Title, in.Facts)
	for _, c := range in.Cautions {
		p.bullet("!", 3.4, c)
	}
	for _, b := range in.Blocks {
		lessonBlock(p, b)
	}
	if len(in.LeftOut) > 0 {
		p.heading("Left out", 10)
		for _, l := range in.LeftOut {
			p.bullet("–", 3.2, l)
		}
	}
	return p.finish(w)
}

// pictureHeight gives the exercises the room; loosening lines are known.
func pictureHeight(b LessonBlock) float64 {
	if b.Kind == prepare.ExerciseBlock || b.Kind == "" {
		return 50
	}
	return 33
}

func lessonBlock(p *pages, b LessonBlock) {
	const picW = 26.0
	textX, textW := edge+22.0, p.width()-22-10
	h := 14.0
	var pic *draw.Scene
	k := 1.0
	if b.Plan != nil {
		pic = draw.Plan(b.Plan, draw.Options{Width: picW, NoNumbers: len(b.Plan.Movements) < 2})
		k = min(1, pictureHeight(b)/pic.H)
		textX, textW = textX+pic.W*k+4, textW-pic.W*k-4
		h = pic.H*k + 4
	}
	lines := append([]string{}, b.Lines...)
	if b.Look != "" {
		lines = append(lines, "Right is: "+b.Look)
	}
	if b.Fault != "" {
		lines = append(lines, "Usual fault: "+b.Fault)
	}
	wordsH := 12.0 + float64(len(draw.Wrap(b.Title, 4.6, textW, true)))*6
	for _, l := range lines {
		wordsH += float64(len(draw.Wrap(l, 3.3, textW, false)))*3.3*1.35 + 1
	}
	h = max(h, wordsH)
	p.need(min(h, p.bottom()-p.y0-1))
	top := p.y
	p.rule(0.3)
	p.line(edge, top+2.5, 6, true, b.clock())
	p.boxed(pageW-edge-6, top+2.5, 5.5, 5.5, 0.4)
	if pic != nil {
		pic.Onto(p.f, edge+22, top+2, k)
	}
	y := foldText(p, textX, top+2.5, p.bottom(), textW, 4.6, true, b.Title)
	y = foldText(p, textX, y+0.5, p.bottom(), textW, 3.1, false, b.facts())
	for _, l := range lines {
		y = foldText(p, textX, y+1, p.bottom(), textW, 3.3, false, l)
	}
	p.y = max(top+h, y+2)
}
