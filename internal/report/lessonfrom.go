package report

import (
	"fmt"
	"strings"

	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
)

// LessonFrom sets a planned lesson on paper; every exercise is compiled and drawn for the
// horse. who names rider and horse, "" for none.
func LessonFrom(l prepare.Lesson, who string, o rideplan.Options) LessonPaper {
	out := LessonPaper{Title: fmt.Sprintf("Lesson, %.0f minutes", l.Minutes), Facts: who}
	if l.ExpectedPercent > 0 {
		out.Facts = strings.TrimPrefix(fmt.Sprintf("%s · expected to bring about %s %% (%s)", who, decimals(l.ExpectedPercent, 1), l.GainsFrom), " · ")
	}
	out.Cautions = append(append(out.Cautions, l.Cautions...), l.Warnings...)
	for _, b := range l.Blocks {
		out.Blocks = append(out.Blocks, LessonBlock{StartS: b.StartS, LengthS: b.LengthS, Kind: b.Kind, Title: b.Title, Rein: b.Rein, Pace: b.Pace,
			Plan: exercisePlan(b.Sheet, o), Look: lookWords(b.Feel, b.See), Lines: b.Reasons, RepeatsOrDuration: b.Repeats})
	}
	for _, x := range l.LeftOut {
		out.LeftOut = append(out.LeftOut, x.Title+": "+x.Reason)
	}
	return out
}

// HomeworkFrom sets homework on paper: what to ride, how often, what right looks like, when
// to stop.
func HomeworkFrom(ts []prepare.Task, who string, o rideplan.Options) LessonPaper {
	out := LessonPaper{Title: "Homework", Facts: who}
	for _, t := range ts {
		b := LessonBlock{Title: t.Title, Plan: exercisePlan(t.Sheet, o), Look: strings.Join(t.Right, "; "), Fault: strings.Join(t.Watch, "; "), WithoutClock: true, RepeatsOrDuration: t.HowOften}
		for _, s := range []string{t.Why, t.Stop} {
			if s != "" {
				b.Lines = append(b.Lines, s)
			}
		}
		out.Blocks = append(out.Blocks, b)
	}
	return out
}

// ReviewHomework puts homework on the second page of a review.
func ReviewHomework(ts []prepare.Task, o rideplan.Options) []Homework {
	var out []Homework
	for _, t := range ts {
		out = append(out, Homework{Title: t.Title, Purpose: t.Why, Look: strings.Join(t.Right, "; "), Fault: strings.Join(t.Watch, "; "), Times: t.HowOften, Plan: exercisePlan(t.Sheet, o)})
	}
	return out
}

func exercisePlan(sheetText string, o rideplan.Options) *rideplan.Plan {
	if sheetText == "" {
		return nil
	}
	p := rideplan.CompileText("exercise", sheetText, o)
	if len(p.Samples) == 0 {
		return nil
	}
	return p
}

func lookWords(feel, see string) string {
	switch {
	case feel == "":
		return see
	case see == "":
		return feel
	}
	return feel + ". To be seen: " + see
}
