package diagnose

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/measure"
)

// The verdicts of a comparison, besides measure.CannotTell.
const (
	Better    = "better"
	Worse     = "worse"
	NoiseOnly = "no more than noise"
)

// Comparison is two rides of one sheet, movement by movement. JSON keys are the contract
// of `ride compare`.
type Comparison struct {
	Schema    string             `json:"schema"`
	Sheet     string             `json:"sheet"`
	Movements []MovementChange   `json:"movements"`
	Total     TotalChange        `json:"total"`
	Measured  MeasuredChange     `json:"measured"`
	Summary   []string           `json:"summary"`
	Caution   []string           `json:"caution"`
	Simulated bool               `json:"simulated,omitempty"`
	Blind     *BlindOrderRequest `json:"blind,omitempty"` // set when marking again unseen would help
}

// MovementChange is what changed in one movement. MarkChange is nil without marks on both
// rides; RelativeChange has the change of the whole ride's level taken off.
type MovementChange struct {
	Number         int             `json:"number"`
	Text           string          `json:"text,omitempty"`
	MarkChange     *float64        `json:"mark_change"`
	MarkSigma      *float64        `json:"mark_sigma,omitempty"`
	RelativeChange *float64        `json:"relative_change,omitempty"`
	Verdict        string          `json:"verdict"`
	Measures       []MeasureChange `json:"measures"`
	Reason         string          `json:"reason"`
}

// MeasureChange is one measure before and after. Change is after minus before; Sigma its
// standard deviation; both nil when either ride could not show it.
type MeasureChange struct {
	What    string   `json:"what"`
	Unit    string   `json:"unit,omitempty"`
	Before  *float64 `json:"before"`
	After   *float64 `json:"after"`
	Asked   *float64 `json:"asked,omitempty"`
	Change  *float64 `json:"change"`
	Sigma   *float64 `json:"sigma"`
	Verdict string   `json:"verdict"`
	Reason  string   `json:"reason,omitempty"`
	// z is the gain (closer to asked is positive) over its standard deviation.
	z float64
}

// TotalChange is the change of the final percentage. Shown is the change shrunk towards
// nothing by how noisy such a change is.
type TotalChange struct {
	Change  *float64 `json:"change"`
	Sigma   *float64 `json:"sigma"`
	Shown   *float64 `json:"shown,omitempty"`
	Verdict string   `json:"verdict"`
	Reason  string   `json:"reason"`
}

// MeasuredChange counts what the recordings show by themselves.
type MeasuredChange struct {
	Compared int    `json:"compared"`
	Better   int    `json:"better"`
	Worse    int    `json:"worse"`
	Verdict  string `json:"verdict"`
	Reason   string `json:"reason"`
}

// Compare sets two rides of one sheet against each other. It returns an error when the
// sheets differ: marks of different tests cannot be subtracted.
func Compare(before, after RideFacts) (Comparison, error) {
	if err := sameSheet(before, after); err != nil {
		return Comparison{}, err
	}
	c := Comparison{Schema: "ringcraft.compare/1", Sheet: after.Sheet, Simulated: before.Simulated || after.Simulated,
		Movements: []MovementChange{}, Summary: []string{}, Caution: []string{}}
	w := whoMarked(before, after)
	for _, b := range before.Movements {
		a := after.movement(b.Number)
		c.Movements = append(c.Movements, compareMovement(b, *a, before, after, w))
	}
	relative(c.Movements)
	c.Measured = measured(c.Movements, before, after)
	c.Total = compareTotal(before, after, w, c.Measured)
	for i := range c.Movements {
		judgeMovement(&c.Movements[i], w)
	}
	c.Caution = cautions(before, after, w, c)
	c.Summary = summary(c)
	if w.prone {
		c.Blind = &BlindOrderRequest{Why: "marks given before and after by the person who taught: mark the movements again from the recordings, in shuffled order, without knowing which ride each is from"}
	}
	return c, nil
}

// sameSheet compares movement numbers and coefficients, and the text where both have it.
func sameSheet(a, b RideFacts) error {
	if len(a.Movements) == 0 || len(b.Movements) == 0 {
		return fmt.Errorf("compare: a ride without movements cannot be compared")
	}
	if x, y := squeeze(a.SheetText), squeeze(b.SheetText); x != "" && y != "" && x == y {
		return sameMovements(a, b)
	}
	if squeeze(a.Sheet) != squeeze(b.Sheet) {
		return fmt.Errorf("compare: the rides are of different sheets (%q and %q); only two rides of one sheet can be compared", a.Sheet, b.Sheet)
	}
	return sameMovements(a, b)
}

func sameMovements(a, b RideFacts) error {
	for _, m := range a.Movements {
		o := b.movement(m.Number)
		if o == nil || o.Coefficient != m.Coefficient || (m.Text != "" && o.Text != "" && squeeze(m.Text) != squeeze(o.Text)) {
			return fmt.Errorf("compare: movement %d is not the same in both rides of %q; the sheets differ", m.Number, a.Sheet)
		}
	}
	if len(a.Movements) != len(b.Movements) {
		return fmt.Errorf("compare: %d movements before and %d after; the sheets differ", len(a.Movements), len(b.Movements))
	}
	return nil
}

