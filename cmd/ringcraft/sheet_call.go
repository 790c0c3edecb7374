package main

import (
	"fmt"
	"io"
	"path/filepath"

	"ringcraft/internal/judging"
	"ringcraft/internal/report"
	"ringcraft/internal/sheet"
)

type sheetCallCmd struct {
	File  string   `arg:"" help:"The sheet, as plain text."`
	Lead  *float64 `help:"Seconds between the end of a call and its movement." placeholder:"S"`
	Rules string   `help:"Rule set that says whether the test may be called; default: the sheet's own." placeholder:"ID"`
	Horse string   `help:"The horse's own figures." placeholder:"F.json"`
	Out   string   `short:"o" help:"Write a printable PDF. The script of a sheet with errors holds what was understood and says so; the exit code is 1." placeholder:"OUT.pdf"`
	JSON  bool     `name:"json" help:"Print JSON."`
}

// Run writes the caller's script.
func (o *sheetCallCmd) Run(c *console) error {
	plan, err := compileFile(o.File, o.Horse)
	if err != nil {
		return err
	}
	problems := plan.Problems
	rules, more := rulesFor(o.Rules, plan.Rules)
	problems = append(problems[:len(problems):len(problems)], more...)
	c.tellBriefly(o.File, problems)
	opts := report.CallOptions{LeadS: o.Lead}
	if rules != nil {
		opts.Allowed, opts.Why = report.CallingUnder(rules)
	}
	script := report.Caller(plan, opts)
	if o.Out != "" {
		if filepath.Ext(o.Out) != ".pdf" {
			return usageError{fmt.Sprintf("-o %s: allowed: .pdf", o.Out)}
		}
		if err := writeFile(o.Out, func(w io.Writer) error { return report.CallPDF(w, script) }); err != nil {
			return err
		}
	}
	if o.JSON {
		if err := printJSON(c.Out, script); err != nil {
			return err
		}
	} else {
		printCalls(c.Out, script)
	}
	return failed(problems)
}

// rulesFor finds the rule set named on the command line, else the sheet's, else the club's.
func rulesFor(flag, ofSheet string) (*judging.Rules, []sheet.Problem) {
	id := flag
	if id == "" {
		id = ofSheet
	}
	r, err := judging.RulesByID(id)
	if err != nil {
		return nil, []sheet.Problem{{Severity: sheet.Error, Message: err.Error()}}
	}
	return r, nil
}

func printCalls(w io.Writer, s report.CallScript) {
	fmt.Fprintf(w, "%s: caller's script, each call ends %.1f s before its movement\n%s\n", s.Sheet, s.LeadS, s.Why)
	for _, n := range s.Notes {
		fmt.Fprintln(w, n)
	}
	for _, k := range s.Calls {
		tight := ""
		if k.Tight {
			tight = fmt.Sprintf("  (only %.1f s before)", k.LeadS)
		}
		fmt.Fprintf(w, "%6.1f s  near %-2s %v  %s%s\n", k.SpeakS, k.Letter, k.Movements, k.Words, tight)
	}
}
