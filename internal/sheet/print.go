package sheet

import (
	"fmt"
	"strings"
)

// Print writes a sheet in its plain form: headers, then one part a line with tabs between
// number, letters, wording, directive and coefficient. Parse(Print(f)) says the same as f.
// Comments keep their place by line order.
func Print(f *File) string {
	s := printOnce(f)
	for range 6 { // odd input may show new columns once its blanks are collapsed; settle
		t := printOnce(Parse(f.Path, []byte(s)))
		if t == s {
			break
		}
		s = t
	}
	return s
}

func printOnce(f *File) string {
	var b strings.Builder
	c := 0
	comments := func(before int) {
		for c < len(f.Comments) && f.Comments[c].Line < before {
			fmt.Fprintf(&b, "# %s\n", f.Comments[c].Text)
			c++
		}
	}
	for _, h := range f.Headers {
		comments(h.Line)
		fmt.Fprintf(&b, "%s: %s\n", h.Key, h.Value)
	}
	for _, k := range f.Collectives {
		fmt.Fprintf(&b, "collective: %s%s\n", k.Name, coefficient(k.Coefficient, " "))
	}
	if hasDirectives(f) {
		b.WriteString(english.directives + "\n")
	}
	for _, m := range f.Movements {
		printMovement(&b, m, comments)
	}
	comments(1 << 30)
	return b.String()
}

func hasDirectives(f *File) bool {
	for _, m := range f.Movements {
		for _, p := range m.Parts {
			if p.Directive != "" {
				return true
			}
		}
	}
	return false
}

func printMovement(b *strings.Builder, m Movement, comments func(int)) {
	if len(m.Parts) == 0 {
		comments(m.Line)
		fmt.Fprintf(b, "%d%s\n", m.Number, coefficient(m.Coefficient, "\t"))
	}
	for i, p := range m.Parts {
		comments(p.Line)
		if i == 0 {
			fmt.Fprint(b, m.Number)
		}
		b.WriteByte('\t')
		if p.Letters != "" {
			b.WriteString(oneLine(p.Letters) + "\t")
		}
		b.WriteString(oneLine(p.Text))
		if p.Directive != "" {
			b.WriteString("\t" + oneLine(p.Directive))
		}
		if i == 0 && m.MaxMark != 10 {
			fmt.Fprintf(b, "\t%d", m.MaxMark)
		}
		if i == 0 {
			b.WriteString(coefficient(m.Coefficient, "\t"))
		}
		b.WriteByte('\n')
	}
}

func coefficient(n int, gap string) string {
	if n <= 1 {
		return ""
	}
	return fmt.Sprintf("%sx%d", gap, n)
}

// oneLine collapses blanks, which would otherwise part columns.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
