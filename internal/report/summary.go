package report

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/measure"
	"ringcraft/internal/prepare"
	"ringcraft/internal/terms"
)

// Summary is what a rider should take from a review: short, in plain words, in order of weight.
type Summary struct {
	Headline string
	Well     []string
	Change   []Change // three at most
	Where    []Share  // where the marks are, by reach
	Unsaid   []string // what cannot be said and why
}

// Change is one thing to change.
type Change struct {
	What      string
	Movements []int
	Marks     float64 // marks times coefficients
	Percent   float64
	Evidence  []string
	// Remedy is an exercise that works on it, with what it is for; "" when none is known.
	Remedy string
	// Try is no remedy: its outcome tells which cause is at work (FindOut says so).
	Try string

	fault terms.Fault
}

// FindOut stands before what is tried to tell causes apart, wherever it is shown.
const FindOut = "To find out which cause:"

// Share is how much was lost with one reach.
type Share struct {
	Reach   string
	Words   string
	Marks   float64 // marks times coefficients
	Percent float64
}

// Summarise reads the summary out of a review.
func Summarise(d *ReviewDoc) Summary {
	s := Summary{Headline: headline(d), Well: wentWell(d), Change: toChange(d), Where: shares(d)}
	s.Unsaid = unsaid(d)
	return s
}

// unsaid says what was not given, once, and then what the stages could not tell.
func unsaid(d *ReviewDoc) []string {
	var out []string
	if d.Recording == nil {
		out = append(out, "No recording: sizes, places and times were not measured.")
	}
	if d.Total == nil {
		out = append(out, "No marks: what is lost cannot be counted, only what was seen.")
	}
	for _, n := range d.Notes {
		if strings.HasPrefix(n, "no recording:") && d.Recording == nil || strings.HasPrefix(n, "no marks:") && d.Total == nil {
			continue
		}
		out = append(out, n)
	}
	return out
}

func headline(d *ReviewDoc) string {
	if d.Total == nil {
		return d.Sheet + ": ridden, not marked."
	}
	if d.Total.Eliminated {
		return fmt.Sprintf("%s: eliminated. %s", d.Sheet, strings.Join(d.Total.Why, " "))
	}
	return fmt.Sprintf("%s\u00a0%%, %s", d.Total.PercentWords(), d.Total.PointsWords())
}

// MeanMark is the mean of the judges' marks of a movement; ok is false without any.
func (m *ReviewMovement) MeanMark() (mark float64, ok bool) {
	for _, k := range m.Marks {
		mark += k.Mark
	}
	if len(m.Marks) == 0 {
		return 0, false
	}
	return mark / float64(len(m.Marks)), true
}

// wentWell names the best movements.
func wentWell(d *ReviewDoc) []string {
	out := []string{}
	for _, i := range bestOrder(d) {
		out = append(out, wellWords(&d.Movements[i]))
	}
	return out
}

func bestMovements(d *ReviewDoc) map[int]bool {
	out := map[int]bool{}
	for _, i := range bestOrder(d) {
		out[i] = true
	}
	return out
}

// bestOrder lists up to four movements, best first: by mark, or by praise and measures where
// there is no mark.
func bestOrder(d *ReviewDoc) []int {
	var idx []int
	score := make([]float64, len(d.Movements))
	for i := range d.Movements {
		m := &d.Movements[i]
		mark, marked := m.MeanMark()
		said := 0
		for _, r := range m.Remarks {
			said += len(r.Praise) - len(r.Faults)
		}
		ok, off := countVerdicts(m.Measures)
		switch {
		case marked && mark < 6:
			continue
		case !marked && (said < 0 || off > 0 || said+ok == 0):
			continue
		case !marked:
			mark = 6 + 0.1*float64(said+ok)
		}
		score[i] = mark + 0.05*float64(said)
		idx = append(idx, i)
	}
	sort.SliceStable(idx, func(a, b int) bool { return score[idx[a]] > score[idx[b]] })
	return idx[:min(len(idx), 4)]
}

func countVerdicts(ms []measure.Measure) (ok, off int) {
	for _, m := range ms {
		switch m.Verdict {
		case measure.OK:
			ok++
		case measure.CannotTell, "":
		default:
			off++
		}
	}
	return ok, off
}

// worthSaying are the measures a rider can be praised for, the first found is said.
var worthSaying = []string{"circle diameter", "halt place", "transition place", "rein-back", "angle", "gain", "loop size", "turn size", "centre line offset"}

func wellWords(m *ReviewMovement) string {
	out := fmt.Sprintf("Movement %d, %s", m.Number, short(partWords(m.Letters, m.Text), 60))
	if v, ok := m.MeanMark(); ok {
		out += ": " + MarkWords(v)
	}
	for _, what := range worthSaying {
		for _, x := range m.Measures {
			if strings.HasPrefix(x.What, what) && x.Verdict == measure.OK && x.Value != nil {
				return out + "; " + MeasureWords(x)
			}
		}
	}
	for _, r := range m.Remarks {
		if len(r.Praise) > 0 {
			return out + "; said: “" + short(r.Text, 60) + "”"
		}
	}
	return out
}

