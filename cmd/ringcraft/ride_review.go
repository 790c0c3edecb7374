package main

import (
	"fmt"
	"io"
	"slices"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
	"ringcraft/internal/track"
)

type rideReviewCmd struct {
	Sheet  string `required:"" help:"The sheet that was ridden." placeholder:"FILE"`
	Track  string `help:"The recording: GPX, FIT, NMEA or CSV." placeholder:"F"`
	Motion string `help:"Accelerometer and gyroscope beside the positions, from the same device or another: CSV." placeholder:"F.csv"`
	aboutTrack
	Recorder   string   `help:"Class of recorder: survey, uwb, rtk, sport, phone or unknown." default:"unknown" placeholder:"CLASS"`
	Arena      string   `help:"Surveyed letters of the arena." placeholder:"F.json"`
	Commentary string   `help:"WebVTT, SRT, or text with a time on each line." placeholder:"F"`
	Begins     *float64 `help:"Second of the commentary at which the recording's clock is 0; found from the words when not given." placeholder:"S"`
	Marks      string   `help:"Marks: movement,judge,mark,remark." placeholder:"F.csv"`
	Horse      string   `help:"The horse's own figures and limits." placeholder:"F.json"`
	Rules      string   `help:"Rule set; default: the sheet's own." placeholder:"ID"`
	Simulated  bool     `help:"Label the recording as made by a simulator."`
	Out        string   `short:"o" help:"Write the review for people: OUT.html or OUT.pdf." placeholder:"OUT"`
	JSON       bool     `name:"json" help:"Print JSON."`
}

// Run reviews one ride.
func (o *rideReviewCmd) Run(c *console) error {
	in, err := o.input()
	if err != nil {
		return err
	}
	ctx, end := c.withProgress()
	if o.Ride == "first" {
		in, err = logbook.FirstRide(ctx, in)
	}
	var r *logbook.ReviewResult
	if err == nil {
		r, err = logbook.ReviewRide(ctx, in)
	}
	end()
	if err != nil {
		return stopped(err, "nothing was written")
	}
	c.tellBriefly(o.Sheet, r.Problems)
	if o.Out != "" {
		if err := o.write(r); err != nil {
			return err
		}
		c.written(o.Out)
	}
	if o.JSON {
		if err := printJSON(c.Out, r.Doc); err != nil {
			return err
		}
	} else {
		printReview(c.Out, r.Doc)
	}
	return failed(r.Problems)
}

func (o *rideReviewCmd) input() (logbook.ReviewInput, error) {
	in := logbook.ReviewInput{Recorder: o.Recorder, About: o.about(), Rules: o.Rules, Simulated: o.Simulated, CommentaryOffsetS: o.Begins}
	if _, err := track.ClassByName(o.Recorder); err != nil {
		return in, usageError{"--recorder: " + err.Error()}
	}
	if _, err := track.ParsePart(o.From, o.To); err != nil {
		return in, usageError{"--from, --to: " + err.Error()}
	}
	text, err := readFile(o.Sheet)
	if err != nil {
		return in, err
	}
	in.Sheet = logbook.Given{Name: o.Sheet, Data: text}
	for _, f := range []struct {
		name string
		to   **logbook.Given
	}{{o.Track, &in.Track}, {o.Motion, &in.Motion}, {o.Arena, &in.Arena}, {o.Commentary, &in.Commentary}, {o.Marks, &in.Marks}, {o.Horse, &in.Horse}} {
		if f.name == "" {
			continue
		}
		b, err := readFile(f.name)
		if err != nil {
			return in, err
		}
		*f.to = &logbook.Given{Name: f.name, Data: b}
	}
	return in, nil
}

func (o *rideReviewCmd) write(r *logbook.ReviewResult) error {
	paper := report.Paper{Doc: r.Doc, Plan: r.Plan, Ridden: r.Ridden}
	return writePaper(o.Out,
		func(w io.Writer) error { return report.ReviewHTML(w, paper) },
		func(w io.Writer) error { return report.ReviewPDF(w, paper) })
}

