package report

import (
	"strings"

	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
)

// HomeworkFrom sets homework on paper: what to ride, how often, what right looks like, when
// to stop.
func HomeworkFrom(ts []prepare.Task, who string, o rideplan.Options) LessonPaper {
	out := LessonPaper{Title: "Homework", Facts: who}
	for _, t := range ts {
		b := LessonBlock{Title: t.Title, Plan: exercisePlan(t.Sheet, o), Look: strings.Join(t.Right, " "), Fault: strings.Join(t.Watch, "; "), WithoutClock: true, RepeatsOrDuration: t.HowOften}
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
		out = append(out, Homework{Title: t.Title, Purpose: t.Why, Look: strings.Join(t.Right, " "), Fault: strings.Join(t.Watch, "; "), Times: t.HowOften, Plan: exercisePlan(t.Sheet, o)})
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
