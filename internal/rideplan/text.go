package rideplan

import (
	"fmt"
	"strings"

	"ringcraft/internal/sheet"
)

// Text prints the plan as stable readable lines: the boxes with their times, readings and
// figures, then the problems. Golden tests and people compare it.
func (p *Plan) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %g x %g m, level %s, inset %.2f m\n", p.Name, float64(p.Board.Width), float64(p.Board.Length), p.Level, float64(p.Inset))
	fmt.Fprintf(&b, "total %.1f s, %.1f m, max %d points\n", float64(p.Total), float64(p.Length), p.MaxPoints)
	for _, m := range p.Movements {
		fmt.Fprintf(&b, "\n%d  %s  %s", m.Number, m.Letters, m.Text)
		if m.Coefficient > 1 {
			fmt.Fprintf(&b, "  x%d", m.Coefficient)
		}
		fmt.Fprintf(&b, "\n   %.1f-%.1f s  %.1f-%.1f m  %.1f strides\n   %s\n", float64(m.StartS), float64(m.EndS), float64(m.StartM), float64(m.EndM), m.Strides, m.Reading)
		for _, f := range m.Figures {
			fmt.Fprintf(&b, "   - %s\n", f)
		}
		for _, d := range m.Demands {
			fmt.Fprintf(&b, "   ! %s at %s: needs %.1f s, has %.1f s, pressure %.2f, prepare from %.1f m\n", d.What, d.Letter, float64(d.Needs), float64(d.Has), d.Pressure, float64(d.PrepareM))
		}
	}
	for _, q := range p.Problems {
		fmt.Fprintf(&b, "%s\n", q)
	}
	return b.String()
}

// wordsInOrder are the sheet's own words of a box in the order of the sheet, each once: letters
// stay with their own wording, also where a part has none.
func wordsInOrder(m sheet.Movement) string {
	var out []string
	for _, p := range m.Parts {
		if w := strings.TrimSpace(p.Letters + " " + p.Text); w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, "; ")
}

// String says a figure in one line.
func (f Figure) String() string {
	var w []string
	add := func(format string, args ...any) { w = append(w, fmt.Sprintf(format, args...)) }
	add("%s", f.Kind)
	if f.At != "" || f.To != "" {
		add("%s", strings.Trim(f.At+"-"+f.To, "-"))
	}
	if f.From != "" {
		add("%s to %s", f.From, f.Variety)
	} else {
		add("in %s", f.Variety)
	}
	for _, h := range []struct {
		name string
		h    Hand
	}{{"hand", f.Hand}, {"bend", f.Bend}, {"lead", f.Lead}} {
		if h.h != NoHand {
			add("%s %s", h.name, h.h)
		}
	}
	if f.Nominal > 0 {
		add("nominal %g m asked %.2f m", float64(f.Nominal), float64(f.Asked))
	}
	if f.Angle > 0 {
		add("angle %.0f", f.Angle.Deg())
	}
	if f.Count > 0 {
		add("count %d", f.Count)
	}
	if f.Between {
		add("between")
	}
	add("at (%.2f,%.2f) %.1f-%.1f m %.1f-%.1f s", f.Place.X, f.Place.Y, float64(f.StartM), float64(f.EndM), float64(f.StartS), float64(f.EndS))
	return strings.Join(w, ", ")
}
