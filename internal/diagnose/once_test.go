package diagnose

import (
	"math"
	"strings"
	"testing"

	"ringcraft/internal/judging"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// Two names of one fault in one remark, and the same fault said in other words and measured, are
// charged once.
func TestOneFaultIsChargedOnce(t *testing.T) {
	one := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "hollow in the turn", "hollow")}}
	two := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "hollow in the turn", "hollow", "above the bit")}}
	a := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 70, 70), Placed: one})
	b := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 70, 70), Placed: two})
	if x, y := loss(a.Ledger[1], "hollow"), loss(b.Ledger[1], "hollow"); x == nil || y == nil || x.Marks != y.Marks {
		t.Errorf("said once %+v, said twice %+v", x, y)
	}
	if l := loss(b.Ledger[1], "above the bit"); l != nil {
		t.Errorf("charged a second time: %+v", l)
	}
	if y := loss(b.Ledger[1], "hollow"); !anyContains(y.Evidence, `"above the bit" is the same thing`) {
		t.Errorf("the other name is not told: %q", y.Evidence)
	}

	set := measure.Set{{Number: 2, Measures: []measure.Measure{m("halt place", 2, 0.2, 0, 0.6, "m", "late")}}}
	said := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "late", "late at the letter")}}
	d := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 70, 70), Measures: set, Placed: said})
	faults := 0
	for _, l := range d.Ledger[1].Lost {
		if l.Fault != "" {
			faults++
		}
	}
	if faults != 1 || loss(d.Ledger[1], "halt past the letter") == nil {
		t.Errorf("said and measured: %+v", d.Ledger[1].Lost)
	}
	if anyContains(d.Notes, "half weight") {
		t.Errorf("called a contradiction: %q", d.Notes)
	}
}

// A remark is denied only by a measure that does not go its way.
func TestAgreementIsNoContradiction(t *testing.T) {
	tests := []struct {
		name    string
		value   float64
		verdict string
		fault   terms.Fault
		denied  bool
	}{
		{"larger, inside the tolerance", 19.65, measure.OK, "circle too large", false},
		{"as asked", 19.2, measure.OK, "circle too large", true},
		{"smaller, inside the tolerance", 18.75, measure.OK, "circle too large", true},
		{"smaller, and said so", 18.75, measure.OK, "circle too small", false},
		{"measured too small", 17, "too small", "circle too large", true},
		{"measured too large", 21, "too large", "circle too large", false},
	}
	for _, tt := range tests {
		set := measure.Set{{Number: 2, Measures: []measure.Measure{m("circle diameter", tt.value, 0.1, 19.2, 0.6, "m", tt.verdict)}}}
		d := Diagnose(Input{Plan: smallPlan(), Measures: set, Placed: remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "that circle", tt.fault)}}, Card: card(70, 60, 70, 70, 70)})
		if got := anyContains(d.Notes, "half weight") || anyContains(d.Notes, "a contradiction"); got != tt.denied {
			t.Errorf("%s: denied %v, want %v: %q", tt.name, got, tt.denied, d.Notes)
		}
	}
}

func TestUnknownHorsesCeilingIsCalledAssumed(t *testing.T) {
	_, words := CeilingOf([]terms.Kind{terms.Circle}, "novice", nil)
	if !strings.Contains(words, "assumed for the level") || !strings.Contains(words, "no rides of this horse yet") {
		t.Errorf("%q", words)
	}
	d := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 55, 70)})
	for _, l := range d.Ledger[1].Lost {
		if l.Reach == Ceiling && !strings.Contains(l.Reason, "assumed for the level") {
			t.Errorf("%q", l.Reason)
		}
	}
	known := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 55, 70), History: []RideFacts{ride("C", 5, 6.5, 0, 0.2)}})
	if loss(known.Ledger[1], "this horse's usual best for such a movement") == nil {
		t.Errorf("a known horse: %+v", known.Ledger[1].Lost)
	}
}

