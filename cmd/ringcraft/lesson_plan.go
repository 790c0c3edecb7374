package main

import (
	"fmt"
	"io"
	"strings"

	"ringcraft/internal/logbook"
	"ringcraft/internal/prepare"
	"ringcraft/internal/report"
	"ringcraft/internal/sheet"
)

type lessonPlanCmd struct {
	Minutes    float64  `required:"" help:"Time budget in minutes, 12 to 240, warm-up and cool-down in it." placeholder:"N"`
	Review     string   `xor:"from" required:"" help:"The review to teach from (JSON of ride review)." placeholder:"FILE.json"`
	Demo       bool     `xor:"from" required:"" help:"Teach from the demo yard's last training ride."`
	Horse      string   `help:"The horse's own figures and limits." placeholder:"F.json"`
	WarmedUp   bool     `help:"The horse is warmed up already."`
	DaysToShow *int     `help:"Days to the show." placeholder:"N"`
	Shared     bool     `help:"Others ride in the arena too."`
	TempC      *float64 `name:"temperature" help:"Air temperature in degrees Celsius." placeholder:"C"`
	Humidity   *float64 `help:"Relative humidity in percent." placeholder:"PCT"`
	Out        string   `short:"o" help:"Write the lesson for people: OUT.html or OUT.pdf." placeholder:"OUT"`
	LeftOut    bool     `help:"List every exercise that was left out, not only how many and the next best."`
	JSON       bool     `name:"json" help:"Print JSON."`
}

// Run plans a lesson.
func (o *lessonPlanCmd) Run(c *console) error {
	horse, problems, err := horseFile(o.Horse)
	if err != nil {
		return err
	}
	c.tell(problems)
	if sheet.HasErrors(problems) { // a limit of the horse that was not understood must not be planned over
		return errInput
	}
	in, err := o.input(c, horse)
	if err != nil {
		return err
	}
	lesson, err := prepare.PlanLesson(c.ctx, in)
	if err != nil {
		if cause := c.ctx.Err(); cause != nil {
			return cause
		}
		c.tell([]sheet.Problem{{Severity: sheet.Error, Message: err.Error()}})
		return errInput
	}
	if o.Out != "" {
		if err := writeLesson(o.Out, lesson); err != nil {
			return err
		}
		c.written(o.Out)
	}
	if o.JSON {
		return printJSON(c.Out, lesson)
	}
	printLesson(c.Out, lesson, o.LeftOut)
	return nil
}

func (o *lessonPlanCmd) input(c *console, horse prepare.Horse) (prepare.LessonInput, error) {
	doc, err := o.review(c)
	if err != nil {
		return prepare.LessonInput{}, err
	}
	in := logbook.LessonInput(doc, horse)
	in.Minutes, in.WarmedUp, in.DaysToShow, in.SharedArena = o.Minutes, o.WarmedUp, o.DaysToShow, o.Shared
	if (o.TempC == nil) != (o.Humidity == nil) {
		return in, usageError{"--temperature and --humidity go together"}
	}
	if o.TempC != nil {
		in.Weather = &prepare.Weather{TempC: *o.TempC, HumidityPct: *o.Humidity}
	}
	return in, nil
}

func (o *lessonPlanCmd) review(c *console) (*report.ReviewDoc, error) {
	if o.Demo {
		return demoReview(c.ctx)
	}
	return c.reviewFile(o.Review)
}

func printLesson(w io.Writer, l prepare.Lesson, all bool) {
	fmt.Fprintf(w, "A lesson of %g minutes\n", l.Minutes)
	for _, b := range l.Blocks {
		fmt.Fprintf(w, "%6s  %4.1f min  %-9s %s%s\n", clock(b.StartS), b.LengthS/60, b.Kind, b.Title, onRein(b.Rein))
		for _, r := range b.Reasons {
			fmt.Fprintf(w, "                    %s\n", r)
		}
	}
	printLeftOut(w, l.LeftOut, all)
	for _, s := range append(append([]string(nil), l.Warnings...), l.Cautions...) {
		fmt.Fprintln(w, s)
	}
}

func writeLesson(name string, l prepare.Lesson) error {
	paper := report.LessonOf(l, "")
	return writePaper(name,
		func(w io.Writer) error { return report.LessonHTML(w, paper) },
		func(w io.Writer) error { return report.LessonPDF(w, paper) })
}

// printLeftOut groups by reason, in the order in which the reasons first come. Unless all are asked
// for it counts them and names the next best of those that found no room, the first of each.
func printLeftOut(w io.Writer, left []prepare.LeftOut, all bool) {
	var reasons []string
	titles := map[string][]string{}
	for _, x := range left {
		reason, title := x.Reason, x.Title
		if head, rest, ok := strings.Cut(reason, ": "); ok && head == "no room" {
			reason, title = head, fmt.Sprintf("%s (%s)", title, rest)
		}
		if titles[reason] == nil {
			reasons = append(reasons, reason)
		}
		titles[reason] = append(titles[reason], title)
	}
	if len(reasons) > 0 {
		fmt.Fprintln(w, "Left out")
	}
	for _, r := range reasons {
		list := titles[r]
		switch {
		case all || len(list) == 1:
			fmt.Fprintf(w, "  %s: %s\n", r, strings.Join(list, "; "))
		default:
			fmt.Fprintf(w, "  %s: %d, first %s\n", r, len(list), list[0])
		}
	}
	if !all && len(left) > len(reasons) {
		fmt.Fprintln(w, "  all of them: --left-out")
	}
}

func onRein(rein string) string {
	if rein == "left" || rein == "right" {
		return ", " + rein + " rein"
	}
	return ""
}
