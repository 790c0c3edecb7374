package diagnose

import (
	"fmt"
	"math"
	"sort"

	"ringcraft/internal/terms"
)

const (
	worthSaying = 0.3 // a cause less likely than this is not listed, unless it is among the first two
	mostCauses  = 6
)

// rankCauses gives the causes by marks at stake times probability, with their evidence and
// the one thing to try that best tells each from its strongest rival.
func rankCauses(in Input, all []finding, ledger []MovementLedger) ([]Cause, []string) {
	o := observe(all, in.Measures)
	if len(o.forIt) == 0 {
		return []Cause{}, []string{"no fault was seen, said or measured that has a known cause: no cause is claimed"}
	}
	p, err := adapt(in.History, in.Known)
	if err != nil {
		return []Cause{}, []string{"causes: " + err.Error()}
	}
	b, err := believe(p, o.ev)
	if err != nil {
		return []Cause{}, []string{"causes: " + err.Error()}
	}
	for _, f := range all {
		b.seen = append(b.seen, f.fault)
	}
	out := chosen(in, o, b.post, ledger)
	for i := range out {
		rival := 0
		if i == 0 {
			rival = 1
		}
		if rival < len(out) {
			b.tellApart(&out[i], out[rival].Cause)
		} else {
			b.tellApart(&out[i], "")
		}
	}
	if len(out) > 1 {
		return out, []string{causesFile.ShownNote}
	}
	return out, nil
}

// belief is the joint probability of all causes that the evidence bears on; everything else
// asked of the network follows from it by summing.
type belief struct {
	net   *Network
	names []string
	joint []float64 // bit i of the index is names[i]
	post  map[string]float64
	seen  []terms.Fault // the faults of the ride
}

func believe(p priors, ev Evidence) (belief, error) {
	n, err := causeNetwork(p)
	if err != nil {
		return belief{}, err
	}
	b := belief{net: n, names: relevantCauses(n, ev), post: map[string]float64{}}
	if b.joint, err = n.Joint(b.names, ev); err != nil {
		return belief{}, err
	}
	for i, name := range b.names {
		for idx, v := range b.joint {
			if idx>>i&1 == 1 {
				b.post[name] += v
			}
		}
	}
	return b, nil
}

// relevantCauses are the causes among the ancestors of what was observed.
func relevantCauses(n *Network, ev Evidence) []string {
	_, like, err := n.resolve(nil, ev)
	if err != nil {
		return nil
	}
	needed := n.needed(nil, like)
	var out []string
	for _, c := range causesFile.Causes {
		if needed[n.index[c.Cause]] {
			out = append(out, c.Cause)
		}
	}
	return out
}

