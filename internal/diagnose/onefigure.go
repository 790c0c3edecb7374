package diagnose

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/measure"
	"ringcraft/internal/terms"
)

// oneFigure says which measured faults of a figure come from its shape: they share one charge.
type oneFigure struct {
	Begins string        `json:"begins"` // how the names of its measures begin
	Size   string        `json:"size"`   // measure of the size across, metres
	Place  string        `json:"place"`  // measure of how far the centre is off, metres
	Faults []terms.Fault `json:"faults"`
	Source string        `json:"source"`
}

// oneDirection settles faults that exclude each other: a figure cannot be too large and too small,
// or late and early. What was measured is charged, else what is surest; the other is shown as a
// contradiction and not charged.
func oneDirection(number int, list []finding) (out []finding, notes []string) {
	dropped := make([]bool, len(list))
	for i := range list {
		for j := range list {
			f, g := &list[i], &list[j]
			if i == j || dropped[i] || dropped[j] || !opposite(f.fault, g.fault) || !beats(*f, *g, i < j) {
				continue
			}
			dropped[j] = true
			how := "was the surer"
			if f.measured {
				how = "was measured"
			}
			f.evidence = append(f.evidence, g.evidence...)
			f.evidence = append(f.evidence, fmt.Sprintf("%q is the other direction: not charged", g.fault))
			notes = append(notes, fmt.Sprintf("movement %d: a contradiction: %q was said, but %q %s; only the second is charged", number, g.fault, f.fault, how))
		}
	}
	for i := range list {
		if !dropped[i] {
			out = append(out, list[i])
		}
	}
	return out, notes
}

// beats reports whether f is charged and g, its opposite, is not. Two measured opposites are two
// figures of one movement, so both stand.
func beats(f, g finding, first bool) bool {
	switch {
	case f.measured && g.measured:
		return false
	case f.measured != g.measured:
		return f.measured
	case f.sure != g.sure:
		return f.sure > g.sure
	}
	return first
}

// opposite reports whether two faults, or other names of them, exclude each other.
func opposite(a, b terms.Fault) bool {
	for _, o := range reasonsFile.Opposites {
		x, y := o.Faults[0], o.Faults[1]
		if alike(a, x) && alike(b, y) || alike(a, y) && alike(b, x) {
			return true
		}
	}
	return false
}

// shareCharge joins the measured faults of one figure under the largest of them. The place of the
// centre joins only as far as the size explains it: a circle that touches the track and is 2 m too
// large must have its centre 1 m off.
func shareCharge(list []finding, ms []measure.Measure) []finding {
	for _, fig := range reasonsFile.Figures {
		var lead *finding
		for i := range list {
			f := &list[i]
			if shared(*f, fig, ms) && (lead == nil || costOf(f.fault).Cost*f.times > costOf(lead.fault).Cost*lead.times) {
				lead = f
			}
		}
		if lead == nil {
			continue
		}
		var out []finding
		at := -1
		for _, f := range list {
			switch {
			case f.fault == lead.fault:
				at, out = len(out), append(out, f)
			case !shared(f, fig, ms):
				out = append(out, f)
			}
		}
		for _, f := range list {
			if f.fault != lead.fault && shared(f, fig, ms) {
				out[at].evidence, out[at].from = append(out[at].evidence, f.evidence...), append(out[at].from, f.from...)
				out[at].evidence = append(out[at].evidence, fmt.Sprintf("%q comes from the same shape of the same figure: charged once", f.fault))
			}
		}
		list = out
	}
	return list
}

// shared reports whether a finding was measured on this figure alone and comes from its shape.
func shared(f finding, fig oneFigure, ms []measure.Measure) bool {
	if !f.measured || !hasFault(fig.Faults, f.fault) {
		return false
	}
	for _, what := range f.from {
		if !strings.HasPrefix(what, fig.Begins) || strings.HasPrefix(what, fig.Place) && !explainedBySize(fig, ms) {
			return false
		}
	}
	return true
}

// explainedBySize reports whether the centre is off by no more than half the miss of the size and
// what a judge lets pass of the place.
func explainedBySize(fig oneFigure, ms []measure.Measure) bool {
	var implied float64
	known := false
	for _, m := range ms {
		if m.Value == nil || m.Asked == nil || !strings.HasPrefix(m.What, fig.Size) {
			continue
		}
		implied, known = math.Max(implied, math.Abs(*m.Value-*m.Asked)/2), true
	}
	for _, m := range ms {
		if m.Value == nil || m.Tolerance == nil || !strings.HasPrefix(m.What, fig.Place) {
			continue
		}
		if math.Abs(*m.Value)-implied > *m.Tolerance {
			return false
		}
	}
	return known
}
