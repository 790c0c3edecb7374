package diagnose

import (
	_ "embed"
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/judging"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

//go:embed collectives.json
var collectivesJSON []byte

type collectiveData struct {
	FullFrom float64 `json:"full_from"`
	Spread   float64 `json:"spread"`
	LooksAt  []struct {
		Words  []string `json:"words"`
		Scales []string `json:"scales"`
	} `json:"looks_at"`
}

var collectivesFile = mustLoad[collectiveData](collectivesJSON, "collectives.json")

// CollectiveLedger is where a mark for the whole ride went. The losses sum to ten minus the mean
// mark of the judges; how much each weighed is a guess, wider than in a movement.
type CollectiveLedger struct {
	Name        string
	Coefficient int
	Mean        float64
	Lost        []Loss
}

// collectives splits the marks for the whole ride among what was written beside them, what was seen
// of the elements that they look at, and the usual best.
func collectives(in Input, all []finding) []CollectiveLedger {
	out := []CollectiveLedger{}
	for _, c := range in.Plan.Collectives {
		var given []judging.Mark
		sum := 0.0
		for _, k := range in.Card.Marks {
			if strings.EqualFold(k.Collective, c.Name) {
				given = append(given, k)
				sum += k.Mark.Float()
			}
		}
		if len(given) == 0 {
			continue
		}
		l := CollectiveLedger{Name: c.Name, Coefficient: max(c.Coefficient, 1), Mean: sum / float64(len(given))}
		l.Lost = collectiveLosses(in.Plan, l, given, all)
		out = append(out, l)
	}
	return out
}

func collectiveLosses(p *rideplan.Plan, l CollectiveLedger, given []judging.Mark, all []finding) []Loss {
	ceiling := math.Min(10, ceilings.Default+levelShift(p.Level))
	var shares []share
	for _, f := range collectiveFindings(p, l.Name, given, all) {
		c := costOf(f.fault)
		shares = append(shares, share{mean: c.Cost * f.sure, sd: collectivesFile.Spread*c.Cost + 0.1, hi: math.Inf(1),
			loss: Loss{Reason: string(f.fault), Fault: f.fault, Reach: c.Reach, Evidence: f.evidence, Source: c.Source}})
	}
	words := fmt.Sprintf("%s: %.1f; own collective marks are not followed", assumed, ceiling)
	shares = append(shares,
		share{mean: 10 - ceiling, sd: ceilings.SD, hi: 10 - ceiling, loss: Loss{Reason: "usual best for a mark of the whole ride, assumed for the level", Reach: Ceiling, Evidence: []string{words}}},
		share{mean: 0, sd: reasonsFile.NoiseSD, hi: math.Inf(1), loss: Loss{Reason: "unexplained: neither seen nor measured", Reach: Schooling}})
	out := roundedLosses(10-l.Mean, shares, splitMark(10-l.Mean, shares))
	for i := range out {
		out[i].Percent = round(100*out[i].Marks*float64(l.Coefficient)/MaxPoints(p), 2)
	}
	return out
}

// collectiveFindings are the faults that a collective heard of: what the judge wrote beside it, and
// what was seen through the ride of the elements it looks at, by how often.
func collectiveFindings(p *rideplan.Plan, name string, given []judging.Mark, all []finding) []finding {
	var out []finding
	for _, k := range given {
		for _, f := range remarks.FaultsIn(k.Remark, nil) {
			out = mergeFinding(out, finding{fault: f, sure: 0.9, evidence: []string{fmt.Sprintf("written by judge %s: %q", k.Judge, k.Remark)}})
		}
	}
	scales := looksAt(name)
	for _, f := range throughTheRide(p, all) {
		if w, ok := terms.FaultByID(f.fault); ok && (scales == nil || scales[w.Scale]) {
			out = mergeFinding(out, f)
		}
	}
	return once(out)
}

// looksAt are the elements that a collective looks at; nil for all.
func looksAt(name string) map[string]bool {
	var out map[string]bool
	for _, e := range collectivesFile.LooksAt {
		for _, w := range e.Words {
			if !strings.Contains(strings.ToLower(name), w) {
				continue
			}
			for _, s := range e.Scales {
				if out == nil {
					out = map[string]bool{}
				}
				out[s] = true
			}
		}
	}
	return out
}

// throughTheRide sums each fault over the movements, in the order in which they were first seen.
func throughTheRide(p *rideplan.Plan, all []finding) []finding {
	var out []finding
	at := map[terms.Fault]int{}
	where := map[terms.Fault][]string{}
	for _, f := range all {
		i, seen := at[f.fault]
		if !seen {
			i = len(out)
			at[f.fault] = i
			out = append(out, finding{fault: f.fault, times: 1})
		}
		out[i].sure += f.sure
		where[f.fault] = append(where[f.fault], fmt.Sprint(f.number))
	}
	full := collectivesFile.FullFrom * float64(len(p.Movements))
	for i := range out {
		f := &out[i]
		f.sure = clamp(f.sure/math.Max(full, 1), 0, 0.95)
		f.evidence = []string{fmt.Sprintf("seen in movement %s: what it weighed in a mark of the whole ride is a guess", strings.Join(where[f.fault], ", "))}
	}
	return out
}
