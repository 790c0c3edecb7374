package prepare

import (
	"slices"
	"sort"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/terms"
)

// usefulNeeds drops what cannot be won; without any need every kind of the level's work is
// a small one, so that the lesson is balanced.
func usefulNeeds(in LessonInput) []Need {
	var out []Need
	for _, n := range in.Needs {
		if valueOf(n) >= gainRules.LeastPercent {
			out = append(out, n)
		}
	}
	if len(in.Needs) > 0 {
		return out
	}
	for _, k := range []terms.Kind{terms.Transition, terms.Halt, terms.Circle, terms.CentreLine, terms.FreeWalk, terms.Corner, terms.Serpentine} {
		out = append(out, Need{Kinds: []terms.Kind{k}, Coefficient: 1, MaxPoints: 200, Loss: diagnose.Loss{Reason: string(k), Marks: 1, Reach: diagnose.Now}})
	}
	return out
}

// valueOf is what could be won back of a need today, in points of the final percentage.
func valueOf(n Need) float64 {
	if n.MaxPoints <= 0 {
		return 0
	}
	return 100 * n.Loss.Worth() * float64(max(1, n.Coefficient)) / n.MaxPoints * gainRules.Reach[n.Loss.Reach]
}

// strengthOf is how much of a need one full dose of an exercise reaches, 0 to 1.
func (c *choice) strengthOf(e Exercise, n Need) float64 {
	if e.WholeTest {
		return gainRules.WholeTest
	}
	kind := sharesKind(e.Serves.Kinds, n.Kinds) && samePace(e, n)
	s := 0.0
	switch fault := slices.Contains(e.Serves.Faults, n.Loss.Fault); {
	case fault && n.Loss.Fault != "" && kind:
		s = gainRules.FaultAndKind
	case fault && n.Loss.Fault != "":
		s = gainRules.Fault
	case kind:
		s = gainRules.Kind
	}
	for _, cause := range c.in.Causes {
		if n.Loss.Fault != "" && slices.Contains(e.Serves.Causes, cause.Cause) && diagnose.CauseMakes(cause.Cause, n.Loss.Fault) {
			s = max(s, gainRules.Cause*cause.Probability)
		}
	}
	return min(1, s*learntFactor(c.in.Learnt, e.ID))
}

// samePace reports whether the exercise's work is in a pace of the movement: a circle in
// canter is another thing than one in trot. Transitions have two paces, so any will do.
func samePace(e Exercise, n Need) bool {
	if len(n.Paces) == 0 || slices.Contains(n.Paces, e.pace()) {
		return true
	}
	return slices.Contains(n.Kinds, terms.Transition) && slices.ContainsFunc(n.Paces, func(p string) bool { return slices.Contains(e.Paces, p) })
}

func sharesKind(a, b []terms.Kind) bool {
	for _, x := range a {
		if slices.Contains(b, x) {
			return true
		}
	}
	return false
}

// attention is what a block of an exercise works on: needs, most valuable first, and how
// strongly.
type attention struct {
	which    []int
	strength []float64
}

// attend picks what a block of an exercise is for: the needs it serves that are worth most,
// no more than attention goes round.
func (c *choice) attend(e Exercise) (which []int, strength []float64) {
	all := make([]float64, len(c.needs))
	for l, n := range c.needs {
		if all[l] = c.strengthOf(e, n); all[l] > 0 {
			which = append(which, l)
		}
	}
	worth := func(l int) float64 { return all[l] * c.problem.values[l] }
	sort.SliceStable(which, func(a, b int) bool { return worth(which[a]) > worth(which[b]) })
	if !e.WholeTest { // which touches everything, each a little
		which = which[:min(len(which), gainRules.Attention)]
	}
	for _, l := range which {
		strength = append(strength, all[l])
	}
	return which, strength
}