func squeeze(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// marking is who marked the two rides and what follows from it.
type marking struct {
	before, after int  // judges
	same          bool // the same people both times
	prone         bool // by the person who taught in between, not blind
	stated        bool // that they taught was said, not taken for granted
}

func whoMarked(before, after RideFacts) marking {
	jb, ja := before.judges(), after.judges()
	w := marking{before: len(jb), after: len(ja), same: len(jb) > 0 && strings.Join(jb, "\n") == strings.Join(ja, "\n")}
	switch {
	case after.Blind && before.Blind:
		w.prone = false
	case after.Taught != nil:
		w.prone, w.stated = *after.Taught && len(ja) > 0, true
	default:
		w.prone = w.same && len(ja) == 1 && !before.Show && !after.Show
	}
	return w
}

func compareMovement(b, a MovementFacts, before, after RideFacts, w marking) MovementChange {
	out := MovementChange{Number: b.Number, Text: b.Text, Measures: compareMeasures(b, a)}
	mb, okb := b.MeanMark()
	ma, oka := a.MeanMark()
	if okb && oka {
		change := round(ma-mb, 3)
		sd := round(noise.markChangeSD(len(b.Marks), len(a.Marks), w.same), 3)
		out.MarkChange, out.MarkSigma = &change, &sd
	}
	return out
}

func compareMeasures(b, a MovementFacts) []MeasureChange {
	out := []MeasureChange{}
	seen := map[string]bool{}
	for _, mb := range b.Measures {
		seen[mb.What] = true
		out = append(out, compareMeasure(mb, find(a.Measures, mb.What)))
	}
	for _, ma := range a.Measures {
		if !seen[ma.What] {
			out = append(out, compareMeasure(measure.Measure{What: ma.What, Unit: ma.Unit, LimitedBy: "not measured in the first ride"}, ma))
		}
	}
	return out
}

func find(ms []measure.Measure, what string) measure.Measure {
	for _, m := range ms {
		if m.What == what {
			return m
		}
	}
	return measure.Measure{What: what, LimitedBy: "not measured in the second ride"}
}

// compareMeasure decides one measure. A change counts when it exceeds 1.96 standard
// deviations of the difference and what it gains towards the asked value does too: from
// too early by a stride to too late by a stride is a change but no gain.
func compareMeasure(b, a measure.Measure) MeasureChange {
	out := MeasureChange{What: b.What, Unit: b.Unit, Before: b.Value, After: a.Value, Asked: a.Asked, Verdict: measure.CannotTell}
	if out.Asked == nil {
		out.Asked = b.Asked
	}
	if why := notComparable(b, a, out.Asked); why != "" {
		out.Reason = why
		return out
	}
	change, sd := *a.Value-*b.Value, math.Hypot(*a.Sigma, *b.Sigma)
	rc, rs := round(change, 4), round(sd, 4)
	out.Change, out.Sigma = &rc, &rs
	gain := miss(b, out.Asked) - miss(a, out.Asked)
	out.z = gain / sd
	switch {
	case math.Abs(change) <= noise.Z*sd:
		out.Verdict, out.Reason = NoiseOnly, "the change is inside the doubt of the two measurements"
	case math.Abs(gain) < leastGain(b, a):
		out.z = 0
		out.Verdict, out.Reason = NoiseOnly, fmt.Sprintf("less than a judge can see: under %.0f %% of the tolerance", 100*noise.LeastGain)
	case math.Abs(gain) <= noise.Z*sd:
		out.Verdict, out.Reason = NoiseOnly, "it changed, but is no nearer to what is asked"
	case gain > 0:
		out.Verdict, out.Reason = Better, "closer to what is asked"
	default:
		out.Verdict, out.Reason = Worse, "farther from what is asked"
	}
	return out
}

// leastGain is the least change towards what is asked that counts, however exactly it was measured.
func leastGain(b, a measure.Measure) float64 {
	t := a.Tolerance
	if t == nil {
		t = b.Tolerance
	}
	if t == nil {
		return 0
	}
	return noise.LeastGain * *t
}

func notComparable(b, a measure.Measure, asked *float64) string {
	switch {
	case b.Value == nil || b.Sigma == nil:
		return orElse(b.LimitedBy, "the first recording cannot show it")
	case a.Value == nil || a.Sigma == nil:
		return orElse(a.LimitedBy, "the second recording cannot show it")
	case !(*a.Sigma > 0 && *b.Sigma > 0):
		return "the doubt of a measurement is missing"
	case asked == nil:
		return "nothing is asked, so there is no better or worse"
	}
	return ""
}

// miss is how far a measure is from what was asked; more than asked of a minimum is no miss.
func miss(m measure.Measure, asked *float64) float64 {
	want := asked
	if m.Asked != nil {
		want = m.Asked
	}
	d := *m.Value - *want
	if d > 0 && noise.oneSided(m.What) {
		return 0
	}
	return math.Abs(d)
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// relative takes the mean change of the ride off each movement's: losses relative to the
// rest of the ride repeat better than the level, because the offset of the ride cancels.
func relative(ms []MovementChange) {
	sum, n := 0.0, 0
	for _, m := range ms {
		if m.MarkChange != nil {
			sum, n = sum+*m.MarkChange, n+1
		}
	}
	for i := range ms {
		if n > 1 && ms[i].MarkChange != nil {
			r := round(*ms[i].MarkChange-sum/float64(n), 3)
			ms[i].RelativeChange = &r
		}
	}
}

func round(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p) / p
}
