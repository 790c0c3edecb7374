package judging

import (
	"fmt"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// Warning is a movement at risk of a zero or a very low mark, and what rescues it.
type Warning struct {
	Movement int    `json:"movement"`
	Risk     string `json:"risk"`   // id of the risk in the vocabulary
	Mark     string `json:"mark"`   // what it brings
	Rescue   string `json:"rescue"` // what to do
	Evidence string `json:"evidence"`
	Source   string `json:"source"`
}

// veryLow is the mark at and below which a movement is warned of without any fault named.
const veryLow Tenths = 40

// Risks warns of movements that are heading for a zero or a very low mark: faults seen or
// said (of each movement) that announce it, and marks of 4 and below. Faults are keyed by
// movement number.
func Risks(plan *rideplan.Plan, faults map[int][]terms.Fault, card Card) []Warning {
	var out []Warning
	for _, m := range plan.Movements {
		named := false
		for _, r := range terms.Words().Risks {
			f, ok := announces(r, m.Kinds(), faults[m.Number])
			if !ok {
				continue
			}
			named = true
			out = append(out, Warning{Movement: m.Number, Risk: r.ID, Mark: r.Mark, Rescue: r.Rescue, Evidence: fmt.Sprintf("%q", f), Source: r.Source})
		}
		if low, judge, ok := lowest(card, m.Number); ok && low <= veryLow && !named {
			w := Warning{Movement: m.Number, Risk: "very low mark", Mark: low.String(), Evidence: fmt.Sprintf("%s from %s", low, judge), Source: "the marks"}
			for _, r := range terms.Words().Risks {
				if (terms.Word{Kinds: r.Kinds}).Special(m.Kinds()) {
					w.Risk, w.Rescue, w.Source = r.ID, r.Rescue, r.Source
					break
				}
			}
			out = append(out, w)
		}
	}
	return out
}

func announces(r terms.Risk, kinds []terms.Kind, faults []terms.Fault) (terms.Fault, bool) {
	if !(terms.Word{Kinds: r.Kinds}).At(kinds) {
		return "", false
	}
	for _, f := range faults {
		for _, a := range r.Faults {
			if f == a {
				return f, true
			}
		}
	}
	return "", false
}

func lowest(card Card, movement int) (Tenths, string, bool) {
	low, judge, ok := Tenths(0), "", false
	for _, m := range card.Marks {
		if m.Collective == "" && m.Movement == movement && (!ok || m.Mark < low) {
			low, judge, ok = m.Mark, m.Judge, true
		}
	}
	return low, judge, ok
}
