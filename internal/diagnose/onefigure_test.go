package diagnose

import (
	"testing"

	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/terms"
)

func chargedFaults(l MovementLedger) []terms.Fault {
	var out []terms.Fault
	for _, x := range l.Lost {
		if x.Fault != "" {
			out = append(out, x.Fault)
		}
	}
	return out
}

// A halt cannot be before and past its letter: the measure decides, whatever was said.
func TestOppositesAreNotBothCharged(t *testing.T) {
	late := measure.Set{{Number: 2, Measures: []measure.Measure{m("halt place", 3.01, 0.2, 0, 0.6, "m", "late")}}}
	said := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "not at G", "halt before the letter")}}
	d := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 70, 70), Measures: late, Placed: said})
	if got := chargedFaults(d.Ledger[1]); len(got) != 1 || got[0] != "halt past the letter" {
		t.Errorf("charged %v", got)
	}
	if !anyContains(d.Notes, `"halt before the letter" was said, but "halt past the letter" was measured`) {
		t.Errorf("notes %q", d.Notes)
	}
	if l := loss(d.Ledger[1], "halt past the letter"); l == nil || !anyContains(l.Evidence, "not at G") {
		t.Errorf("what was said is lost: %+v", l)
	}
	both := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "too big", "circle too large"), remark(2, 0.5, "too small", "circle too small")}}
	d = Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 70, 70), Placed: both})
	if got := chargedFaults(d.Ledger[1]); len(got) != 1 || got[0] != "circle too large" {
		t.Errorf("said both ways: charged %v", got)
	}
}

// An 11 m circle of 15 m that touches the track has its centre 2 m off; only more than that is a
// second fault. An oval ridden for a circle is one fault, with all its reasons.
func TestOneFigureIsChargedOnce(t *testing.T) {
	small := m("circle diameter", 11, 0.3, 15, 0.8, "m", "too small")
	tests := []struct {
		name string
		ms   []measure.Measure
		want int
	}{
		{"explained by the size", []measure.Measure{small, m("circle place", 2, 0.3, 0, 1, "m", "not in its place")}, 1},
		{"more than the size explains", []measure.Measure{small, m("circle place", 4, 0.3, 0, 1, "m", "not in its place")}, 2},
		{"place alone", []measure.Measure{m("circle place", 2, 0.3, 0, 1, "m", "not in its place")}, 1},
		{"oval", []measure.Measure{m("circle diameter", 18, 0.3, 15, 0.8, "m", "too large"), m("circle place", 2, 0.3, 0, 1, "m", "not in its place"),
			m("circle roundness", 3, 0.3, 0, 1, "m", "not round"), m("circle opening", -3, 0.3, 0, 1, "m", "early")}, 1},
	}
	for _, x := range tests {
		d := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 70, 70), Measures: measure.Set{{Number: 2, Measures: x.ms}}})
		got := chargedFaults(d.Ledger[1])
		if len(got) != x.want {
			t.Errorf("%s: charged %v", x.name, got)
		}
		evidence := 0
		for _, l := range d.Ledger[1].Lost {
			for _, e := range l.Evidence {
				if len(e) > 9 && e[:9] == "measured:" {
					evidence++
				}
			}
		}
		if evidence != len(x.ms) {
			t.Errorf("%s: %d measures, %d reasons kept", x.name, len(x.ms), evidence)
		}
	}
}

// One ride never makes a cause certain, and what is tried is tried on a fault it can show.
func TestCausesAreNotOverclaimed(t *testing.T) {
	said := remarks.Placed{Remarks: []remarks.Remark{
		remark(2, 0.95, "too big", "circle too large", "circle not round", "corner cut"), remark(3, 0.95, "again", "uneven loops", "loop too shallow", "off the track"),
		remark(4, 0.95, "not quiet", "moved in the halt", "halt too short", "tense")}}
	d := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 50, 50, 70), Placed: said})
	if len(d.Causes) < 2 || !anyContains(d.Notes, "do not add to 100") {
		t.Fatalf("causes %+v, notes %q", d.Causes, d.Notes)
	}
	for _, c := range d.Causes {
		if c.Probability > 0.95 || c.Probability < 0.05 || c.Likely() == "" {
			t.Errorf("%s: %.3f %q", c.Cause, c.Probability, c.Likely())
		}
		fits := c.Try == ""
		for _, l := range d.Ledger {
			for _, x := range l.Lost {
				fits = fits || TryFits(c, x.Fault)
			}
		}
		if !fits {
			t.Errorf("%s: %q fits none of its faults", c.Cause, c.Try)
		}
	}
	cones := Cause{Cause: "line not planned", Try: "put two cones where the line must go and ride between them"}
	if TryFits(cones, "halt past the letter") || TryFits(cones, "tense") || !TryFits(cones, "circle too large") {
		t.Error("cones are for the line")
	}
}

// A change of nothing is said so, and never carries a sign.
func TestNoChangeHasNoSign(t *testing.T) {
	sigma, zero := 0.5, 0.0
	if got := markWords(&MovementChange{MarkChange: &zero, MarkSigma: &sigma}, marking{}); got[:14] != "mark unchanged" {
		t.Error(got)
	}
	if changeWords(-0.01) != "no change" || changeWords(1.2) != "a change of +1.2 points" {
		t.Error(changeWords(-0.01), changeWords(1.2))
	}
}