// With a recorder of centimetres a change of centimetres is no vote; a larger one is.
func TestCentimetresDoNotVote(t *testing.T) {
	for _, tt := range []struct {
		after float64
		want  string
	}{{0.50, NoiseOnly}, {0.46, NoiseOnly}, {0.44, Better}, {0.64, NoiseOnly}, {0.80, Worse}} {
		b := ride("C", 6, 6, 0.6, 0.01)
		a := ride("C", 6, 6, tt.after, 0.01)
		c := compare(t, b, a)
		if got := c.Movements[0].Measures[0].Verdict; got != tt.want { // tolerance 0.6 m: a quarter is 0.15 m
			t.Errorf("from 0.6 to %.2f m off: %s, want %s", tt.after, got, tt.want)
		}
		if c.Measured.Verdict != tt.want {
			t.Errorf("from 0.6 to %.2f m off, the ride: %s, want %s", tt.after, c.Measured.Verdict, tt.want)
		}
	}
}

// What was stated is not called taken for granted.
func TestTaughtAsStated(t *testing.T) {
	b, a := ride("Mia", 6, 6, 0.6, 0.2), ride("Mia", 6, 7, 0.6, 0.2)
	if c := compare(t, b, a); !anyContains(c.Caution, "is taken to have taught") {
		t.Errorf("not stated: %q", c.Caution)
	}
	yes := true
	a.Taught = &yes
	if c := compare(t, b, a); !anyContains(c.Caution, "also taught in between") || anyContains(c.Caution, "taken") {
		t.Errorf("stated: %q", c.Caution)
	}
	no := false
	a.Taught = &no
	if c := compare(t, b, a); anyContains(c.Caution, "taught") {
		t.Errorf("stated not to: %q", c.Caution)
	}
}

const collectiveSheet = `name: Short
arena: 20 x 40
level: novice
1 | A | Enter in working trot
2 | C | Track left
3 | E | Circle left 20 m
4 | A | Down the centre line
  | X | Halt, salute
collective: Rider x2
collective: Submission
`

// A collective's distance from ten is split, too: what was written beside it, what was seen of the
// elements it looks at, and the usual best; it adds up, and the rider is not charged the contact.
func TestCollectivesAreInTheLedger(t *testing.T) {
	p := rideplan.CompileText("s", collectiveSheet, rideplan.Options{})
	in := Input{Plan: p, Placed: remarks.Placed{Remarks: []remarks.Remark{
		remark(2, 0.9, "above the bit", "above the bit"), remark(3, 0.9, "above the bit again", "above the bit"), remark(3, 0.9, "hands", "rider hands unsteady")}}}
	in.Card = card(65, 65, 60, 65)
	in.Card.Marks = append(in.Card.Marks, judging.Mark{Collective: "Rider", Judge: "C", Mark: 60}, judging.Mark{Collective: "submission", Judge: "C", Mark: 55, Remark: "tense"})
	d := Diagnose(in)
	if len(d.Collectives) != 2 {
		t.Fatalf("%+v", d.Collectives)
	}
	for _, c := range d.Collectives {
		sum := 0.0
		for _, l := range c.Lost {
			sum += l.Marks
		}
		if math.Abs(sum-(10-c.Mean)) > 1e-9 {
			t.Errorf("%s: losses of %v for a mark of %v", c.Name, sum, c.Mean)
		}
	}
	rider, submission := MovementLedger{Lost: d.Collectives[0].Lost}, MovementLedger{Lost: d.Collectives[1].Lost}
	hands := loss(rider, "rider hands unsteady")
	if hands == nil || hands.Marks <= 0 || hands.Reach != Now || !anyContains(hands.Evidence, "guess") {
		t.Errorf("rider: %+v", rider.Lost)
	}
	if want := round(100*hands.Marks*2/MaxPoints(p), 2); hands.Percent != want {
		t.Errorf("worth %v %%, want %v", hands.Percent, want)
	}
	if loss(rider, "above the bit") != nil || loss(submission, "above the bit") == nil || loss(submission, "tense") == nil {
		t.Errorf("rider %+v, submission %+v", rider.Lost, submission.Lost)
	}
	if d := Diagnose(Input{Plan: p, Card: card(65, 65, 60, 65)}); len(d.Collectives) != 0 {
		t.Errorf("not marked, yet: %+v", d.Collectives)
	}
}
