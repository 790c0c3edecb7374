package report

import (
	"testing"

	"ringcraft/internal/measure"
)

func TestPaceWords(t *testing.T) {
	usual := 0.53
	for _, c := range []struct {
		longer, quicker, sd float64
		verdict, want       string
	}{
		{0.5, 1.2, 0.3, measure.LongerStrides, "Beside working trot: strides 0.50 m longer, give or take 0.02 (usual 0.53); tempo 1.2 % quicker, give or take 0.3: longer strides, the tempo kept."},
		{0.1, 9.4, 0.3, measure.Quickened, "Beside working trot: strides 0.10 m longer, give or take 0.02 (usual 0.53); tempo 9.4 % quicker, give or take 0.3: hurried more than lengthened."},
		{0.4, 9.4, 0.3, measure.Quickened, "Beside working trot: strides 0.40 m longer, give or take 0.02 (usual 0.53); tempo 9.4 % quicker, give or take 0.3: longer strides, but hurried."},
		{-0.05, -1, 0.3, measure.NoLonger, "Beside working trot: strides 0.05 m shorter, give or take 0.02 (usual 0.53); tempo 1.0 % slower, give or take 0.3: strides hardly longer."},
		{0.2, 5.5, 0.9, measure.CannotTell, "Beside working trot: strides 0.20 m longer, give or take 0.02 (usual 0.53); tempo 5.5 % quicker, give or take 0.9: too close to call."},
	} {
		x := measure.PaceRidden{Against: &measure.PaceChange{Variety: "working trot", Verdict: c.verdict,
			Longer: measure.PaceFigure{Value: c.longer, Sigma: 0.02, Usual: &usual}, Quicker: measure.PaceFigure{Value: c.quicker, Sigma: c.sd}}}
		if got := PaceWords(x); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
	if got := PaceWords(measure.PaceRidden{}); got != "" {
		t.Errorf("nothing compared: %q", got)
	}
}

func TestPaceRows(t *testing.T) {
	usual := 3.6
	d := &ReviewDoc{Paces: []measure.PaceRidden{
		{Variety: "working trot", Seconds: 61.4, Strides: 80, Speed: measure.PaceFigure{Value: 3.578, Sigma: 0.002, Usual: &usual}, Tempo: &measure.PaceFigure{Value: 79.23, Sigma: 0.14}},
		{Variety: "medium walk", Seconds: 31.6, Speed: measure.PaceFigure{Value: 1.7, Sigma: 0.02}},
	}}
	rows, counted := PaceRows(d)
	if !counted || len(rows) != 2 || rows[0].For != "80 strides" || rows[1].For != "32 s" {
		t.Fatalf("rows: %+v", rows)
	}
	if got := rows[0].Speed.Words("m/s"); got != "3.58 m/s, give or take 0.01 (3.60)" {
		t.Errorf("speed: %s", got)
	}
	if rows[1].Tempo.Value != "" || rows[1].Stride.Value != "" {
		t.Errorf("no strides were counted: %+v", rows[1])
	}
}
