package logbook

import (
	"ringcraft/internal/diagnose"
	"ringcraft/internal/report"
	"ringcraft/internal/terms"
)

// FactsOf takes from a review what comparing rides and following them over weeks need.
func FactsOf(d *report.ReviewDoc) diagnose.RideFacts {
	f := diagnose.RideFacts{Sheet: d.Sheet, SheetText: d.SheetText, Simulated: d.Simulated}
	if d.Total != nil {
		percent := d.Total.Percent
		f.Percent, f.MaxPoints = &percent, d.Total.Of
	}
	if r := d.Recording; r != nil {
		f.CommonSDM = r.SharedSDM
	}
	for _, m := range d.Movements {
		f.Movements = append(f.Movements, movementFacts(m))
	}
	return f
}

func movementFacts(m report.ReviewMovement) diagnose.MovementFacts {
	out := diagnose.MovementFacts{Number: m.Number, Text: m.Text, Coefficient: m.Coefficient, Measures: m.Measures}
	for _, k := range m.Kinds {
		out.Kinds = append(out.Kinds, terms.Kind(k))
	}
	for _, k := range m.Marks {
		out.Marks = append(out.Marks, diagnose.JudgeMark{Judge: k.Judge, Mark: k.Mark})
	}
	seen := map[terms.Fault]bool{}
	for _, r := range m.Remarks {
		for _, w := range r.Faults {
			if !seen[w] {
				seen[w] = true
				out.Faults = append(out.Faults, w)
			}
		}
	}
	return out
}
