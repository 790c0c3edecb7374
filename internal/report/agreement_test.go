package report

import (
	"math"
	"testing"
)

// TestJudgesAgree: four judges and six targets of Shrout and Fleiss (1979, table 1), whose ICC(2,1) is .29.
func TestJudgesAgree(t *testing.T) {
	table := [][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}
	judges := []ReviewJudge{{Judge: "C"}, {Judge: "E"}, {Judge: "B"}, {Judge: "H"}}
	var ms []ReviewMovement
	for i, row := range table {
		m := ReviewMovement{Number: i + 1}
		for j := range row {
			k := len(row) - 1 - j // in another order than the judges
			m.Marks = append(m.Marks, ReviewMark{Judge: judges[k].Judge, Mark: row[k]})
		}
		ms = append(ms, m)
	}
	a := agreement(&ReviewTotal{Judges: judges}, ms)
	if a == nil || math.Abs(a.OneICC-0.29) > 0.005 || a.Movements != 6 || a.Furthest != (JudgesApart{1, 2, 9}) {
		t.Fatalf("%+v", a)
	}
	want := "Over the 6 movements that every judge marked, a mark lies about 2.5 from the judges' mean (C 2.4 above, E 2.8 below, B 1.0 below, H 1.4 above). Furthest apart: movement 1, 2.0 and 9.0."
	if got := a.Words(); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	// one movement that a judge left out is left out; with five left nothing is said
	ms[2].Marks = ms[2].Marks[1:]
	if a := agreement(&ReviewTotal{Judges: judges}, ms); a != nil {
		t.Errorf("of five movements: %+v", a)
	}
	if a := agreement(&ReviewTotal{Judges: judges[:1]}, ms); a != nil {
		t.Errorf("of one judge: %+v", a)
	}
}
