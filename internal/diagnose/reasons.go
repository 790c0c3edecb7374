package diagnose

import (
	_ "embed"
	"slices"
	"strings"

	"ringcraft/internal/terms"
)

//go:embed reasons.json
var reasonsJSON []byte

//go:embed caps.json
var capsJSON []byte

//go:embed ceilings.json
var ceilingsJSON []byte

type reasonData struct {
	NoiseSD float64 `json:"noise_sd"`
	Scales  []struct {
		Scale string
		costEntry
	} `json:"scales"`
	Faults []struct {
		Fault terms.Fault
		costEntry
	} `json:"faults"`
	Measures []struct {
		What     string
		Verdicts map[string]terms.Fault
	} `json:"measures"`
	Chains []chain `json:"chains"`
	Alike  []struct {
		Faults []terms.Fault `json:"faults"`
	} `json:"alike"`
	Opposites []struct {
		Faults [2]terms.Fault `json:"faults"`
	} `json:"opposites"`
	Figures   []oneFigure `json:"figures"`
	LeansFrom float64     `json:"leans_from"`
	Above     []string    `json:"above"`
	Below     []string    `json:"below"`
}

// costEntry is a prior of what a fault costs, in marks.
type costEntry struct {
	Cost   float64 `json:"cost"`
	Reach  string  `json:"reach"`
	Source string  `json:"source"`
}

// chain says that one fault spoils what follows it within some seconds.
type chain struct {
	From    terms.Fault   `json:"from"`
	To      []terms.Fault `json:"to"`
	WithinS float64       `json:"within_s"`
	Why     string        `json:"why"`
}

type capData struct {
	Caps  []Cap  `json:"caps"`
	Risks []risk `json:"risks"`
}

// Cap is a usual upper limit of a mark when a fault is there. MinMissM: only when the place
// was missed by at least so many metres, as measured.
type Cap struct {
	Faults   []terms.Fault `json:"faults"`
	Kinds    []terms.Kind  `json:"kinds"`
	Cap      float64       `json:"cap"`
	MinMissM float64       `json:"min_miss_m"`
	Words    string        `json:"words"`
	Source   string        `json:"source"`
}

type risk struct {
	Kinds  []terms.Kind `json:"kinds"`
	What   string       `json:"what"`
	Mark   float64      `json:"mark"`
	Source string       `json:"source"`
}

type ceilingData struct {
	OwnWeight float64                `json:"own_weight"`
	SD        float64                `json:"sd"`
	Default   float64                `json:"default"`
	Kinds     map[terms.Kind]float64 `json:"kinds"`
	Levels    []struct {
		Words []string
		Shift float64
	} `json:"levels"`
}

var (
	reasonsFile = mustLoad[reasonData](reasonsJSON, "reasons.json")
	capsFile    = mustLoad[capData](capsJSON, "caps.json")
	ceilings    = mustLoad[ceilingData](ceilingsJSON, "ceilings.json")
)

// costOf returns the prior of a fault: its own entry, else its element's of the training
// scale, else accuracy.
func costOf(f terms.Fault) costEntry {
	for _, e := range reasonsFile.Faults {
		if e.Fault == f {
			return e.costEntry
		}
	}
	scale := "accuracy"
	if w, ok := terms.FaultByID(f); ok {
		scale = w.Scale
	}
	for _, e := range reasonsFile.Scales {
		if e.Scale == scale {
			return e.costEntry
		}
	}
	return reasonsFile.Scales[0].costEntry
}

// verdictsOf are the verdicts of a measure with the faults they are; nil when it has none.
// The later measures of a movement carry a letter ("halt place X"), so the longest name that
// begins what counts.
func verdictsOf(what string) map[string]terms.Fault {
	best, verdicts := "", map[string]terms.Fault(nil)
	for _, m := range reasonsFile.Measures {
		if (what == m.What || strings.HasPrefix(what, m.What+" ")) && len(m.What) > len(best) {
			best, verdicts = m.What, m.Verdicts
		}
	}
	return verdicts
}

// faultsShownBy lists the faults that a measure can confirm or deny, in order of name.
func faultsShownBy(what string) []terms.Fault {
	var out []terms.Fault
	for _, f := range verdictsOf(what) {
		if f != "" && !hasFault(out, f) {
			out = append(out, f)
		}
	}
	slices.Sort(out)
	return out
}

// alike reports whether two faults are names of one thing.
func alike(a, b terms.Fault) bool {
	if a == b {
		return true
	}
	for _, g := range reasonsFile.Alike {
		if hasFault(g.Faults, a) && hasFault(g.Faults, b) {
			return true
		}
	}
	return false
}

// direction says whether a fault means more (1) or less (-1) than asked of a measure; 0 when it has
// no direction.
func direction(what string, f terms.Fault) float64 {
	up, down := false, false
	for verdict, fault := range verdictsOf(what) { // the order does not matter
		if fault == f {
			above, below := slices.Contains(reasonsFile.Above, verdict), slices.Contains(reasonsFile.Below, verdict)
			up, down = up || above || !below, down || below || !above
		}
	}
	switch {
	case up && !down:
		return 1
	case down && !up:
		return -1
	}
	return 0
}

// capFor returns the lowest usual cap for a fault in a movement of these kinds.
func capFor(f finding, kinds []terms.Kind) (Cap, bool) {
	best, ok := Cap{}, false
	for _, c := range capsFile.Caps {
		if hasFault(c.Faults, f.fault) && (len(c.Kinds) == 0 || sharesKind(c.Kinds, kinds)) && f.missM >= c.MinMissM {
			if !ok || c.Cap < best.Cap {
				best, ok = c, true
			}
		}
	}
	return best, ok
}

func hasFault(list []terms.Fault, f terms.Fault) bool {
	for _, x := range list {
		if x == f {
			return true
		}
	}
	return false
}

func sharesKind(a, b []terms.Kind) bool {
	for _, x := range a {
		for _, y := range b {
			if x == y {
				return true
			}
		}
	}
	return false
}

//go:embed care.json
var careJSON []byte

// careWords say what is to be looked at before a fault is schooled (common practice; the
// last from the FEI stewards' manual).
var careWords = mustLoad[map[terms.Fault]string](careJSON, "care.json")
