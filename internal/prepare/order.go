package prepare

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// order arranges the chosen exercises: every order is tried (at most 720). Fixed: an easier
// version before its harder one, the whole test last. Preferred: rising level and load, and
// a little mixing of groups, as the trainer likes.
func (c *choice) order(s solution) []picked {
	var all []picked
	for i, o := range s.taken {
		if o >= 0 {
			all = append(all, c.pick(i, o, s))
		}
	}
	best, least := slices.Clone(all), math.Inf(1)
	permute(all, 0, func(p []picked) {
		if cost := c.orderCost(p); cost < least-1e-12 {
			least = cost
			copy(best, p)
		}
	})
	return best
}

// permute calls visit with every order of p[k:], in a fixed sequence.
func permute(p []picked, k int, visit func([]picked)) {
	if k >= len(p)-1 {
		visit(p)
		return
	}
	for i := k; i < len(p); i++ {
		p[k], p[i] = p[i], p[k]
		permute(p, k+1, visit)
		p[k], p[i] = p[i], p[k]
	}
}

func (c *choice) orderCost(p []picked) float64 {
	mix := 0.3
	if c.in.Prefer.Interleave != nil {
		mix = min(1, max(0, *c.in.Prefer.Interleave))
	}
	cost := 0.0
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			a, b := p[i].exercise, p[j].exercise
			if easierThan(b, a) || a.WholeTest {
				cost += 1000
			}
			cost += math.Max(0, float64(LevelOf(a.Level)-LevelOf(b.Level))) + 0.5*math.Max(0, float64(a.Load-b.Load))
			cost += 0.3 * math.Max(0, float64(a.fastest()-b.fastest()))
		}
		if i > 0 && p[i].exercise.Group == p[i-1].exercise.Group {
			cost += 4*mix - 0.6
		}
		if i > 0 && strings.EqualFold(p[i].exercise.ID, c.in.Prefer.First) {
			cost += 100
		}
	}
	return cost
}

// fastest is the rank of an exercise's quickest pace: walk 0, trot 1, canter 2.
func (e Exercise) fastest() int {
	f := 0
	for _, p := range e.Paces {
		f = max(f, slices.Index([]string{"walk", "trot", "canter"}, p))
	}
	return f
}

// easierThan reports whether a is the easier version of b, directly or over others.
func easierThan(a, b Exercise) bool {
	for range 8 {
		if b.Easier == "" {
			return false
		}
		if b.Easier == a.ID {
			return true
		}
		next, ok := ExerciseByID(b.Easier)
		if !ok {
			return false
		}
		b = next
	}
	return false
}

// pick gathers why an exercise was chosen: what it takes from the gain when left out, and
// the needs it serves most.
func (c *choice) pick(i, o int, s solution) picked {
	p := picked{exercise: c.items[i], ride: c.options[i][o]}
	with := c.doses(s)
	without := slices.Clone(s.taken)
	without[i] = -1
	p.percent = c.problem.gainOf(with) - c.problem.gainOf(c.doses(solution{taken: without}))
	for _, l := range c.attention[i].which {
		if len(p.needs) < 3 {
			p.needs = append(p.needs, c.needs[l])
		}
	}
	p.reasons = c.reasons(p)
	return p
}

func (c *choice) reasons(p picked) []string {
	out := []string{p.exercise.Purpose}
	for _, n := range p.needs {
		out = append(out, needWords(n))
	}
	for _, cause := range c.in.Causes {
		if slices.Contains(p.exercise.Serves.Causes, cause.Cause) && cause.Probability >= 0.4 {
			out = append(out, fmt.Sprintf("likely cause: %s (%.0f %%)", cause.Cause, 100*cause.Probability))
		}
	}
	out = append(out, fmt.Sprintf("expected to bring %.2f points of the final percentage more than the lesson without it (%s)", p.percent, gainWords(c.in.Learnt, p.exercise.ID)))
	if p.exercise.Easier != "" {
		if e, ok := ExerciseByID(p.exercise.Easier); ok {
			out = append(out, "easier version: "+e.Title)
		}
	}
	return out
}

func needWords(n Need) string {
	if n.Movement == 0 {
		return "for balance: " + n.Loss.Reason
	}
	if n.Loss.Fault == "" {
		return fmt.Sprintf("movement %d lost %.1f marks without a reason that was seen or measured: practised as a whole", n.Movement, n.Loss.Marks)
	}
	what := fmt.Sprintf("%.1f marks", n.Loss.Marks)
	if n.Loss.Marks == 0 {
		what = fmt.Sprintf("about %.1f marks (estimate, no mark given)", n.Loss.Estimate)
	}
	return fmt.Sprintf("movement %d lost %s: %s (%s)", n.Movement, what, n.Loss.Reason, n.Loss.Reach)
}
