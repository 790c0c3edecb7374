package report

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/judging"
)

// JudgesAgree says how alike the judges of one ride marked, over the movements that each of them
// marked.
type JudgesAgree struct {
	Movements int `json:"movements"`
	// MarkSD is how far one judge's mark lies from the panel's mean of that movement, as a standard
	// deviation in marks, levels included.
	MarkSD float64 `json:"mark_sd"`
	// OneICC is the intraclass correlation (2,1) of Shrout and Fleiss (1979): how far one judge's mark
	// tells movements of this ride apart as another's would, levels counted as disagreement; 1 is wholly.
	OneICC float64     `json:"one_icc"`
	Leans  []JudgeLean `json:"leans"`
	// Furthest is the movement on which they lie furthest apart, the first of several.
	Furthest JudgesApart `json:"furthest"`
}

// JudgeLean is how much a judge marked above the panel's mean, in marks.
type JudgeLean struct {
	Judge string  `json:"judge"`
	Place string  `json:"place"`
	Lean  float64 `json:"lean"`
}

// JudgesApart are the lowest and highest mark of one movement.
type JudgesApart struct {
	Movement int     `json:"movement"`
	From     float64 `json:"from"`
	To       float64 `json:"to"`
}

// fewestForAgreement is how many movements all judges must have marked: with fewer, one odd mark
// decides everything (common practice, no source).
const fewestForAgreement = 6

// agreement is nil for one judge alone or too few movements that all of them marked.
func agreement(t *ReviewTotal, ms []ReviewMovement) *JudgesAgree {
	if t == nil || len(t.Judges) < 2 {
		return nil
	}
	var table [][]float64
	var numbers []int
	for _, m := range ms {
		if row := marksBy(t.Judges, m.Marks); row != nil {
			table, numbers = append(table, row), append(numbers, m.Number)
		}
	}
	a, ok := judging.Agree(table)
	if !ok || len(table) < fewestForAgreement {
		return nil
	}
	out := &JudgesAgree{Movements: a.Targets, MarkSD: round(a.JudgeSD, 2), OneICC: round(a.Two1, 2)}
	for i, j := range t.Judges {
		out.Leans = append(out.Leans, JudgeLean{j.Judge, j.Place, round(a.Lean[i], 2)})
	}
	for i, row := range table {
		from, to := math.Inf(1), math.Inf(-1)
		for _, v := range row {
			from, to = math.Min(from, v), math.Max(to, v)
		}
		if i == 0 || to-from > out.Furthest.To-out.Furthest.From {
			out.Furthest = JudgesApart{numbers[i], from, to}
		}
	}
	return out
}

// marksBy are the marks of a movement in the order of the judges; nil where one is missing.
func marksBy(judges []ReviewJudge, marks []ReviewMark) []float64 {
	var row []float64
	for _, j := range judges {
		for _, k := range marks {
			if k.Judge == j.Judge && k.Place == j.Place {
				row = append(row, k.Mark)
				break
			}
		}
	}
	if len(row) < len(judges) {
		return nil
	}
	return row
}

// Words is a sentence or two: "Over the 14 movements that every judge marked, a mark lies about 0.3 ...".
func (a *JudgesAgree) Words() string {
	leans := make([]string, len(a.Leans))
	for i, l := range a.Leans {
		name := l.Judge
		if l.Place != "" && l.Place != l.Judge {
			name += " at " + l.Place
		}
		switch {
		case l.Lean >= 0.05:
			leans[i] = fmt.Sprintf("%s %s above", name, decimals(l.Lean, 1))
		case l.Lean <= -0.05:
			leans[i] = fmt.Sprintf("%s %s below", name, decimals(-l.Lean, 1))
		default:
			leans[i] = name + " level"
		}
	}
	out := fmt.Sprintf("Over the %d movements that every judge marked, a mark lies about %s from the judges' mean (%s).", a.Movements, decimals(a.MarkSD, 1), strings.Join(leans, ", "))
	if apart := a.Furthest; apart.To > apart.From {
		out += fmt.Sprintf(" Furthest apart: movement %d, %s and %s.", apart.Movement, decimals(apart.From, 1), decimals(apart.To, 1))
	}
	return out
}