// toChange groups the losses that are not the horse's ceiling by reason and takes the three
// that weigh most; a thing within reach now counts double, since it is the next lesson's.
func toChange(d *ReviewDoc) []Change {
	var cs []Change
	var order []float64
	at := map[string]int{}
	for i := range d.Movements {
		m := &d.Movements[i]
		for _, l := range m.Lost {
			worth := l.Worth() * float64(max(m.Coefficient, 1))
			if l.Reach == diagnose.Ceiling || worth <= 0 || unexplained(l) {
				continue
			}
			k, ok := at[l.Reason]
			if !ok {
				k = len(cs)
				at[l.Reason] = k
				cs, order = append(cs, Change{What: l.Reason, fault: l.Fault}), append(order, 0)
			}
			c := &cs[k]
			if c.Remedy == "" {
				c.Remedy = remedyFor(l.Fault, m)
			}
			c.Movements = append(c.Movements, m.Number)
			c.Marks += l.Marks * float64(max(m.Coefficient, 1))
			c.Percent += l.Percent
			c.Evidence = appendNew(c.Evidence, l.Evidence)
			if l.Reach == diagnose.Now {
				worth *= 2
			}
			order[k] += worth
		}
	}
	idx := make([]int, len(cs))
	for i := range idx {
		idx[i] = i
	}
	sort.SliceStable(idx, func(a, b int) bool { return order[idx[a]] > order[idx[b]] })
	out := []Change{}
	for _, i := range idx[:min(3, len(idx))] {
		out = append(out, cs[i])
	}
	return withTries(out, d.Causes)
}

// remedyFor is the easiest exercise for a fault in such a movement, in words.
func remedyFor(fault terms.Fault, m *ReviewMovement) string {
	var kinds []terms.Kind
	for _, k := range m.Kinds {
		kinds = append(kinds, terms.Kind(k))
	}
	e, ok := prepare.RemedyFor(fault, kinds)
	if !ok {
		return ""
	}
	return e.PlainTitle() + ": " + e.Purpose
}

// unexplained reports whether a loss has no reason that could be worked on.
func unexplained(l diagnose.Loss) bool { return strings.HasPrefix(l.Reason, "unexplained") }

// likely is the probability from which a cause is put before a rider.
const likely = 0.3

// withTries gives each thing to change the trial of a likely cause of that very fault, and fills up
// to three with the causes left over. A trial is said once.
func withTries(cs []Change, causes []diagnose.Cause) []Change {
	said := map[string]bool{}
	for _, c := range causes {
		if c.Probability < likely || c.Try == "" || said[c.Try] {
			continue
		}
		k := slices.IndexFunc(cs, func(x Change) bool { return x.Try == "" && x.fault != "" && diagnose.TryFits(c, x.fault) })
		switch {
		case k >= 0:
			cs[k].Try, said[c.Try] = c.Try, true
		case len(cs) < 3:
			cs, said[c.Try] = append(cs, Change{What: c.Cause + " (likely cause)", Evidence: c.Evidence, Try: c.Try}), true
		}
	}
	return cs
}

func appendNew(to, from []string) []string {
	for _, s := range from {
		known := false
		for _, t := range to {
			known = known || s == t
		}
		if !known {
			to = append(to, s)
		}
	}
	return to
}

// ceilingWords names the share that is not charged: the horse's own best only where its own marks
// speak for it, else what is assumed for the level.
func ceilingWords(d *ReviewDoc) string {
	own, assumed := false, false
	for _, m := range d.Movements {
		for _, l := range m.Lost {
			if l.Reach == diagnose.Ceiling {
				isAssumed := strings.Contains(l.Reason, "assumed for the level")
				own, assumed = own || !isAssumed, assumed || isAssumed
			}
		}
	}
	switch {
	case own && assumed:
		return "usual ceiling, of this horse or assumed for the level, not charged"
	case own:
		return "this horse's usual ceiling, not charged"
	}
	return "usual ceiling assumed for the level, not charged"
}

func shares(d *ReviewDoc) []Share {
	out := []Share{
		{Reach: diagnose.Now, Words: "within reach now"},
		{Reach: diagnose.Schooling, Words: "needs schooling"},
		{Reach: diagnose.Ceiling, Words: ceilingWords(d)},
	}
	for i := range d.Movements {
		m := &d.Movements[i]
		for _, l := range m.Lost {
			for k := range out {
				if out[k].Reach == l.Reach {
					out[k].Marks += l.Marks * float64(max(m.Coefficient, 1))
					out[k].Percent += l.Percent
				}
			}
		}
	}
	for _, c := range d.Collectives {
		for _, l := range c.Lost {
			for k := range out {
				if out[k].Reach == l.Reach {
					out[k].Marks += l.Marks * float64(max(c.Coefficient, 1))
					out[k].Percent += l.Percent
				}
			}
		}
	}
	return out
}

// short cuts words at a space near n letters.
func short(s string, n int) string {
	s = strings.TrimSpace(s)
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	cut := string(r[:n])
	if i := strings.LastIndex(cut, " "); i > n/2 {
		cut = cut[:i]
	}
	return cut + " …"
}

func numbers(ns []int) string {
	if len(ns) == 0 {
		return ""
	}
	out := make([]string, 0, len(ns))
	last := -1
	for _, n := range ns {
		if n != last {
			out = append(out, fmt.Sprint(n))
		}
		last = n
	}
	word := "movement "
	if len(out) > 1 {
		word = "movements "
	}
	return word + strings.Join(out, ", ")
}
