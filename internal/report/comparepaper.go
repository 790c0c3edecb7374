package report

import (
	"fmt"
	"io"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/measure"
)

// CompareRow is one movement of a comparison in words.
type CompareRow struct {
	Number   int
	Mark     string
	Measures []string
	Verdict  string
	Reason   string
}

// CompareHTML writes a comparison as one page; facts names the horse, rider and days.
func CompareHTML(w io.Writer, c diagnose.Comparison, facts string) error {
	v := struct {
		htmlHead
		Headline, Facts   string
		Summary, Cautions []string
		Rows              []CompareRow
	}{htmlHead: head(c.Sheet + ": before and after"), Headline: compareHeadline(c), Facts: facts, Summary: c.Summary, Cautions: compareCautions(c), Rows: CompareRows(c)}
	return htmlPages().ExecuteTemplate(w, "compare", v)
}

// ComparePDF writes a comparison on paper.
func ComparePDF(w io.Writer, c diagnose.Comparison, facts string) error {
	p := newPages(c.Sheet+": before and after", c.Sheet)
	p.title(compareHeadline(c), facts)
	for _, s := range c.Summary {
		p.bullet("–", 3.6, s)
	}
	for _, s := range compareCautions(c) {
		p.careful(3.4, s)
	}
	p.y += 2
	var rows [][]string
	for _, r := range CompareRows(c) {
		words := strings.Join(r.Measures, "; ")
		if words == "" {
			words = r.Reason
		}
		rows = append(rows, []string{fmt.Sprint(r.Number), r.Mark, r.Verdict, words})
	}
	p.table([]column{{"", 10, true}, {"marks", 16, true}, {"verdict", 36, true}, {"what changed", p.width() - 62, false}}, rows, 3.2, 6)
	return p.finish(w)
}

func compareHeadline(c diagnose.Comparison) string {
	out := c.Sheet + ": " + c.Total.Verdict
	if c.Total.Change != nil {
		out += ", " + Signed(*c.Total.Change, 1) + "\u00a0%"
		if c.Total.Sigma != nil {
			out += ", give or take " + decimals(*c.Total.Sigma, 1)
		}
	}
	return out
}

func compareCautions(c diagnose.Comparison) []string {
	out := append([]string{}, c.Caution...)
	if c.Simulated {
		out = append(out, "At least one of these rides was made by a simulator.")
	}
	return out
}

// CompareRows says a comparison movement by movement: what changed by more than noise in words, the rest
// counted.
func CompareRows(c diagnose.Comparison) []CompareRow {
	var out []CompareRow
	for _, m := range c.Movements {
		r := CompareRow{Number: m.Number, Verdict: m.Verdict, Reason: m.Reason}
		if m.MarkChange != nil {
			r.Mark = Signed(*m.MarkChange, 1)
		}
		within, unknown := 0, 0
		for _, x := range m.Measures {
			switch {
			case x.Before == nil || x.After == nil || x.Verdict == measure.CannotTell:
				unknown++
				continue
			case x.Verdict == diagnose.NoiseOnly:
				within++
				continue
			}
			words := fmt.Sprintf("%s %s, then %s: %s", x.What, withUnit(decimals(*x.Before, 1), x.Unit), withUnit(decimals(*x.After, 1), x.Unit), x.Verdict)
			if x.Sigma != nil {
				words += fmt.Sprintf(" (change give or take %s)", decimals(*x.Sigma, 1))
			}
			r.Measures = append(r.Measures, words)
		}
		if within > 0 {
			r.Measures = append(r.Measures, plural(within, "measure", "measures")+" changed no more than noise")
		}
		if unknown > 0 {
			r.Measures = append(r.Measures, plural(unknown, "measure", "measures")+" cannot be compared")
		}
		out = append(out, r)
	}
	return out
}
