package main

import (
	"fmt"
	"io"

	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

type sheetReadCmd struct {
	File  string `arg:"" help:"The sheet, as plain text."`
	Line  string `help:"Write the planned line to this CSV file." placeholder:"OUT.csv"`
	Horse string `help:"The horse's own figures." placeholder:"F.json"`
	Other string `help:"For a horse that anticipates: write the same movements in another order, in which fewer things always follow each other, to this file." placeholder:"OUT.sheet"`
	JSON  bool   `name:"json" help:"Print JSON."`
}

// Run says back how the sheet was understood.
func (o *sheetReadCmd) Run(c *console) error {
	text, err := readFile(o.File)
	if err != nil {
		return err
	}
	plan, err := compileFor(o.File, string(text), o.Horse)
	if err != nil {
		return err
	}
	c.tell(plan.Problems)
	if o.Line != "" {
		if err := writeFile(o.Line, func(w io.Writer) error { return report.WriteLine(w, plan) }); err != nil {
			return err
		}
	}
	if o.Other != "" {
		if err := o.writeOther(c, string(text)); err != nil {
			return err
		}
	}
	doc := report.BuildSheet(plan)
	if o.JSON {
		if err := printJSON(c.Out, doc); err != nil {
			return err
		}
	} else {
		printSheet(c.Out, doc)
	}
	return failed(plan.Problems)
}

func printSheet(w io.Writer, d report.SheetDoc) {
	if len(d.Movements) == 0 {
		fmt.Fprintln(w, "the sheet is empty: no movement was understood in it")
		return
	}
	fmt.Fprintf(w, "%s, arena %g x %g, %s, %.0f m, at most %d marks\n", d.Name, d.Arena.WidthM, d.Arena.LengthM, clock(d.TotalS), d.TotalM, d.MaxPoints)
	if d.PublishedS > 0 {
		fmt.Fprintf(w, "the sheet says %s\n", clock(d.PublishedS))
	}
	for _, m := range d.Movements {
		factor := ""
		if m.Coefficient != 1 {
			factor = fmt.Sprintf(" (x%d)", m.Coefficient)
		}
		fmt.Fprintf(w, "\n%2d%s  from %s, %.0f s, %.0f m, %.0f strides\n    %s\n", m.Number, factor, clock(m.StartS), m.EndS-m.StartS, m.LengthM, m.Strides, m.Reading)
		for _, q := range m.Demands {
			if q.Pressure >= 0.8 {
				fmt.Fprintf(w, "    prepare: %s near %s needs %.1f s, has %.1f s\n", q.What, q.Letter, q.NeedsS, q.HasS)
			}
		}
	}
	printHabits(w, d.Habits)
}

// writeOther writes the same movements in another order and says what it changes.
func (o *sheetReadCmd) writeOther(c *console, text string) error {
	other, reasons, ok := logbook.OtherOrder(o.File, text)
	for _, why := range reasons {
		fmt.Fprintf(c.Err, "%s: note: %s\n", o.File, why)
	}
	if !ok {
		return nil
	}
	return writeFile(o.Other, func(w io.Writer) error {
		_, err := io.WriteString(w, other)
		return err
	})
}

func printHabits(w io.Writer, habits []report.SheetHabit) {
	if len(habits) == 0 {
		return
	}
	fmt.Fprintf(w, "\nwhat a horse learns by heart, and may do before it is asked (--other writes another order to practise):\n")
	for _, h := range habits {
		fmt.Fprintf(w, "    %s:", h.Words)
		for i, p := range h.Places {
			fmt.Fprintf(w, "%s movement %d", []string{"", ","}[min(i, 1)], p.Movement)
			if p.Letter != "" {
				fmt.Fprintf(w, " at %s", p.Letter)
			}
		}
		fmt.Fprintln(w)
	}
}

// clock writes seconds as minutes and seconds.
func clock(s float64) string {
	n := int(s + 0.5)
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}
