package report

import (
	"bytes"
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/judging"
	"ringcraft/internal/rideplan"
)

const gapSheet = `name: Gap
arena: 20 x 40
1 | A | Enter in working trot
2 | C | Track left
3 | E | Circle left 20 m | x2
4 | A | Down the centre line
  | X | Halt, salute
collective: Rider x2
`

// While marks are missing the points are of what was marked, as the percent is.
func TestPointsOfWhatWasMarked(t *testing.T) {
	plan := rideplan.CompileText("gap", gapSheet, rideplan.Options{})
	rules, err := judging.RulesByID("")
	if err != nil {
		t.Fatal(err)
	}
	total := func(csv string) *ReviewTotal {
		card, _ := judging.ReadMarks("m.csv", []byte("movement,judge,mark,remark\n"+csv), plan, rules)
		return BuildTotal(judging.Score(plan, card, rules))
	}
	if got := total("1,C,6,\n2,C,7,\n3,C,6.5,\n").PointsWords(); got != "26.0 of the 40 points marked so far (the whole sheet has 70)" {
		t.Errorf("%q", got)
	}
	if got := total("1,C,6,\n2,C,7,\n3,C,6.5,\n4,C,6,\ncollective:Rider,C,7,\n").PointsWords(); got != "46.0 of 70 points" {
		t.Errorf("%q", got)
	}
}

// What is tried to tell causes apart is called that on the page, and the remedy is an exercise.
func TestTheTryIsNoRemedy(t *testing.T) {
	doc := &ReviewDoc{Sheet: "Gap", Movements: []ReviewMovement{{Number: 3, Kinds: []string{"circle"}, Coefficient: 1,
		Lost: []diagnose.Loss{{Reason: "circle too large", Fault: "circle too large", Marks: 1, Reach: diagnose.Now, Percent: 1}}}},
		Causes:      []diagnose.Cause{{Cause: "line not planned", Probability: 0.6, Try: "put two cones there", Outcome: "if it is right at once"}},
		Collectives: []ReviewCollective{{Name: "Rider", Coefficient: 2, Lost: []diagnose.Loss{{Reason: "rider looking down", Marks: 0.5, Reach: diagnose.Now, Percent: 1.5}}}}}
	s := Summarise(doc)
	if len(s.Change) != 1 || !strings.HasPrefix(s.Change[0].Remedy, "20 m circle") || s.Change[0].Try == "" {
		t.Errorf("%+v", s.Change)
	}
	if s.Where[0].Marks != 2 || s.Where[0].Percent != 2.5 { // 1 in the movement, 0.5 twice in the collective
		t.Errorf("where the marks are: %+v", s.Where)
	}
	var b bytes.Buffer
	if err := ReviewHTML(&b, Paper{Doc: doc, Plan: rideplan.CompileText("gap", gapSheet, rideplan.Options{})}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	if strings.Count(page, FindOut) != 2 || strings.Contains(page, "Try:") || !strings.Contains(page, "Marks for the whole ride") {
		t.Errorf("%d times %q", strings.Count(page, FindOut), FindOut)
	}
}
