package judging

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math/big"
	"strings"
	"sync"
)

//go:embed rules/rules.json
var rulesJSON []byte

// DefaultRules is the rule set used where a sheet names none.
const DefaultRules = "club"

// Rules is one body's rule set of one year. Rules change every year: they are data, and
// each field's source is named in Sources.
type Rules struct {
	ID          string            `json:"id"`
	Aliases     []string          `json:"aliases"`
	Name        string            `json:"name"`
	Body        string            `json:"body"`
	Year        int               `json:"year"`
	Step        float64           `json:"mark_step"`
	Max         float64           `json:"mark_max"`
	Errors      []Deduction       `json:"errors"`       // first, second, ... error of course
	Other       []Deduction       `json:"other"`        // other kinds, each time the same
	RoundJudge  int               `json:"round_judge"`  // decimals, -1: not rounded before the mean
	RoundResult int               `json:"round_result"` // decimals of the result
	Ties        []string          `json:"ties"`         // median, collectives, stand
	Calling     string            `json:"calling"`      // whether the sheet may be read aloud
	Devices     string            `json:"devices"`
	EntryS      float64           `json:"entry_s"`      // bell to entry, seconds
	EntryOutS   float64           `json:"entry_out_s"`  // entering later than this eliminates; 0: not stated
	Penalties   bool              `json:"penalties"`    // eventing: 100 less the percent, one decimal, lower is better
	ResistanceS float64           `json:"resistance_s"` // resistance longer than this eliminates
	Sources     map[string]string `json:"sources"`
}

// Deduction is what one error or fault of a kind costs each judge's score.
type Deduction struct {
	Kind       string  `json:"kind"`
	Marks      float64 `json:"deduct_marks"`
	Points     float64 `json:"deduct_pct"` // percentage points
	Eliminated bool    `json:"eliminated"`
	// CountsAsError: a fault of this kind takes its place in the count of errors of course.
	CountsAsError bool   `json:"counts_as_error"`
	Source        string `json:"source"`
}

// StepTenths is the permitted step of marks, in tenths.
func (r *Rules) StepTenths() Tenths { return Tenths(r.Step*10 + 0.5) }

// MaxTenths is the highest mark, in tenths.
func (r *Rules) MaxTenths() Tenths { return Tenths(r.Max*10 + 0.5) }

// AllowedMarks says in words which marks may be given.
func (r *Rules) AllowedMarks() string {
	return fmt.Sprintf("0 to %g in steps of %g", r.Max, r.Step)
}

// CheckMark reports whether the rule set allows a mark; the string says what is allowed and
// the nearest mark.
func (r *Rules) CheckMark(t Tenths) (string, bool) {
	step := r.StepTenths()
	if t >= 0 && t <= r.MaxTenths() && t%step == 0 {
		return "", true
	}
	near := (t + step/2) / step * step
	near = min(max(near, 0), r.MaxTenths())
	return fmt.Sprintf("allowed: %s; the nearest is %s", r.AllowedMarks(), near), false
}

// errorCost is the deduction of the n-th error of course (from 1).
func (r *Rules) errorCost(n int) Deduction {
	if n > len(r.Errors) {
		n = len(r.Errors)
	}
	return r.Errors[n-1]
}

// otherKind finds a deduction of another kind by name.
func (r *Rules) otherKind(kind string) (Deduction, bool) {
	for _, d := range r.Other {
		if strings.EqualFold(d.Kind, kind) {
			return d, true
		}
	}
	return Deduction{}, false
}

// Kinds are the kinds of deduction that the rule set knows, "error" first.
func (r *Rules) Kinds() []string {
	out := []string{"error"}
	for _, d := range r.Other {
		out = append(out, d.Kind)
	}
	return out
}

var ruleSets = sync.OnceValue(func() []*Rules {
	var doc struct{ Rules []*Rules }
	if err := json.Unmarshal(rulesJSON, &doc); err != nil {
		panic("judging: rules.json: " + err.Error()) // caught by the package's tests
	}
	return doc.Rules
})

// AllRules returns the rule sets in file order.
func AllRules() []*Rules { return ruleSets() }

// RuleIDs returns the ids of all rule sets in file order.
func RuleIDs() []string {
	var out []string
	for _, r := range ruleSets() {
		out = append(out, r.ID)
	}
	return out
}

// RulesByID finds a rule set by id or alias, in any case; the empty id is DefaultRules. The
// error names the nearest id and all of them.
func RulesByID(id string) (*Rules, error) {
	want := strings.ToLower(strings.Join(strings.Fields(id), " "))
	if want == "" {
		want = DefaultRules
	}
	for _, r := range ruleSets() {
		if r.ID == want {
			return r, nil
		}
		for _, a := range r.Aliases {
			if a == want {
				return r, nil
			}
		}
	}
	return nil, fmt.Errorf("no rule set %q; did you mean %q? allowed: %s", id, nearest(want, RuleIDs()), strings.Join(RuleIDs(), ", "))
}

// nearest returns the word with the smallest edit distance, the first of equals.
func nearest(want string, words []string) string {
	best, bestD := "", 1<<30
	for _, w := range words {
		if d := distance(strings.ToLower(want), strings.ToLower(w)); d < bestD {
			best, bestD = w, d
		}
	}
	return best
}

// distance is the Levenshtein distance.
func distance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i := range ra {
		prev := row[0]
		row[0] = i + 1
		for j := range rb {
			cost := prev
			if ra[i] != rb[j] {
				cost++
			}
			prev = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(rb)]
}

// exact turns a decimal of the rule files into an exact number.
func exact(f float64) *big.Rat {
	r, _ := new(big.Rat).SetString(fmt.Sprintf("%.6f", f))
	return r
}

// rounded rounds half away from zero to a number of decimals; -1 leaves it.
func rounded(r *big.Rat, decimals int) *big.Rat {
	if decimals < 0 {
		return new(big.Rat).Set(r)
	}
	out, _ := new(big.Rat).SetString(r.FloatString(decimals)) // FloatString rounds half away from zero
	return out
}