// chosen lists the causes that explain at least one fault seen.
func chosen(in Input, o observed, post map[string]float64, ledger []MovementLedger) []Cause {
	var out []Cause
	stake := stakes(in, post, ledger)
	for _, c := range causesFile.Causes {
		e := Cause{Cause: c.Cause, Group: c.Group, Probability: round(post[c.Cause], 3), MarksAtStake: round(stake[c.Cause], 2), Evidence: []string{}}
		for _, f := range sortedFaults(c.Makes) {
			e.Evidence = append(e.Evidence, o.forIt[f]...)
			if c.Makes[f] >= 0.3 {
				e.Against = append(e.Against, o.against[f]...)
			}
		}
		if len(e.Evidence) > 0 {
			out = append(out, e)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	for len(out) > 2 && (out[len(out)-1].Probability < worthSaying || len(out) > mostCauses) {
		out = out[:len(out)-1]
	}
	for i := range out { // one ride never settles a cause
		out[i].Probability = clamp(out[i].Probability, causesFile.Shown.Least, causesFile.Shown.Most)
	}
	return out
}

func sortedFaults(m map[terms.Fault]float64) []terms.Fault {
	out := make([]terms.Fault, 0, len(m))
	for f := range m {
		out = append(out, f)
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

// stakes shares the marks of each fault among its causes: in proportion to the chance that
// the cause was at work and brought it, with the leak as one more claimant.
func stakes(in Input, post map[string]float64, ledger []MovementLedger) map[string]float64 {
	out := map[string]float64{}
	for _, m := range ledger {
		for _, l := range m.Lost {
			parents, links := makersOf(l.Fault)
			sum := causesFile.Leak
			for i, c := range parents {
				sum += post[c] * links[i]
			}
			for i, c := range parents {
				out[c] += l.Worth() * coefficient(in.Plan, m.Number) * post[c] * links[i] / sum
			}
		}
	}
	return out
}

// seenFor reports whether a fault that the cause makes and the experiment can be tried on was seen.
func (b belief) seenFor(e experimentEntry, cause string) bool {
	for _, f := range b.seen {
		if TryFits(Cause{Cause: cause, Try: e.Try}, f) {
			return true
		}
	}
	return false
}

// tellApart finds the experiment whose outcome is expected to say most about which of two
// causes is at work, given that it is one of them: the mutual information of outcome and
// cause, in bits. Only an experiment for the cause itself and for a fault of it that was seen
// is given. Without a rival: about whether the cause is at work at all.
func (b belief) tellApart(c *Cause, rival string) {
	for _, e := range causesFile.Experiments {
		if _, own := e.BetterIf[c.Cause]; !own || !b.seenFor(e, c.Cause) {
			continue
		}
		bits := b.informationOf(e, c.Cause, rival)
		if bits <= c.TellsBits {
			continue
		}
		c.TellsBits, c.Try, c.Rival = round(bits, 4), e.Try, rival
		c.Outcome = outcomeWords(e, c.Cause, rival)
	}
}

func outcomeWords(e experimentEntry, cause, rival string) string {
	if rival == "" {
		return fmt.Sprintf("if %s, %q is the likelier", e.Yes, cause)
	}
	first, second := cause, rival
	if e.BetterIf[rival] > e.BetterIf[cause] {
		first, second = rival, cause
	}
	return fmt.Sprintf("if %s, %q is the likelier; if not, %q", e.Yes, first, second)
}

// informationOf sums the joint into the four cells (outcome no or yes, the one or the other
// cause): only the cause or only the rival; without a rival the cause or not.
func (b belief) informationOf(e experimentEntry, cause, rival string) float64 {
	var cells [4]float64
	at, against := b.at(cause), b.at(rival)
	yesIf := b.outcome(e)
	for idx, v := range b.joint {
		first := idx>>at&1 == 1
		if against >= 0 && first == (idx>>against&1 == 1) {
			continue
		}
		cell := 2
		if first {
			cell = 0
		}
		yes := yesIf(idx)
		cells[cell] += v * (1 - yes)
		cells[cell+1] += v * yes
	}
	return mutualInformation(cells[0], cells[1], cells[2], cells[3])
}

func (b belief) at(cause string) int {
	for i, n := range b.names {
		if n == cause {
			return i
		}
	}
	return -1
}

// outcome gives P(yes) of an experiment for an index of the joint; causes that the evidence
// does not bear on count as not at work.
func (b belief) outcome(e experimentEntry) func(idx int) float64 {
	var bits []int
	var links []float64
	for i, name := range b.names {
		if l := e.BetterIf[name]; l > 0 {
			bits, links = append(bits, i), append(links, l)
		}
	}
	return func(idx int) float64 {
		no := 1 - e.Leak
		for k, i := range bits {
			if idx>>i&1 == 1 {
				no *= 1 - links[k]
			}
		}
		return 1 - no
	}
}

// mutualInformation of two yes/no variables from their joint weights, in bits:
// a = (no, first), b = (yes, first), c = (no, second), d = (yes, second).
func mutualInformation(a, b, c, d float64) float64 {
	total := a + b + c + d
	if !(total > 0) {
		return 0
	}
	sum := 0.0
	for _, x := range [][3]float64{{a, a + b, a + c}, {b, a + b, b + d}, {c, c + d, a + c}, {d, c + d, b + d}} {
		if x[0] > 0 {
			sum += x[0] / total * math.Log2(x[0]*total/(x[1]*x[2]))
		}
	}
	return math.Max(0, sum)
}
