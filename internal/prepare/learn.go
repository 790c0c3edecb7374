package prepare

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"ringcraft/internal/diagnose"
)

// Learnt is what an exercise brought one combination: the factor on its prior gain, over so
// many ride-to-ride changes.
type Learnt struct {
	Exercise string  `json:"exercise"`
	Factor   float64 `json:"factor"`
	Rides    int     `json:"rides"`
	Words    string  `json:"words"`
}

// LessonDone is a lesson between two rides: what was ridden, and what changed after.
type LessonDone struct {
	Exercises []string            `json:"exercises"` // ids
	Change    diagnose.Comparison `json:"change"`
	// Movements says what each number of the sheet holds.
	Movements []MovementInfo `json:"-"`
}

// WhichPaid says of each exercise whether the movements it serves improved more than those
// it does not serve, over all lessons. Each difference is noisy, so the factor is shrunk
// towards 1 by the number of changes; with few of them the words say so.
func WhichPaid(done []LessonDone) []Learnt {
	gains := map[string][]float64{}
	for _, d := range done {
		for _, id := range d.Exercises {
			e, ok := ExerciseByID(id)
			if !ok {
				continue
			}
			if g, ok := contrast(e, d); ok {
				gains[id] = append(gains[id], g)
			}
		}
	}
	var out []Learnt
	for _, id := range sortedKeys(gains) {
		out = append(out, learntFrom(id, gains[id]))
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Factor > out[j].Factor })
	return out
}

// contrast is the mean change of the movements an exercise serves minus that of the others,
// in marks; measured changes count where there are any, one mark for better or worse.
func contrast(e Exercise, d LessonDone) (float64, bool) {
	var served, other []float64
	for _, m := range d.Change.Movements {
		v, ok := changeOf(m)
		if !ok {
			continue
		}
		for _, i := range d.Movements {
			if i.Number != m.Number {
				continue
			}
			if sharesKind(e.Serves.Kinds, i.Kinds) {
				served = append(served, v)
			} else {
				other = append(other, v)
			}
		}
	}
	if len(served) == 0 || len(other) == 0 {
		return 0, false
	}
	return mean(served) - mean(other), true
}

func changeOf(m diagnose.MovementChange) (float64, bool) {
	sum, n := 0.0, 0
	for _, c := range m.Measures {
		if c.Change == nil {
			continue
		}
		n++
		switch c.Verdict {
		case diagnose.Better:
			sum++
		case diagnose.Worse:
			sum--
		}
	}
	if n > 0 {
		return sum / float64(n), true
	}
	if m.MarkChange == nil {
		return 0, false
	}
	return *m.MarkChange, true
}

func mean(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}

func learntFrom(id string, g []float64) Learnt {
	n := float64(len(g))
	m := mean(g)
	factor := (n*math.Max(0, 1+m) + gainRules.ShrinkRides) / (n + gainRules.ShrinkRides)
	l := Learnt{Exercise: id, Factor: math.Round(1000*factor) / 1000, Rides: len(g)}
	e, _ := ExerciseByID(id)
	switch {
	case len(g) < 3:
		l.Words = fmt.Sprintf("%s: %d change only, too few to say whether it paid", e.Title, len(g))
	case m > 0.3:
		l.Words = fmt.Sprintf("%s seems to have paid: what it serves improved by %.1f of a mark more than the rest, over %d changes", e.Title, m, len(g))
	case m < -0.3:
		l.Words = fmt.Sprintf("%s does not seem to pay: what it serves did %.1f of a mark worse than the rest, over %d changes", e.Title, -m, len(g))
	default:
		l.Words = fmt.Sprintf("%s: no difference from the rest over %d changes", e.Title, len(g))
	}
	return l
}

func learntFactor(ls []Learnt, id string) float64 {
	if i := slices.IndexFunc(ls, func(l Learnt) bool { return l.Exercise == id }); i >= 0 {
		return ls[i].Factor
	}
	return 1
}

func gainWords(ls []Learnt, id string) string {
	if i := slices.IndexFunc(ls, func(l Learnt) bool { return l.Exercise == id }); i >= 0 {
		return fmt.Sprintf("prior moved by %d changes of this combination", ls[i].Rides)
	}
	return "a prior, not yet learnt from this combination"
}
