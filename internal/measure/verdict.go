package measure

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"strings"
)

//go:embed tolerances.json
var tolerancesJSON []byte

// Tolerance is what a judge can see of one measure, either side of what is asked.
type Tolerance struct {
	What   string  `json:"what"`
	Unit   string  `json:"unit"`
	Within float64 `json:"within"` // in Unit
	Share  float64 `json:"share"`  // of what is asked; the larger of both counts
	High   string  `json:"high"`   // name of the fault above
	Low    string  `json:"low"`    // name of the fault below; "" when less is no fault
	Source string  `json:"source"`
	// Least and Most are the bounds of what there can be, nil where there is none.
	Least *float64 `json:"least"`
	Most  *float64 `json:"most"`
}

var tolerances = loadTolerances()

func loadTolerances() map[string]Tolerance {
	var list []Tolerance
	if err := json.Unmarshal(tolerancesJSON, &list); err != nil {
		panic(fmt.Sprintf("measure: embedded tolerances.json: %v", err)) // impossible state: checked by test
	}
	out := make(map[string]Tolerance, len(list))
	for _, t := range list {
		out[t.What] = t
	}
	return out
}

// ToleranceOf returns the tolerance of a measure by its plain name, without a letter.
func ToleranceOf(what string) (Tolerance, bool) {
	t, ok := tolerances[what]
	return t, ok
}

// atBound is up to what share of its doubt from a bound a value counts as lying at it.
const atBound = 0.05

// OneWay says to which side alone a value can be off because it lies at the bound of what there can
// be: 1 when the truth may only be more, -1 when only less, 0 when it may be either. A circle is never
// rounder than round, and no pace is held for more than all of its way.
func (m Measure) OneWay() int {
	t, ok := tolerances[plain(m.What)]
	if !ok || m.Value == nil || m.Sigma == nil {
		return 0
	}
	near := func(bound *float64) bool { return bound != nil && math.Abs(*m.Value-*bound) <= atBound**m.Sigma }
	switch {
	case near(t.Least):
		return 1
	case near(t.Most):
		return -1
	}
	return 0
}

// Within keeps a number of this measure within what there can be.
func (m Measure) Within(v float64) float64 {
	t := tolerances[plain(m.What)]
	if t.Least != nil {
		v = math.Max(v, *t.Least)
	}
	if t.Most != nil {
		v = math.Min(v, *t.Most)
	}
	return v
}

// Passes reports whether more than is asked, or less, is no fault of this measure however much it is.
func (m Measure) Passes() (less, more bool) {
	t := tolerances[plain(m.What)]
	return t.Low == "", t.High == ""
}

// around is the tolerance in the measure's unit about what is asked.
func (t Tolerance) around(asked float64) float64 {
	return math.Max(t.Within, t.Share*math.Abs(asked))
}

// sure is how probable a verdict must be before it is given. A verdict is then wrong in
// less than one case in a hundred where the doubt is right, and in less than two where the
// recorder errs by twice what it should (docs/MEASURES.md).
const sure = 0.99

// judge names the verdict on a value with its doubt, or says that it cannot tell: when the
// doubt is larger than the tolerance, or no verdict is sure enough.
func (t Tolerance) judge(value, sigma, asked float64) string {
	tol := t.around(asked)
	if !(sigma <= tol) {
		return CannotTell
	}
	off := value - asked
	above := tail((off - tol) / sigma)
	below := tail((-tol - off) / sigma)
	if t.High == "" {
		above = 0
	}
	if t.Low == "" {
		below = 0
	}
	switch {
	case above >= sure:
		return t.High
	case below >= sure:
		return t.Low
	case above+below <= 1-sure:
		return OK
	}
	return CannotTell
}

// tail is the probability that a standard Gaussian lies below z.
func tail(z float64) float64 {
	if math.IsNaN(z) { // no doubt and exactly on the edge
		return 0.5
	}
	return 0.5 * math.Erfc(-z/math.Sqrt2)
}

// plain takes the letter or number off a measure's name.
func plain(what string) string {
	if _, ok := tolerances[what]; ok {
		return what
	}
	for i := strings.LastIndexByte(what, ' '); i > 0; i = strings.LastIndexByte(what[:i], ' ') {
		if _, ok := tolerances[what[:i]]; ok {
			return what[:i]
		}
	}
	return what
}
