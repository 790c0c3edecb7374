package diagnose

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/gait"
	"ringcraft/internal/judging"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
	"ringcraft/internal/testkit"
)

// smallPlan is an invented sheet of five movements, twenty seconds each.
func smallPlan() *rideplan.Plan {
	kinds := [][]terms.Kind{{terms.Entry, terms.Halt}, {terms.Circle}, {terms.Corner, terms.Transition}, {terms.FreeWalk}, {terms.CentreLine, terms.Halt}}
	p := &rideplan.Plan{Name: "Willow Ford 2", MaxPoints: 60}
	for i, ks := range kinds {
		m := rideplan.Movement{Number: i + 1, Coefficient: 1}
		if i == 1 {
			m.Coefficient = 2
		}
		m.StartS, m.EndS = 20*gait.Seconds(i), 20*gait.Seconds(i+1)
		for _, k := range ks {
			m.Figures = append(m.Figures, rideplan.Figure{Kind: k})
		}
		p.Movements = append(p.Movements, m)
	}
	return p
}

func card(marks ...int) judging.Card {
	var c judging.Card
	for i, m := range marks {
		c.Marks = append(c.Marks, judging.Mark{Movement: i + 1, Judge: "C", Mark: judging.Tenths(m)})
	}
	return c
}

func m(what string, value, sigma, asked, tolerance float64, unit, verdict string) measure.Measure {
	return measure.Measure{What: what, Value: &value, Sigma: &sigma, Asked: &asked, Tolerance: &tolerance, Unit: unit, Verdict: verdict}
}

func remark(movement int, conf float64, text string, faults ...terms.Fault) remarks.Remark {
	return remarks.Remark{Movement: movement, AtS: 12, Text: text, Faults: faults, Confidence: conf}
}

func sumOf(l MovementLedger) float64 {
	s := 0.0
	for _, x := range l.Lost {
		s += x.Marks
	}
	return s
}

func loss(l MovementLedger, reason string) *Loss {
	for i := range l.Lost {
		if l.Lost[i].Reason == reason {
			return &l.Lost[i]
		}
	}
	return nil
}

// A horse that moves for a 7.5 and gets it has lost nothing that is charged to the ride.
func TestCeilingIsNotCharged(t *testing.T) {
	d := Diagnose(Input{Plan: smallPlan(), Card: card(75, 75, 75, 70, 75)})
	for _, l := range d.Ledger {
		if l.Charged > 0.05 {
			t.Errorf("movement %d: charged %.2f with losses %+v", l.Number, l.Charged, l.Lost)
		}
	}
}

func TestLedgerSplitsAccordingToReach(t *testing.T) {
	set := measure.Set{{Number: 2, Measures: []measure.Measure{m("circle diameter", 17, 0.2, 19.2, 0.6, "m", "circle too small")}}}
	placed := remarks.Placed{Remarks: []remarks.Remark{remark(4, 0.9, "bit tense in the walk", "tense")}}
	d := Diagnose(Input{Plan: smallPlan(), Card: card(70, 60, 70, 55, 70), Measures: set, Placed: placed})
	circle, walk := loss(d.Ledger[1], "circle too small"), loss(d.Ledger[3], "tense")
	if circle == nil || circle.Reach != Now || circle.Marks < 0.5 || circle.Percent < 1.5 {
		t.Fatalf("circle: %+v", circle) // 0.5 mark x2 of 60 points is 1.7 %
	}
	if walk == nil || walk.Reach != Schooling || walk.Marks < 0.4 {
		t.Fatalf("walk: %+v", walk)
	}
	if c := loss(d.Ledger[1], "usual best for such a movement, assumed for the level (no marks of this horse yet)"); c == nil || c.Marks > 2.5+1e-9 {
		t.Errorf("ceiling of a circle is 7.5 by the prior: %+v", c)
	}
}

// The ledger of every movement adds up to ten minus the mean mark, whatever was found.
func TestLossesSumToTheDistance(t *testing.T) {
	ids := terms.FaultIDs()
	rapid.Check(t, func(rt *rapid.T) {
		in := Input{Plan: smallPlan()}
		for i := 1; i <= 5; i++ {
			for _, j := range []string{"C", "E", "B"} {
				in.Card.Marks = append(in.Card.Marks, judging.Mark{Movement: i, Judge: j, Mark: judging.Tenths(5 * rapid.IntRange(0, 20).Draw(rt, "mark"))})
			}
			for range rapid.IntRange(0, 4).Draw(rt, "faults") {
				f := ids[rapid.IntRange(0, len(ids)-1).Draw(rt, "fault")]
				in.Placed.Remarks = append(in.Placed.Remarks, remark(i, rapid.Float64Range(0, 1).Draw(rt, "conf"), "said", f))
			}
		}
		for _, l := range Diagnose(in).Ledger {
			if math.Abs(sumOf(l)-(10-*l.Mean)) > 1e-6 {
				rt.Fatalf("movement %d: losses sum to %v, distance %v: %+v", l.Number, sumOf(l), 10-*l.Mean, l.Lost)
			}
			for _, x := range l.Lost {
				if x.Marks < -1e-6 || (x.Reach == Ceiling && x.Marks > 10-l.Ceiling+0.011) {
					rt.Fatalf("movement %d: %+v", l.Number, x)
				}
			}
		}
	})
}

