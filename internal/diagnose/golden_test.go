package diagnose

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"ringcraft/internal/judging"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// An invented test of eight movements, with an invented ride of it.
const goldenSheet = `name: Willow Ford 2
arena: 20 x 40
level: novice
1 | A | Enter in working trot
  | X | Halt, salute. Proceed in working trot
2 | C | Track left
3 | E | Circle left 20 m | x2
4 | FXH | Change the rein, free walk on a long rein
5 | H | Medium walk
6 | C | Working trot
7 | A | Down the centre line
8 | X | Halt, salute
`

func goldenInput() Input {
	p := rideplan.CompileText("golden", goldenSheet, rideplan.Options{})
	in := Input{Plan: p}
	for i, mark := range []int{60, 65, 55, 60, 65, 65, 55, 50} {
		in.Card.Marks = append(in.Card.Marks, judging.Mark{Movement: i + 1, Judge: "C", Mark: judging.Tenths(mark)})
	}
	in.Measures = measure.Set{
		{Number: 1, Measures: []measure.Measure{m("centre line offset", 0.2, 0.2, 0, 0.25, "m", measure.CannotTell), m("halt place", 0.4, 0.15, 0, 0.6, "m", measure.OK), m("halt duration", 1.6, 0.2, 3, 1, "s", "too short")}},
		{Number: 3, Measures: []measure.Measure{m("circle diameter", 20.4, 0.2, 18.4, 0.55, "m", "too large"), m("circle place", 0.6, 0.3, 0, 1, "m", measure.OK)}},
		{Number: 6, Measures: []measure.Measure{m("transition place", 2.6, 0.3, 0, 1.5, "m", "late")}},
		{Number: 7, Measures: []measure.Measure{m("centre line offset", 0.9, 0.15, 0, 0.25, "m", "right of the line")}},
		{Number: 8, Measures: []measure.Measure{m("halt place", 1.9, 0.15, 0, 0.6, "m", "late")}},
	}
	in.Placed = remarks.Placed{Remarks: []remarks.Remark{
		{Movement: 3, AtS: 41, Text: "shoulder drifting out there, too big", Faults: []terms.Fault{"falling out", "circle too large"}, Confidence: 0.9},
		{Movement: 4, AtS: 60, Text: "bit tight, could stretch more", Faults: []terms.Fault{"tense", "no stretch"}, Confidence: 0.85},
		{Movement: 7, AtS: 100, Text: "overshot the turn", Faults: []terms.Fault{"overshot the centre line"}, Confidence: 0.9},
		{Movement: 8, AtS: 108, Text: "left hind out", Faults: []terms.Fault{"hind leg left back"}, Confidence: 0.8},
	}}
	return in
}

// The golden diagnosis is read by a person whenever it changes: UPDATE_GOLDEN=1 writes it.
func TestGoldenDiagnosis(t *testing.T) {
	got, err := json.MarshalIndent(Diagnose(goldenInput()), "", "  ")
	must(t, err)
	got = append(got, '\n')
	path := filepath.Join("testdata", "diagnosis.json")
	if os.Getenv("UPDATE_GOLDEN") != "" {
		must(t, os.MkdirAll("testdata", 0o755))
		must(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	if err != nil || string(want) != string(got) {
		t.Errorf("%s differs from what was read (%v); UPDATE_GOLDEN=1 writes it anew", path, err)
	}
}

func BenchmarkDiagnose(b *testing.B) {
	in := goldenInput()
	for b.Loop() {
		if d := Diagnose(in); len(d.Causes) == 0 {
			b.Fatal("no cause")
		}
	}
}
