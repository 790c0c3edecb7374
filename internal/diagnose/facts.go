package diagnose

import (
	"ringcraft/internal/measure"
	"ringcraft/internal/terms"
)

// RideFacts is what comparing, trends and a horse's usual marks need to know of one ride.
type RideFacts struct {
	ID          string  `json:"id,omitempty"`
	Day         float64 `json:"day,omitempty"` // days since any fixed day; orders rides and spaces trends
	Sheet       string  `json:"sheet"`
	SheetText   string  `json:"sheet_text,omitempty"`
	Show        bool    `json:"show,omitempty"`  // marked by a judge at a show
	Blind       bool    `json:"blind,omitempty"` // marked from a recording in shuffled order
	Simulated   bool    `json:"simulated,omitempty"`
	MaxPoints   int     `json:"max_points,omitempty"` // 10 x coefficients; 0: summed from the movements
	Combination string  `json:"combination,omitempty"`
	// Percent is the total as the rule set makes it; nil: from the movements' marks.
	Percent *float64 `json:"percent,omitempty"`
	// Taught says whether the person who marked this ride also taught since the ride it is
	// compared with. Nil: yes when the same single person marked both and neither is a show.
	Taught *bool `json:"taught,omitempty"`
	// CommonSDM is the doubt in metres that all places of this ride share (placement and
	// slow wander of the recorder); it is part of each place's own sigma.
	CommonSDM float64         `json:"common_sd_m,omitempty"`
	Movements []MovementFacts `json:"movements"`
}

// MovementFacts is one movement of a ride.
type MovementFacts struct {
	Number      int               `json:"number"`
	Text        string            `json:"text,omitempty"`
	Kinds       []terms.Kind      `json:"kinds,omitempty"`
	Coefficient int               `json:"coefficient"`
	Marks       []JudgeMark       `json:"marks,omitempty"`
	Measures    []measure.Measure `json:"measures,omitempty"`
	Faults      []terms.Fault     `json:"faults,omitempty"` // seen, said or measured
}

// JudgeMark is one judge's mark for a movement.
type JudgeMark struct {
	Judge string  `json:"judge"`
	Mark  float64 `json:"mark"`
}

// MeanMark is the mean over the judges; ok is false without a mark.
func (m MovementFacts) MeanMark() (mark float64, ok bool) {
	for _, j := range m.Marks {
		mark += j.Mark
	}
	if len(m.Marks) == 0 {
		return 0, false
	}
	return mark / float64(len(m.Marks)), true
}

// FaultsShown are the faults noted of the movement and those that its measures name, each
// once.
func (m MovementFacts) FaultsShown() []terms.Fault {
	out := append([]terms.Fault(nil), m.Faults...)
	for _, x := range m.Measures {
		if f, ok := measuredFault(m.Number, x); ok && !hasFault(out, f.fault) {
			out = append(out, f.fault)
		}
	}
	return out
}

// judges lists who marked the ride, in order of appearance.
func (r RideFacts) judges() []string {
	var out []string
	seen := map[string]bool{}
	for _, m := range r.Movements {
		for _, j := range m.Marks {
			if !seen[j.Judge] {
				seen[j.Judge] = true
				out = append(out, j.Judge)
			}
		}
	}
	return out
}

func (r RideFacts) movement(number int) *MovementFacts {
	for i := range r.Movements {
		if r.Movements[i].Number == number {
			return &r.Movements[i]
		}
	}
	return nil
}

// points returns the largest possible points of the movements, in marks times coefficients.
func (r RideFacts) points() float64 {
	if r.MaxPoints > 0 {
		return float64(r.MaxPoints)
	}
	sum := 0
	for _, m := range r.Movements {
		sum += 10 * m.Coefficient
	}
	return float64(sum)
}
