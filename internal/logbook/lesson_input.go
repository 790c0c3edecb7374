package logbook

import (
	"ringcraft/internal/diagnose"
	"ringcraft/internal/prepare"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
)

// LessonInput takes from a review what the lesson planner needs: what was lost in which
// movement, on which rein, why, and the sheet itself. The horse's usual ceiling is no need:
// a lesson cannot win it back. The caller adds minutes and circumstances.
func LessonInput(d *report.ReviewDoc, horse prepare.Horse) prepare.LessonInput {
	plan := rideplan.CompileText(d.Sheet, d.SheetText, rideplan.Options{Horse: horse.Profile})
	in := prepare.LessonInput{Causes: d.Causes, Horse: horse, Level: plan.Level, SheetText: d.SheetText, SheetS: float64(plan.Total)}
	if plan.Board != nil {
		in.ArenaLengthM = float64(plan.Board.Length)
	}
	for _, m := range d.Movements {
		box := plan.MovementByNumber(m.Number)
		if box == nil {
			continue
		}
		for _, l := range m.Lost {
			if l.Reach == diagnose.Ceiling {
				continue
			}
			in.Needs = append(in.Needs, prepare.Need{Movement: m.Number, Kinds: box.Kinds(), Coefficient: m.Coefficient,
				MaxPoints: float64(plan.MaxPoints), Rein: oneHand(box), Loss: l})
		}
	}
	return in
}

// oneHand is the rein of a movement whose figures are all on one, else "".
func oneHand(m *rideplan.Movement) string {
	hand := rideplan.NoHand
	for _, f := range m.Figures {
		switch {
		case f.Hand == rideplan.NoHand || f.Hand == hand:
		case hand == rideplan.NoHand:
			hand = f.Hand
		default:
			return ""
		}
	}
	return string(hand)
}