// splitMark against its twin: a fine search over all splits of two limited shares.
func TestSplitMarkIsTheMostLikely(t *testing.T) {
	shares := []share{{mean: 1, sd: 0.5, hi: math.Inf(1)}, {mean: 2.5, sd: 0.5, hi: 2.5}, {mean: 0, sd: 1, hi: math.Inf(1)}}
	cost := func(x []float64) float64 {
		c := 0.0
		for i, s := range shares {
			c += (x[i] - s.mean) * (x[i] - s.mean) / (s.sd * s.sd)
		}
		return c
	}
	for _, distance := range []float64{0, 1, 2.5, 3.5, 4, 7, 10} {
		got := splitMark(distance, shares)
		best := math.Inf(1)
		for a := 0.0; a <= distance; a += 0.01 {
			for b := 0.0; b <= math.Min(2.5, distance-a); b += 0.01 {
				best = math.Min(best, cost([]float64{a, b, distance - a - b}))
			}
		}
		if cost(got) > best+1e-6 || math.Abs(got[0]+got[1]+got[2]-distance) > 1e-9 {
			t.Errorf("distance %v: %v costs %v, search finds %v", distance, got, cost(got), best)
		}
	}
}

func TestWithoutMarksNothingIsLost(t *testing.T) {
	set := measure.Set{{Number: 5, Measures: []measure.Measure{m("halt place", 2, 0.2, 0, 0.5, "m", "halt past the letter"), m("halt duration", 1, 0.2, 3, 0.5, "s", measure.CannotTell)}}}
	d := Diagnose(Input{Plan: smallPlan(), Measures: set})
	l := d.Ledger[4].Lost
	if len(l) != 1 || l[0].Marks != 0 || l[0].Estimate <= 0 || l[0].Fault != "halt past the letter" {
		t.Fatalf("%+v", l)
	}
	if !anyContains(d.Notes, "no marks") || !anyContains(d.Notes, "no commentary") {
		t.Errorf("notes %q", d.Notes)
	}
}

func TestNoDataNoClaim(t *testing.T) {
	d := Diagnose(Input{Plan: smallPlan()})
	for _, l := range d.Ledger {
		if len(l.Lost) != 0 {
			t.Errorf("movement %d lost %+v", l.Number, l.Lost)
		}
	}
	if len(d.Causes) != 0 || len(d.Notes) < 4 {
		t.Errorf("causes %v, notes %q", d.Causes, d.Notes)
	}
	if d := Diagnose(Input{}); len(d.Notes) != 1 || d.Ledger != nil {
		t.Errorf("without a sheet: %+v", d)
	}
}

// "cannot tell" is never evidence, whatever the value beside it.
func TestCannotTellIsNoEvidence(t *testing.T) {
	set := measure.Set{{Number: 2, Measures: []measure.Measure{m("circle diameter", 12, 6, 19.2, 0.6, "m", measure.CannotTell)}}}
	d := Diagnose(Input{Plan: smallPlan(), Measures: set, Card: card(60, 60, 60, 60, 60)})
	for _, l := range d.Ledger[1].Lost {
		if l.Fault != "" {
			t.Errorf("%+v", l)
		}
	}
	if len(d.Causes) != 0 {
		t.Errorf("causes %+v", d.Causes)
	}
}

func TestContradictionsAreSaid(t *testing.T) {
	set := measure.Set{{Number: 2, Measures: []measure.Measure{m("circle diameter", 19.1, 0.2, 19.2, 0.6, "m", measure.OK)}}}
	placed := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "that circle was huge", "circle too large")}}
	d := Diagnose(Input{Plan: smallPlan(), Measures: set, Placed: placed, Card: card(70, 60, 70, 70, 70)})
	if !anyContains(d.Notes, "circle too large") || !anyContains(d.Notes, "half weight") {
		t.Errorf("notes %q", d.Notes)
	}
	if !anyContains(d.Notes, "one remark only") {
		t.Errorf("notes %q", d.Notes)
	}
}

