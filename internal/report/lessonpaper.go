package report

import (
	"fmt"
	"html/template"
	"io"
	"strings"

	"ringcraft/internal/draw"
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
