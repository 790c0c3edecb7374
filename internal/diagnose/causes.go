package diagnose

import (
	_ "embed"
	"fmt"
	"math"
	"sort"
	"sync"

	"ringcraft/internal/measure"
	"ringcraft/internal/terms"
)

//go:embed causes.json
var causesJSON []byte

type causeData struct {
	Leak          float64           `json:"leak"`
	HistoryWeight float64           `json:"history_weight"`
	Causes        []causeEntry      `json:"causes"`
	Experiments   []experimentEntry `json:"experiments"`
	Shown         struct {
		Least float64 `json:"least"`
		Most  float64 `json:"most"`
		Words []struct {
			From float64 `json:"from"`
			Say  string  `json:"say"`
		} `json:"words"`
	} `json:"shown"` // how sure one ride can make anyone
	ShownNote string `json:"shown_note"`
}

type causeEntry struct {
	Cause    string                  `json:"cause"`
	Group    string                  `json:"group"`
	Prior    float64                 `json:"prior"`
	RaisedBy map[string]float64      `json:"raised_by"`
	Makes    map[terms.Fault]float64 `json:"makes"`
}

type experimentEntry struct {
	ID       string             `json:"id"`
	Try      string             `json:"try"`
	Yes      string             `json:"yes"`
	Leak     float64            `json:"leak"`
	BetterIf map[string]float64 `json:"better_if"`
	For      []terms.Fault      `json:"for"` // faults it can be tried on; none: all that the cause makes
}

var causesFile = mustLoad[causeData](causesJSON, "causes.json")

// TryFits reports whether what is tried for a cause can show anything on this fault: the cause brings
// the fault, and the trial is one for it.
func TryFits(c Cause, fault terms.Fault) bool {
	for _, e := range causesFile.Causes {
		if e.Cause != c.Cause || e.Makes[fault] == 0 {
			continue
		}
		for _, x := range causesFile.Experiments {
			if x.Try == c.Try {
				return len(x.For) == 0 || hasFault(x.For, fault)
			}
		}
		return true // a trial kept from other data
	}
	return false
}

// Likely says the probability of a cause in a word, which stands beside its number.
func (c Cause) Likely() string {
	for _, w := range causesFile.Shown.Words {
		if c.Probability >= w.From {
			return w.Say
		}
	}
	return ""
}

// ConfirmedRide is what a trainer found out about a cause in an earlier ride.
type ConfirmedRide struct {
	Cause string `json:"cause"`
	Yes   bool   `json:"yes"`
}

// priors are the Beta counts of each cause: how often it was and was not at work.
type priors map[string]betaCount

type betaCount struct{ yes, no float64 }

func (b betaCount) mean() float64 { return b.yes / (b.yes + b.no) }

// startPriors turns the data file's priors into counts worth HistoryWeight rides.
func startPriors() priors {
	out := priors{}
	for _, c := range causesFile.Causes {
		w := causesFile.HistoryWeight
		out[c.Cause] = betaCount{c.Prior * w, (1 - c.Prior) * w}
	}
	return out
}

// causeNetwork builds the network with the given priors: causes in an order in which every
// cause follows those that raise it, then faults, then experiments.
func causeNetwork(p priors) (*Network, error) {
	n := &Network{}
	for _, c := range causeOrder() {
		parents := sortedKeys(c.RaisedBy)
		links := make([]float64, len(parents))
		for i, name := range parents {
			links[i] = c.RaisedBy[name]
		}
		if err := n.AddNoisyOr(c.Cause, p[c.Cause].mean(), parents, links); err != nil {
			return nil, err
		}
	}
	for _, f := range networkFaults() {
		parents, links := makersOf(f)
		if err := n.AddNoisyOr(faultNode(f), causesFile.Leak, parents, links); err != nil {
			return nil, err
		}
	}
	for _, e := range causesFile.Experiments {
		parents := sortedKeys(e.BetterIf)
		links := make([]float64, len(parents))
		for i, name := range parents {
			links[i] = e.BetterIf[name]
		}
		if err := n.AddNoisyOr(tryNode(e.ID), e.Leak, parents, links); err != nil {
			return nil, err
		}
	}
	return n, nil
}

func faultNode(f terms.Fault) string { return "fault: " + string(f) }
func tryNode(id string) string       { return "try: " + id }

// causeOrder sorts the causes so that raisers come first; the file's order otherwise.
func causeOrder() []causeEntry {
	var out []causeEntry
	placed := map[string]bool{}
	for len(out) < len(causesFile.Causes) {
		before := len(out)
		for _, c := range causesFile.Causes {
			ready := !placed[c.Cause]
			for name := range c.RaisedBy {
				ready = ready && placed[name]
			}
			if ready {
				out, placed[c.Cause] = append(out, c), true
			}
		}
		if len(out) == before {
			panic("diagnose: causes.json raises causes in a circle or by an unknown name") // caught by tests
		}
	}
	return out
}