func TestChainIsChargedWhereItBegan(t *testing.T) {
	p := smallPlan()
	placed := remarks.Placed{Remarks: []remarks.Remark{
		remark(3, 0.9, "cut the corner", "corner cut"), remark(4, 0.9, "lost balance", "lost balance"), remark(5, 0.9, "on the forehand", "on the forehand")}}
	d := Diagnose(Input{Plan: p, Placed: placed, Card: card(70, 70, 60, 50, 55)})
	for _, number := range []int{4, 5} {
		for _, l := range d.Ledger[number-1].Lost {
			if l.Fault != "" && l.BeganIn != 3 {
				t.Errorf("movement %d: %+v", number, l)
			}
		}
	}
	if d.Ledger[2].Charged < d.Ledger[3].Charged+d.Ledger[4].Charged {
		t.Errorf("charged %v %v %v", d.Ledger[2].Charged, d.Ledger[3].Charged, d.Ledger[4].Charged)
	}
}

func TestCapAboveIsNoted(t *testing.T) {
	placed := remarks.Placed{Remarks: []remarks.Remark{remark(4, 0.95, "that walk is lateral", "lateral walk")}}
	d := Diagnose(Input{Plan: smallPlan(), Placed: placed, Card: card(70, 70, 70, 70, 70)})
	if !anyContains(d.Notes, "usually limits the mark to 4.0") {
		t.Errorf("notes %q", d.Notes)
	}
	d = Diagnose(Input{Plan: smallPlan(), Placed: placed, Card: card(70, 70, 70, 40, 70)})
	if l := loss(d.Ledger[3], "lateral walk"); l == nil || l.Marks < 2 {
		t.Errorf("a 4 with lateral walk: %+v", d.Ledger[3].Lost)
	}
}

// The ceiling follows the horse's own best quarter as marks come in.
func TestCeilingLearns(t *testing.T) {
	var history []RideFacts
	for range 8 {
		history = append(history, RideFacts{Movements: []MovementFacts{
			{Number: 1, Kinds: []terms.Kind{terms.FreeWalk}, Coefficient: 1, Marks: []JudgeMark{{"C", 8}}}}})
	}
	prior, _ := CeilingOf([]terms.Kind{terms.FreeWalk}, "novice", nil)
	own, words := CeilingOf([]terms.Kind{terms.FreeWalk}, "novice", history)
	if prior != 7 || math.Abs(own-(8*8+4*7)/12.0) > 0.01 || !strings.Contains(words, "8 own marks") {
		t.Errorf("prior %v own %v %q", prior, own, words)
	}
}

func TestCausesAreRankedWithSomethingToTry(t *testing.T) {
	placed := remarks.Placed{Remarks: []remarks.Remark{
		remark(2, 0.9, "falling out through the shoulder", "falling out"),
		remark(2, 0.9, "circle too big", "circle too large"),
		remark(5, 0.9, "overshot the centre line", "overshot the centre line")}}
	d := Diagnose(Input{Plan: smallPlan(), Placed: placed, Card: card(70, 60, 70, 70, 60)})
	if len(d.Causes) < 2 || d.Causes[0].Cause != "outside aids do not guide" {
		t.Fatalf("%+v", d.Causes)
	}
	c := d.Causes[0]
	if c.Probability < 0.5 || c.Try == "" || c.Rival == "" || c.TellsBits <= 0 || c.MarksAtStake <= 0 || len(c.Evidence) != 3 {
		t.Errorf("%+v", c)
	}
}

// Confirmed rides move the prior of a cause; a cause ruled out again and again recedes.
func TestCausesAdapt(t *testing.T) {
	placed := remarks.Placed{Remarks: []remarks.Remark{remark(2, 0.9, "circle too big", "circle too large")}}
	at := func(known []ConfirmedRide) float64 {
		for _, c := range Diagnose(Input{Plan: smallPlan(), Placed: placed, Known: known}).Causes {
			if c.Cause == "line not planned" {
				return c.Probability
			}
		}
		return 0
	}
	var yes, no []ConfirmedRide
	for range 6 {
		yes, no = append(yes, ConfirmedRide{"line not planned", true}), append(no, ConfirmedRide{"line not planned", false})
	}
	if !(at(yes) > at(nil)+0.1 && at(no) < at(nil)-0.1) {
		t.Errorf("confirmed %v, unknown %v, ruled out %v", at(yes), at(nil), at(no))
	}
}

func TestUnlevelIsForTheVet(t *testing.T) {
	placed := remarks.Placed{Remarks: []remarks.Remark{remark(4, 0.9, "looks unlevel", "unlevel")}}
	d := Diagnose(Input{Plan: smallPlan(), Placed: placed})
	if !anyContains(d.Cautions, "vet") {
		t.Errorf("cautions %q", d.Cautions)
	}
	for _, c := range d.Causes {
		t.Errorf("a cause was claimed: %+v", c)
	}
}

