package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
	"ringcraft/internal/sheet"
)

type rideCompareCmd struct {
	Before string `arg:"" help:"Review of the earlier ride (JSON of ride review)."`
	After  string `arg:"" help:"Review of the later ride."`
	Out    string `short:"o" help:"Write the comparison for people: OUT.html or OUT.pdf." placeholder:"OUT"`
	Taught string `enum:",yes,no" default:"" help:"Did the person who marked the later ride teach between the two? yes or no. Unsaid, one and the same marker is taken to have taught." placeholder:"yes|no"`
	JSON   bool   `name:"json" help:"Print JSON."`
}

// Run compares two rides of one sheet.
func (o *rideCompareCmd) Run(c *console) error {
	before, err := c.reviewFile(o.Before)
	if err != nil {
		return err
	}
	after, err := c.reviewFile(o.After)
	if err != nil {
		return err
	}
	later := logbook.FactsOf(after)
	if o.Taught != "" {
		taught := o.Taught == "yes"
		later.Taught = &taught
	}
	cmp, err := diagnose.Compare(logbook.FactsOf(before), later)
	if err != nil {
		c.tell([]sheet.Problem{{File: o.After, Severity: sheet.Error, Message: err.Error()}})
		return errInput
	}
	if o.Out != "" {
		if err := writeComparison(o.Out, cmp); err != nil {
			return err
		}
		c.written(o.Out)
	}
	if o.JSON {
		return printJSON(c.Out, cmp)
	}
	printComparison(c.Out, cmp)
	return nil
}

func writeComparison(name string, cmp diagnose.Comparison) error {
	return writePaper(name,
		func(w io.Writer) error { return report.CompareHTML(w, cmp, "") },
		func(w io.Writer) error { return report.ComparePDF(w, cmp, "") })
}

// reviewFile reads the JSON of `ride review`. What is not one is said and carries exit code 1.
func (c *console) reviewFile(name string) (*report.ReviewDoc, error) {
	b, err := readFile(name)
	if err != nil {
		return nil, err
	}
	var d report.ReviewDoc
	if err := json.Unmarshal(b, &d); err != nil {
		c.tell([]sheet.Problem{jsonProblem(name, b, err)})
		return nil, errInput
	}
	if len(d.Movements) == 0 {
		c.tell([]sheet.Problem{{File: name, Severity: sheet.Error, Message: "this is not a review: it has no movements", Suggestion: "allowed: what `ringcraft ride review --json` prints"}})
		return nil, errInput
	}
	return &d, nil
}

// jsonProblem places a JSON error by line and column.
func jsonProblem(name string, b []byte, err error) sheet.Problem {
	p := sheet.Problem{File: name, Severity: sheet.Error, Message: "not a review: " + err.Error(), Suggestion: "allowed: what `ringcraft ride review --json` prints"}
	var syntax *json.SyntaxError
	var typed *json.UnmarshalTypeError
	at := int64(-1)
	switch {
	case errors.As(err, &syntax):
		at = syntax.Offset
	case errors.As(err, &typed):
		at = typed.Offset
	}
	if at >= 0 && at <= int64(len(b)) {
		p.Line, p.Column = 1, 1
		for _, ch := range b[:at] {
			p.Column++
			if ch == '\n' {
				p.Line, p.Column = p.Line+1, 1
			}
		}
	}
	return p
}

func printComparison(w io.Writer, c diagnose.Comparison) {
	for _, r := range report.CompareRows(c) {
		fmt.Fprintf(w, "%2d  %s: %s\n", r.Number, r.Verdict, r.Reason)
		for _, words := range r.Measures {
			fmt.Fprintln(w, "     ", words)
		}
	}
	for _, s := range c.Summary {
		fmt.Fprintln(w, s)
	}
	for _, s := range c.Caution {
		fmt.Fprintln(w, "caution:", s)
	}
}
