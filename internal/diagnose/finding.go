package diagnose

import (
	"fmt"
	"math"
	"slices"

	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/terms"
)

// finding is one fault of one movement with everything that speaks for and against it.
type finding struct {
	fault    terms.Fault
	number   int
	sure     float64 // 0 to 1: how sure it was there
	times    float64 // size in units of the tolerance beyond what a judge can see, 1 usual
	missM    float64 // metres past the asked place, 0 when not measured
	evidence []string
	measured bool
	from     []string // names of the measures that showed it
	said     bool
	denied   bool // a measure says no
}

// findings collects the faults of one movement: measures first, then what was said.
func findings(number int, ms []measure.Measure, rs []remarks.Remark, scribed []Said) ([]finding, []string) {
	var out []finding
	for _, m := range ms {
		if f, ok := measuredFault(number, m); ok {
			out = mergeFinding(out, f)
		}
	}
	for _, r := range rs {
		for _, id := range r.Faults {
			out = mergeFinding(out, finding{fault: id, number: number, sure: 0.9 * clamp(r.Confidence, 0.1, 1), times: 1, said: true,
				evidence: []string{fmt.Sprintf("said at %s: %q", clock(r.AtS), r.Text)}})
		}
	}
	for _, s := range scribed {
		for _, id := range s.Faults {
			out = mergeFinding(out, finding{fault: id, number: number, sure: 0.9, times: 1, said: true,
				evidence: []string{fmt.Sprintf("written by judge %s: %q", s.Judge, s.Text)}})
		}
	}
	out, notes := oneDirection(number, out)
	out, more := contradictions(number, out, ms)
	return shareCharge(once(out), ms), append(notes, more...)
}

// measuredFault turns a measure whose verdict is a fault into a finding. "cannot tell" is
// never evidence.
func measuredFault(number int, m measure.Measure) (finding, bool) {
	if m.Verdict == measure.OK || m.Verdict == measure.CannotTell || m.Verdict == "" || m.Value == nil {
		return finding{}, false
	}
	fault, known := verdictsOf(m.What)[m.Verdict]
	if known && fault == "" {
		return finding{}, false
	}
	if !known {
		fault = terms.Fault(m.Verdict)
		if _, inVocabulary := terms.FaultByID(fault); !inVocabulary {
			fault = terms.Fault(m.What + " " + m.Verdict)
		}
	}
	f := finding{fault: fault, number: number, sure: 0.9, times: 1, measured: true, from: []string{m.What}, evidence: []string{measureWords(m)}}
	if m.Asked == nil {
		return f, true
	}
	miss := math.Abs(*m.Value - *m.Asked)
	if m.Unit == "m" {
		f.missM = miss
	}
	if m.Tolerance != nil && *m.Tolerance > 0 {
		f.times = clamp(miss / *m.Tolerance / 2, 0.5, 2)
		if m.Sigma != nil && *m.Sigma > 0 {
			f.sure = clamp(normalCDF((miss-*m.Tolerance) / *m.Sigma), 0.05, 0.98)
		}
	}
	return f, true
}

func measureWords(m measure.Measure) string {
	s := fmt.Sprintf("measured: %s %.1f %s", m.What, *m.Value, m.Unit)
	switch {
	case m.Sigma == nil || *m.Sigma < 0.005: // nothing worth saying
	case *m.Sigma < 0.05:
		s += fmt.Sprintf(", give or take %.2f", *m.Sigma)
	default:
		s += fmt.Sprintf(", give or take %.1f", *m.Sigma)
	}
	if m.Asked != nil {
		s += fmt.Sprintf(" (asked %.1f)", *m.Asked)
	}
	return s
}

// mergeFinding joins two accounts of one fault: independent witnesses, so the doubt that it
// was there is the product of their doubts.
func mergeFinding(list []finding, f finding) []finding {
	for i := range list {
		g := &list[i]
		if g.fault != f.fault {
			continue
		}
		g.sure = 1 - (1-g.sure)*(1-f.sure)
		g.times = math.Max(g.times, f.times)
		g.missM = math.Max(g.missM, f.missM)
		g.evidence, g.from = append(g.evidence, f.evidence...), append(g.from, f.from...)
		g.measured, g.said = g.measured || f.measured, g.said || f.said
		return list
	}
	return append(list, f)
}

// once joins findings that are names of one thing. The measured one leads, else the first; two names
// in one remark are one witness, so they make nothing surer.
func once(list []finding) []finding {
	var out []finding
next:
	for _, f := range list { // measured ones come first
		for i := range out {
			if alike(out[i].fault, f.fault) {
				out[i].alsoCalled(f)
				continue next
			}
		}
		out = append(out, f)
	}
	return out
}

func (f *finding) alsoCalled(g finding) {
	independent := true
	for _, e := range g.evidence {
		if slices.Contains(f.evidence, e) {
			independent = false
		} else {
			f.evidence = append(f.evidence, e)
		}
	}
	if independent {
		f.sure = 1 - (1-f.sure)*(1-g.sure)
	} else {
		f.sure = math.Max(f.sure, g.sure)
	}
	f.times, f.missM = math.Max(f.times, g.times), math.Max(f.missM, g.missM)
	f.evidence = append(f.evidence, fmt.Sprintf("%q is the same thing by another name: charged once", g.fault))
	f.measured, f.said, f.from = f.measured || g.measured, f.said || g.said, append(f.from, g.from...)
}

// contradictions finds faults that were said and that a measure able to show them denies.
// What was said keeps half its weight: the recorder does not see everything.
func contradictions(number int, list []finding, ms []measure.Measure) ([]finding, []string) {
	var notes []string
	for i := range list {
		f := &list[i]
		if f.measured || measuredAlike(list, f.fault) {
			continue
		}
		m, leans := denial(ms, f.fault)
		switch {
		case m == nil:
		case leans:
			f.evidence = append(f.evidence, measureWords(*m)+": the same way, inside what a judge lets pass")
		default:
			f.sure, f.denied = f.sure/2, true
			notes = append(notes, fmt.Sprintf("movement %d: %q was said, but %s, verdict %s; both are kept, what was said at half weight", number, f.fault, measureWords(*m), m.Verdict))
		}
	}
	return list, notes
}

func measuredAlike(list []finding, fault terms.Fault) bool {
	for _, g := range list {
		if g.measured && alike(g.fault, fault) {
			return true
		}
	}
	return false
}

// denial is the first measure that could show a fault and does not; leans says that one goes the
// same way all the same, which is then the measure given.
func denial(ms []measure.Measure, fault terms.Fault) (no *measure.Measure, leans bool) {
	for i := range ms {
		m := &ms[i]
		if m.Value == nil || m.Verdict == measure.CannotTell || m.Verdict == "" || !hasFault(faultsShownBy(m.What), fault) {
			continue
		}
		if goesTheSameWay(*m, fault) {
			return m, true
		}
		if no == nil {
			no = m
		}
	}
	return no, false
}

func goesTheSameWay(m measure.Measure, fault terms.Fault) bool {
	if m.Asked == nil || m.Tolerance == nil || !(*m.Tolerance > 0) {
		return false
	}
	by := *m.Value - *m.Asked
	if way := direction(m.What, fault); way != 0 {
		by *= way
	} else {
		by = math.Abs(by)
	}
	return by >= reasonsFile.LeansFrom**m.Tolerance
}

func clock(s float64) string {
	return fmt.Sprintf("%d:%04.1f", int(s)/60, s-60*float64(int(s)/60))
}

func clamp(v, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, v)) }

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