// Every name in the data files is known to the vocabulary; every figure is a probability.
func TestDataFilesAreConsistent(t *testing.T) {
	known := map[terms.Fault]bool{}
	for _, f := range terms.FaultIDs() {
		known[f] = true
	}
	check := func(where string, fs ...terms.Fault) {
		for _, f := range fs {
			if !known[f] {
				t.Errorf("%s: unknown fault %q", where, f)
			}
		}
	}
	for _, f := range networkFaults() {
		check("causes.json", f)
	}
	for _, e := range reasonsFile.Faults {
		check("reasons.json faults", e.Fault)
		if e.Source == "" || e.Cost <= 0 || (e.Reach != Now && e.Reach != Schooling) {
			t.Errorf("reasons.json: %+v", e)
		}
	}
	for _, e := range reasonsFile.Measures {
		check("reasons.json measures", faultsShownBy(e.What)...)
	}
	for _, c := range reasonsFile.Chains {
		check("reasons.json chains", append(c.To, c.From)...)
	}
	for _, c := range capsFile.Caps {
		check("caps.json", c.Faults...)
		if c.Source == "" {
			t.Errorf("caps.json: no source: %+v", c)
		}
	}
	for f := range careWords {
		check("care.json", f)
	}
	if n, err := causeNetwork(startPriors()); err != nil || len(n.names) < 100 {
		t.Errorf("network: %v", err)
	}
	for _, e := range causesFile.Experiments {
		for c := range e.BetterIf {
			if _, ok := startPriors()[c]; !ok {
				t.Errorf("experiment %q names the unknown cause %q", e.ID, c)
			}
		}
	}
	for _, w := range terms.Words().Faults {
		found := false
		for _, s := range reasonsFile.Scales {
			found = found || s.Scale == w.Scale
		}
		if !found {
			t.Errorf("reasons.json has no scale %q (fault %q)", w.Scale, w.ID)
		}
	}
}

// The data file's network against the sum over its whole joint, on the part small enough.
func TestCauseNetworkEqualsBruteForce(t *testing.T) {
	n, err := causeNetwork(startPriors())
	must(t, err)
	ev := Evidence{faultNode("falling out"): {0.1, 0.9}, faultNode("circle too large"): {0.05, 0.95}, faultNode("halt too short"): {1, 0.3}}
	small := &Network{}
	for i, name := range n.names {
		_, observed := ev[name]
		if i < len(causesFile.Causes) || observed {
			parents := []string{}
			for _, p := range n.nodes[i].parents {
				parents = append(parents, n.names[p])
			}
			must(t, small.AddTable(name, parents, n.nodes[i].cpt))
		}
	}
	for _, c := range []string{"outside aids do not guide", "horse anticipates", "crookedness"} {
		got, err := n.Posterior(c, ev)
		must(t, err)
		want, err := small.bruteForce([]string{c}, ev)
		must(t, err)
		if !near(got, want[1], 1e-9) {
			t.Errorf("%s: %v, want %v", c, got, want[1])
		}
	}
}

// Every verdict that measuring can give is known here as a fault, or as none.
func TestEveryVerdictIsKnown(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(testkit.Root(t), "internal", "measure", "tolerances.json"))
	must(t, err)
	var list []struct{ What, High, Low string }
	must(t, json.Unmarshal(data, &list))
	if len(list) < 10 {
		t.Fatalf("%d measures", len(list))
	}
	for _, m := range list {
		for _, v := range []string{m.High, m.Low} {
			_, word := terms.FaultByID(terms.Fault(v))
			if _, ok := verdictsOf(m.What)[v]; v != "" && !ok && !word {
				t.Errorf("%s: verdict %q is not in reasons.json", m.What, v)
			}
		}
	}
}

func TestVerdictsBecomeFaults(t *testing.T) {
	for _, c := range []struct{ what, verdict, want string }{
		{"halt place X", "late", "halt past the letter"}, {"transition place", "late", "late at the letter"},
		{"circle diameter", "circle too small", "circle too small"}, {"posture", "odd", "posture odd"},
	} {
		f, ok := measuredFault(1, m(c.what, 2, 0.1, 0, 0.5, "m", c.verdict))
		if !ok || string(f.fault) != c.want {
			t.Errorf("%s %s: %q", c.what, c.verdict, f.fault)
		}
	}
	if _, ok := measuredFault(1, m("corner depth", 2, 0.1, 0, 0.5, "m", "too deep")); ok {
		t.Error("a deep corner is no fault")
	}
}

func anyContains(list []string, part string) bool {
	for _, s := range list {
		if strings.Contains(s, part) {
			return true
		}
	}
	return false
}
