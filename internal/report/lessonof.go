package report

import (
	"fmt"

	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
)

// LessonOf lays out a planned lesson for paper; each exercise is compiled to be drawn.
func LessonOf(l prepare.Lesson, facts string) LessonPaper {
	p := LessonPaper{Title: fmt.Sprintf("Lesson of %s minutes", decimals(l.Minutes, 0)), Facts: facts}
	for _, b := range l.Blocks {
		out := LessonBlock{StartS: b.StartS, LengthS: b.LengthS, Kind: b.Kind, Title: b.Title, Rein: b.Rein, Pace: b.Pace,
			Look: b.See, Lines: b.Reasons, RepeatsOrDuration: b.Repeats}
		if b.Sheet != "" {
			out.Plan = rideplan.CompileText(b.Title, b.Sheet, rideplan.Options{})
		}
		p.Blocks = append(p.Blocks, out)
	}
	p.LeftOut = LeftOutLines(l.LeftOut)
	p.Cautions = append(append(p.Cautions, l.Warnings...), l.Cautions...)
	return p
}