func printReview(w io.Writer, d *report.ReviewDoc) {
	fmt.Fprintf(w, "%s\n", d.Sheet)
	if d.Simulated {
		fmt.Fprintln(w, "(simulated recording)")
	}
	if t := d.Total; t != nil {
		fmt.Fprintf(w, "%s %%, %s\n", t.PercentWords(), t.PointsWords())
		if t.Agree != nil {
			fmt.Fprintln(w, t.Agree.Words())
		}
	}
	for _, x := range report.DepartureRows(d.Departures) {
		fmt.Fprintf(w, "movement %d, %s: %s\n", x.Movement, clock(x.StartS), x.Words())
	}
	for _, m := range d.Movements {
		fmt.Fprintf(w, "\n%2d  %s  %s\n", m.Number, m.Letters, m.Text)
		for _, k := range m.Marks {
			fmt.Fprintf(w, "    %s: %.1f %s\n", k.Judge, k.Mark, k.Remark)
		}
		for _, q := range m.Measures {
			if q.Lacks == "" { // what the recording as a whole lacks is said once, below
				fmt.Fprintf(w, "    %s\n", report.MeasureWords(q))
			}
		}
		for _, q := range m.Remarks {
			fmt.Fprintf(w, "    %s  \"%s\"\n", clock(q.AtS), q.Text)
		}
		for _, l := range m.Lost {
			fmt.Fprintln(w, "    "+lossLine(l))
		}
	}
	printPaces(w, d)
	printCollectives(w, d.Collectives)
	for i, k := range d.Causes {
		if i == 0 {
			fmt.Fprintln(w, "\nLikely causes")
		}
		fmt.Fprintf(w, "  %2.0f %%  %s (%s); %.1f marks at stake\n", 100*k.Probability, k.Cause, k.Likely(), k.MarksAtStake)
		if k.Try != "" {
			fmt.Fprintf(w, "        %s %s; %s\n", report.FindOut, k.Try, k.Outcome)
		}
	}
	for _, n := range slices.Concat(report.NotRecorded(d), d.Notes, d.Cautions) {
		fmt.Fprintln(w, n)
	}
}

func printPaces(w io.Writer, d *report.ReviewDoc) {
	rows, _ := report.PaceRows(d)
	for i, r := range rows {
		if i == 0 {
			fmt.Fprintln(w, "\nPaces over the whole ride (in brackets: usual for this horse)")
		}
		fmt.Fprintf(w, "    %s, %s\n", r.Name, r.For)
		for _, x := range []struct {
			name, unit string
			c          report.PaceCell
		}{{"speed", "m/s", r.Speed}, {"tempo", "strides/min", r.Tempo}, {"spread of strides", "%", r.Spread}, {"stride", "m", r.Stride}} {
			if x.c.Value != "" {
				fmt.Fprintf(w, "        %s %s\n", x.name, x.c.Words(x.unit))
			}
		}
		if r.Words != "" {
			fmt.Fprintln(w, "        "+r.Words)
		}
	}
}

func printCollectives(w io.Writer, cs []report.ReviewCollective) {
	for i, c := range cs {
		if i == 0 {
			fmt.Fprintln(w, "\nMarks for the whole ride (what each reason weighed is a guess)")
		}
		fmt.Fprintf(w, "    %s\n", c.Name)
		for _, k := range c.Marks {
			fmt.Fprintf(w, "    %s: %.1f %s\n", k.Judge, k.Mark, k.Remark)
		}
		for _, l := range c.Lost {
			fmt.Fprintln(w, "    "+lossLine(l))
		}
	}
}

// lossLine says what was lost, or, where no mark was given, what such a fault usually costs.
func lossLine(l diagnose.Loss) string {
	if l.Marks == 0 && l.Estimate > 0 {
		return fmt.Sprintf("usually -%.1f  %s (%s)", l.Estimate, l.Reason, l.Reach)
	}
	return fmt.Sprintf("-%.1f  %s (%s)", l.Marks, l.Reason, l.Reach)
}
