package report

import (
	"fmt"
	"math"

	"ringcraft/internal/measure"
)

// PaceRow is one variety of a pace over the whole ride, as it is read.
type PaceRow struct {
	Name   string
	For    string // how much of it was measured
	Speed  PaceCell
	Tempo  PaceCell // empty where no strides were counted
	Spread PaceCell
	Stride PaceCell
	Words  string // what became of the strides beside the usual form of the pace; "" where there is nothing to say
}

// Cells are the row's numbers in the order of its columns.
func (r PaceRow) Cells() []PaceCell { return []PaceCell{r.Speed, r.Tempo, r.Spread, r.Stride} }

// PaceCell is a number with its doubt and what is usual for the horse, each "" where not known.
type PaceCell struct{ Value, Doubt, Usual string }

// Words are the number with its unit, its doubt and what is usual.
func (c PaceCell) Words(unit string) string {
	out := c.Value + " " + unit + ", give or take " + c.Doubt
	if c.Usual != "" {
		out += " (" + c.Usual + ")"
	}
	return out
}

// PaceRows are the paces of a ride for a table. counted says whether any has strides.
func PaceRows(d *ReviewDoc) (rows []PaceRow, counted bool) {
	for _, x := range d.Paces {
		r := PaceRow{Name: x.Variety, For: paceTime(x), Speed: paceCell(&x.Speed, 2), Tempo: paceCell(x.Tempo, 1), Spread: paceCell(x.Regular, 1), Stride: paceCell(x.Length, 2), Words: PaceWords(x)}
		counted = counted || x.Strides > 0
		rows = append(rows, r)
	}
	return rows, counted
}

func paceTime(x measure.PaceRidden) string {
	if x.Strides > 0 {
		return fmt.Sprintf("%d strides", x.Strides)
	}
	return fmt.Sprintf("%.0f s", x.Seconds)
}

func paceCell(f *measure.PaceFigure, places int) (c PaceCell) {
	if f == nil {
		return c
	}
	c.Value = decimals(f.Value, places)
	c.Doubt = decimals(math.Max(f.Sigma, math.Pow(10, float64(-places))), places)
	if f.Usual != nil {
		c.Usual = decimals(*f.Usual, places)
	}
	return c
}

// PaceWords says what became of the strides in a bigger pace; "" where nothing was compared.
func PaceWords(x measure.PaceRidden) string {
	a := x.Against
	if a == nil {
		return ""
	}
	usual := ""
	if a.Longer.Usual != nil {
		usual = fmt.Sprintf(" (usual %s)", decimals(*a.Longer.Usual, 2))
	}
	number, doubt := sizeAndDoubt(a.Longer.Value, "m", &a.Longer.Sigma)
	which := "longer"
	if a.Longer.Value < 0 {
		which = "shorter"
	}
	quick, slack := sizeAndDoubt(a.Quicker.Value, "%", &a.Quicker.Sigma)
	how := "quicker"
	if a.Quicker.Value < 0 {
		how = "slower"
	}
	verdict := a.Verdict
	switch a.Verdict {
	case measure.CannotTell:
		verdict = "too close to call"
	case measure.LongerStrides:
		verdict = "longer strides, the tempo kept"
	case measure.Quickened:
		verdict = "hurried more than lengthened"
		if a.Longer.Value > 0 && a.Longer.Usual != nil && a.Longer.Value > *a.Longer.Usual/2 {
			verdict = "longer strides, but hurried"
		}
	}
	return fmt.Sprintf("Beside %s: strides %s %s%s%s; tempo %s %s%s: %s.", a.Variety, number, which, doubt, usual, quick, how, slack, verdict)
}