var networkFaults = sync.OnceValue(func() []terms.Fault {
	seen := map[terms.Fault]bool{}
	for _, c := range causesFile.Causes {
		for f := range c.Makes {
			seen[f] = true
		}
	}
	var out []terms.Fault
	for f := range seen {
		out = append(out, f)
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
})

func makersOf(f terms.Fault) (parents []string, links []float64) {
	for _, c := range causesFile.Causes {
		if l, ok := c.Makes[f]; ok {
			parents, links = append(parents, c.Cause), append(links, l)
		}
	}
	return parents, links
}

// observed is what one ride says about the faults of the network.
type observed struct {
	ev      Evidence
	forIt   map[terms.Fault][]string
	against map[terms.Fault][]string
}

// observe turns findings and measures that are ok into likelihoods. A fault seen in any
// movement shows in this ride; a fault that could be measured and was ok every time speaks
// against itself, the more the oftener. Faults that nobody could see are not observed.
func observe(all []finding, set measure.Set) observed {
	o := observed{Evidence{}, map[terms.Fault][]string{}, map[terms.Fault][]string{}}
	known := map[terms.Fault]bool{}
	for _, f := range networkFaults() {
		known[f] = true
	}
	doubt := map[terms.Fault]float64{}
	for _, f := range all {
		if !known[f.fault] {
			continue
		}
		if _, seen := doubt[f.fault]; !seen {
			doubt[f.fault] = 1
		}
		doubt[f.fault] *= 1 - f.sure
		for _, e := range f.evidence {
			o.forIt[f.fault] = append(o.forIt[f.fault], fmt.Sprintf("movement %d: %s, %s", f.number, f.fault, e))
		}
	}
	for f, d := range doubt { // each writes its own key
		p := clamp(1-d, 0.05, 0.98)
		o.ev[faultNode(f)] = Likelihood{No: 1 - p, Yes: p}
	}
	o.observeOK(set, doubt, known)
	return o
}

func (o *observed) observeOK(set measure.Set, seen map[terms.Fault]float64, known map[terms.Fault]bool) {
	for _, m := range set {
		for _, x := range m.Measures {
			if x.Verdict != measure.OK || x.Value == nil {
				continue
			}
			for _, f := range faultsShownBy(x.What) {
				if _, was := seen[f]; was || !known[f] {
					continue
				}
				l, had := o.ev[faultNode(f)]
				if !had {
					l = Likelihood{1, 1}
				}
				l.Yes = math.Max(0.1, l.Yes*0.5)
				o.ev[faultNode(f)] = l
				o.against[f] = append(o.against[f], fmt.Sprintf("movement %d: %s ok", m.Number, x.What))
			}
		}
	}
}

// lastRides is how many earlier rides move the priors: older ones say little of today.
const lastRides = 12

// adapt moves the priors by the earlier rides of the combination: each ride adds its
// posterior as a fraction of a count, each thing the trainer confirmed a whole one.
func adapt(history []RideFacts, known []ConfirmedRide) (priors, error) {
	p := startPriors()
	if len(history) > lastRides {
		history = history[len(history)-lastRides:]
	}
	for _, r := range history {
		o := observe(findingsOf(r), measuresOf(r))
		if len(o.ev) == 0 {
			continue
		}
		b, err := believe(p, o.ev)
		if err != nil {
			return nil, err
		}
		for _, name := range b.names {
			c := p[name]
			p[name] = betaCount{c.yes + b.post[name], c.no + 1 - b.post[name]}
		}
	}
	for _, k := range known {
		b, ok := p[k.Cause]
		if !ok {
			return nil, fmt.Errorf("unknown cause %q", k.Cause)
		}
		if k.Yes {
			b.yes++
		} else {
			b.no++
		}
		p[k.Cause] = b
	}
	return p, nil
}

func findingsOf(r RideFacts) []finding {
	var out []finding
	for _, m := range r.Movements {
		for _, f := range m.FaultsShown() {
			out = append(out, finding{fault: f, number: m.Number, sure: 0.85})
		}
	}
	return out
}

func measuresOf(r RideFacts) measure.Set {
	var out measure.Set
	for _, m := range r.Movements {
		out = append(out, measure.Movement{Number: m.Number, Measures: m.Measures})
	}
	return out
}

// CauseMakes reports whether a cause is known to bring a fault.
func CauseMakes(cause string, fault terms.Fault) bool {
	for _, c := range causesFile.Causes {
		if c.Cause == cause {
			_, ok := c.Makes[fault]
			return ok
		}
	}
	return false
}

// CauseNames lists the known causes in the order of the data file.
func CauseNames() []string {
	out := make([]string, len(causesFile.Causes))
	for i, c := range causesFile.Causes {
		out[i] = c.Cause
	}
	return out
}
