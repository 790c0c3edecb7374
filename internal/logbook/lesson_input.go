package logbook

import (
	"ringcraft/internal/diagnose"
	"ringcraft/internal/prepare"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
)

// LessonInput takes from a review what the lesson planner needs: what was lost in which
// movement, on which rein, in which pace, why, and the sheet itself. The horse's usual
// ceiling is no need: a lesson cannot win it back. The caller adds minutes and circumstances.
func LessonInput(d *report.ReviewDoc, horse prepare.Horse) prepare.LessonInput {
	plan := rideplan.CompileText(d.Sheet, d.SheetText, rideplan.Options{Horse: horse.Profile})
	in := prepare.LessonInput{Causes: d.Causes, Horse: horse, Level: plan.Level, SheetText: d.SheetText, SheetS: float64(plan.Total)}
	if plan.Board != nil {
		in.ArenaLengthM = float64(plan.Board.Length)
	}
	var lost diagnose.Diagnosis
	var info []prepare.MovementInfo
	for _, m := range d.Movements {
		box := plan.MovementByNumber(m.Number)
		if box == nil {
			continue
		}
		info = append(info, prepare.InfoOf(*box))
		lost.Ledger = append(lost.Ledger, diagnose.MovementLedger{Number: m.Number, Lost: withoutCeiling(m.Lost)})
	}
	in.Needs = prepare.NeedsOf(lost, info, float64(plan.MaxPoints))
	return in
}

func withoutCeiling(all []diagnose.Loss) []diagnose.Loss {
	var out []diagnose.Loss
	for _, l := range all {
		if l.Reach != diagnose.Ceiling {
			out = append(out, l)
		}
	}
	return out
}
