package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"time"

	"ringcraft/internal/certs"
	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/report"
)

type demoCmd struct {
	Data   string `help:"Folder of the demo's own store; default: beside the user's own book." placeholder:"DIR"`
	Listen string `default:"127.0.0.1:8080" help:"Loopback address to serve on; the next free port when it is taken." placeholder:"ADDR"`
	Once   bool   `help:"Print the summary and end, without serving."`
	JSON   bool   `name:"json" help:"Print JSON."`
}

// demoSummary is the JSON of `demo` (docs/JSON.md).
type demoSummary struct {
	Schema   string              `json:"schema"` // "ringcraft.demo/1"
	Invented bool                `json:"invented"`
	Data     string              `json:"data"`
	Rides    int                 `json:"rides"`
	Review   *report.ReviewDoc   `json:"review"`
	Lesson   *logbook.LessonPlan `json:"lesson"`
	Compared []demoComparison    `json:"compared"`
}

type demoComparison struct {
	Combination string   `json:"combination"`
	MarkChange  *float64 `json:"mark_change"` // of the final percentage
	Verdict     string   `json:"verdict"`
	Summary     []string `json:"summary"`
	Caution     []string `json:"caution"`
}

// Run builds the demo yard, runs the whole loop, prints a summary and serves the yard.
func (o *demoCmd) Run(c *console) error {
	if err := portInRange(o.Listen); err != nil {
		return err
	}
	if !certs.Loopback(o.Listen) {
		return usageError{fmt.Sprintf("--listen %s: the demo is served to this machine only; allowed: a loopback address such as 127.0.0.1:8080", o.Listen)}
	}
	dir, err := o.dir()
	if err != nil {
		return err
	}
	sum, err := o.loop(c, dir)
	if err != nil {
		return c.told(err)
	}
	if o.JSON {
		err = printJSON(c.Out, sum)
	} else {
		printDemo(c.Out, sum)
	}
	if err != nil || o.Once {
		return err
	}
	serve := serveCmd{dataOption: dataOption{dir}, Listen: freeAddress(o.Listen), TLS: "own", Log: "text"}
	return serve.Run(c)
}

func (o *demoCmd) dir() (string, error) {
	if o.Data != "" {
		return dataOption{o.Data}.dir()
	}
	own, err := dataOption{}.dir()
	return own + "-demo", err
}

// loop loads the yard and runs review, lesson and comparisons over it.
func (o *demoCmd) loop(c *console, dir string) (sum demoSummary, err error) {
	store, err := openData(c.ctx, dir)
	if err != nil {
		return sum, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	book := store.book(nil)
	today := logbook.DateOf(time.Now())
	tell := func(s string) { fmt.Fprintln(c.Err, "loading", s) }
	if err := demo.Load(c.ctx, book, today, tell); err != nil {
		return sum, err
	}
	sum = demoSummary{Schema: "ringcraft.demo/1", Invented: true, Data: dir, Compared: []demoComparison{}}
	rides, err := book.Rides(c.ctx, logbook.RideFilter{})
	if err != nil {
		return sum, err
	}
	sum.Rides = len(rides)
	before, err := book.ReviewOf(c.ctx, demo.BetterBefore)
	if err != nil {
		return sum, err
	}
	sum.Review = before.Doc
	if sum.Lesson, err = demoLesson(c.ctx, book, before.Ride); err != nil {
		return sum, err
	}
	for _, pair := range [][2]string{{demo.BetterBefore, demo.BetterAfter}, {demo.SeemsBefore, demo.SeemsAfter}} {
		d, err := demoCompare(c.ctx, book, pair[0], pair[1])
		if err != nil {
			return sum, err
		}
		sum.Compared = append(sum.Compared, d)
	}
	return sum, nil
}

// demoLesson plans forty-five minutes from a ride, without writing them into the book.
func demoLesson(ctx context.Context, book *logbook.Book, r logbook.Ride) (*logbook.LessonPlan, error) {
	plan, err := book.TryLesson(ctx, logbook.NewLesson{CombinationID: r.CombinationID, RideID: r.ID, Date: r.Date, Minutes: 45})
	return &plan, err
}

func demoCompare(ctx context.Context, book *logbook.Book, before, after string) (demoComparison, error) {
	c, err := book.CompareOf(ctx, before, after)
	if err != nil {
		return demoComparison{}, err
	}
	return demoComparison{Combination: c.Before.Pair.Title(), MarkChange: c.Comparison.Total.Change, Verdict: c.Comparison.Total.Verdict,
		Summary: c.Comparison.Summary, Caution: c.Comparison.Caution}, nil
}

// demoReview is the review that `lesson plan --demo` teaches from.
func demoReview(ctx context.Context) (*report.ReviewDoc, error) {
	dir, err := (&demoCmd{}).dir()
	if err != nil {
		return nil, err
	}
	store, err := openData(ctx, dir)
	if err != nil {
		return nil, err
	}
	defer store.Close()
	book := store.book(nil)
	if err := demo.Load(ctx, book, logbook.DateOf(time.Now()), nil); err != nil {
		return nil, err
	}
	r, err := book.ReviewOf(ctx, demo.BetterAfter)
	if err != nil {
		return nil, err
	}
	return r.Doc, nil
}

// freeAddress returns addr, or another port of its host when that one is taken.
func freeAddress(addr string) string {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		host, _, e := net.SplitHostPort(addr)
		if e != nil {
			return addr // serve says what is wrong with it
		}
		if l, err = net.Listen("tcp", net.JoinHostPort(host, "0")); err != nil {
			return addr
		}
	}
	defer l.Close()
	return l.Addr().String()
}

func printDemo(w io.Writer, s demoSummary) {
	fmt.Fprintf(w, "The demo yard: people, horses, places and rides are invented, its recordings simulated.\nKept in %s\n\n", s.Data)
	fmt.Fprintf(w, "%s: %s %%. Where the most marks went and can come back:\n", s.Review.Sheet, s.Review.Total.PercentWords())
	sumUp := report.Summarise(s.Review)
	for _, line := range sumUp.Change {
		fmt.Fprintf(w, "  %s: %.1f marks, %.2f %%\n", line.What, line.Marks, line.Percent)
	}
	fmt.Fprintf(w, "\nA lesson of %g minutes:\n", s.Lesson.Minutes)
	for _, b := range s.Lesson.Blocks {
		fmt.Fprintf(w, "  %5s  %4.1f min  %s%s\n", clock(b.StartS), b.LengthS/60, b.Title, onRein(b.Rein))
	}
	for _, k := range s.Compared {
		fmt.Fprintf(w, "\n%s, after the lessons:", k.Combination)
		if k.MarkChange != nil {
			fmt.Fprintf(w, " marks %+.1f %%,", *k.MarkChange)
		}
		fmt.Fprintf(w, " verdict: %s\n", k.Verdict)
		if len(k.Summary) > 0 {
			fmt.Fprintf(w, "  %s\n", k.Summary[0])
		}
	}
	fmt.Fprintln(w)
}
