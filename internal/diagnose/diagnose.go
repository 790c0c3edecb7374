package diagnose

import (
	"fmt"

	"ringcraft/internal/judging"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// Input is all that diagnosis hears of one ride. Only Plan is required.
type Input struct {
	Plan     *rideplan.Plan
	Measures measure.Set     // done; nil without a recording
	Placed   remarks.Placed  // said; zero without a commentary
	Card     judging.Card    // marked; zero without marks
	Scribed  []Said          // faults found in what judges wrote beside their marks
	History  []RideFacts     // earlier rides of this combination, oldest first
	Known    []ConfirmedRide // causes that the trainer confirmed or ruled out earlier
}

// Said is what a judge wrote beside a mark, with the faults found in it.
type Said struct {
	Movement int
	Judge    string
	Text     string
	Faults   []terms.Fault
}

// Diagnose says where the marks of one ride went and why. It makes no claim without data.
func Diagnose(in Input) Diagnosis {
	if in.Plan == nil || len(in.Plan.Movements) == 0 {
		return Diagnosis{Notes: []string{"no sheet: nothing can be said of where marks went"}}
	}
	var d Diagnosis
	var all []finding
	means := meanMarks(in.Card)
	for _, m := range in.Plan.Movements {
		found, notes := findings(m.Number, in.Measures.Of(m.Number), remarksOf(in.Placed, m.Number), saidOf(in.Scribed, m.Number))
		ceiling, words := CeilingOf(m.Kinds(), in.Plan.Level, in.History)
		l, more := ledgerOf(m, means[m.Number], found, ceiling, words)
		d.Ledger = append(d.Ledger, l)
		d.Notes = append(append(d.Notes, notes...), more...)
		all = append(all, found...)
	}
	markChains(in.Plan, d.Ledger)
	charge(in.Plan, d.Ledger)
	for i := range d.Ledger {
		for k := range d.Ledger[i].Lost {
			l := &d.Ledger[i].Lost[k]
			l.Percent = PercentOf(in.Plan, d.Ledger[i].Number, l.Worth())
		}
	}
	d.Worth, d.Risks = worth(in.Plan, d.Ledger), zeroRisks(in.Plan, d.Ledger)
	d.Collectives = collectives(in, all)
	causes, notes := rankCauses(in, all, d.Ledger)
	d.Causes = causes
	d.Notes = append(append(d.Notes, missing(in)...), notes...)
	d.Cautions = careFor(all)
	return d
}

// meanMarks gives the mean mark of each movement; movements without a mark are absent.
func meanMarks(c judging.Card) map[int]*float64 {
	sum, n := map[int]float64{}, map[int]int{}
	for _, m := range c.Marks {
		if m.Movement > 0 {
			sum[m.Movement] += m.Mark.Float()
			n[m.Movement]++
		}
	}
	out := map[int]*float64{}
	for number, s := range sum {
		mean := s / float64(n[number])
		out[number] = &mean
	}
	return out
}

func remarksOf(p remarks.Placed, number int) []remarks.Remark {
	var out []remarks.Remark
	for _, r := range p.Remarks {
		if r.Movement == number {
			out = append(out, r)
		}
	}
	return out
}

func saidOf(all []Said, number int) []Said {
	var out []Said
	for _, s := range all {
		if s.Movement == number {
			out = append(out, s)
		}
	}
	return out
}

// missing says which voices were not heard and what therefore cannot be said.
func missing(in Input) []string {
	var out []string
	if len(in.Card.Marks) == 0 {
		out = append(out, "no marks: no loss is stated; faults carry the usual cost as an estimate")
	}
	if len(in.Measures) == 0 {
		out = append(out, "no recording: places, sizes and durations are not measured; reasons rest on what was said")
	}
	switch n := len(in.Placed.Remarks); {
	case n == 0:
		out = append(out, "no commentary: contact, tension and other things a recorder cannot see are not known")
	case n == 1:
		out = append(out, "one remark only: it says little about the rest of the ride")
	}
	for _, r := range in.Placed.Remarks {
		if r.Doubtful {
			out = append(out, fmt.Sprintf("the remark at %s may belong to another movement than %d", clock(r.AtS), r.Movement))
		}
	}
	return out
}

// careFor names what is not schooled but looked at first. It never diagnoses.
func careFor(all []finding) []string {
	var out []string
	seen := map[terms.Fault]bool{}
	for _, f := range all {
		if words, ok := careWords[f.fault]; ok && !seen[f.fault] {
			seen[f.fault] = true
			out = append(out, fmt.Sprintf("movement %d, %q: %s", f.number, f.fault, words))
		}
	}
	return out
}
