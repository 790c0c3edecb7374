package diagnose

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/measure"
)

// measured decides what the recordings show by themselves. With many measures some exceed
// their doubt by chance, so the ride counts as changed only when one change survives a
// Bonferroni correction over all compared, or when there are more changes than chance gives
// (exact binomial tail below 2.5 %). Places share the error of placing the recording; where
// that error is the larger part of their doubt they have one vote together.
func measured(ms []MovementChange, before, after RideFacts) MeasuredChange {
	common := math.Hypot(before.CommonSDM, after.CommonSDM)
	var out MeasuredChange
	var votes tally
	places := 0.0
	for _, m := range ms {
		for _, c := range m.Measures {
			if c.Change == nil {
				continue
			}
			out.count(c.Verdict)
			if noise.isPlace(c.What) && common > *c.Sigma/math.Sqrt2 {
				votes.sure(c)
				places += sign(c.Verdict)
				continue
			}
			votes.add(c)
		}
	}
	votes.together(places)
	out.Verdict, out.Reason = votes.decide(out)
	return out
}

func (m *MeasuredChange) count(verdict string) {
	m.Compared++
	switch verdict {
	case Better:
		m.Better++
	case Worse:
		m.Worse++
	}
}

func sign(verdict string) float64 {
	switch verdict {
	case Better:
		return 1
	case Worse:
		return -1
	}
	return 0
}

// tally collects the votes of the measures and the largest gains.
type tally struct {
	n, better, worse int
	best, worst      float64 // largest gain and loss in standard deviations
}

func (t *tally) sure(c MeasureChange) {
	if c.Verdict == Better {
		t.best = math.Max(t.best, c.z)
	}
	if c.Verdict == Worse {
		t.worst = math.Max(t.worst, -c.z)
	}
}

func (t *tally) add(c MeasureChange) {
	t.sure(c)
	t.n++
	switch c.Verdict {
	case Better:
		t.better++
	case Worse:
		t.worse++
	}
}

func (t *tally) together(places float64) {
	switch {
	case places > 0:
		t.n, t.better = t.n+1, t.better+1
	case places < 0:
		t.n, t.worse = t.n+1, t.worse+1
	}
}

func (t *tally) decide(m MeasuredChange) (verdict, reason string) {
	if m.Compared == 0 {
		return measure.CannotTell, "no measure could be compared"
	}
	bar := normalQuantile(1 - 0.025/float64(m.Compared))
	up := t.best > bar || t.better > 0 && binomialTail(t.better, t.n, 0.025) < 0.025
	down := t.worst > bar || t.worse > 0 && binomialTail(t.worse, t.n, 0.025) < 0.025
	counts := fmt.Sprintf("of %d measures compared %d are better and %d worse beyond their doubt", m.Compared, m.Better, m.Worse)
	switch {
	case up && down:
		return measure.CannotTell, counts + ": some things improved and others got worse"
	case up:
		return Better, counts + ", more than chance gives"
	case down:
		return Worse, counts + ", more than chance gives"
	}
	return NoiseOnly, counts + ", no more than chance gives"
}

// compareTotal decides the final percentage. Marks of the person who taught in between
// never decide: then the measured change does.
func compareTotal(before, after RideFacts, w marking, m MeasuredChange) TotalChange {
	pb, okb := percentOf(before)
	pa, oka := percentOf(after)
	if !okb || !oka {
		return TotalChange{Verdict: m.Verdict, Reason: "no marks on both rides; " + m.Reason}
	}
	change := pa - pb
	sd := noise.factor(w.same) * math.Hypot(noise.percentSD(before, w.before), noise.percentSD(after, w.after))
	shown := change * noise.Improvement * noise.Improvement / (noise.Improvement*noise.Improvement + sd*sd)
	rc, rs, rh := round(change, 3), round(sd, 3), round(shown, 2)
	out := TotalChange{Change: &rc, Sigma: &rs, Shown: &rh}
	out.Verdict, out.Reason = totalVerdict(change, sd, w, m)
	return out
}

func totalVerdict(change, sd float64, w marking, m MeasuredChange) (verdict, reason string) {
	beyond := math.Abs(change) > noise.Z*sd
	by := marksVerdict(change, beyond)
	switch {
	case w.prone && by == Worse:
		return tellUnless(m.Verdict == Better, Worse, "marked lower in spite of the teaching; "+m.Reason)
	case w.prone && m.Compared > 0:
		return m.Verdict, "marked by the person who taught in between, so the measures decide: " + m.Reason
	case w.prone:
		return measure.CannotTell, "marked by the person who taught in between, and nothing measured to compare"
	case !beyond:
		return NoiseOnly, fmt.Sprintf("%s is inside the usual scatter of marking (95 %%: %.1f points); %s", changeWords(change), noise.Z*sd, m.Reason)
	}
	against := by == Better && m.Verdict == Worse || by == Worse && m.Verdict == Better
	return tellUnless(against, by, fmt.Sprintf("%+.1f points, more than the usual scatter of marking (95 %%: %.1f points); %s", change, noise.Z*sd, m.Reason))
}

func marksVerdict(change float64, beyond bool) string {
	switch {
	case !beyond:
		return NoiseOnly
	case change > 0:
		return Better
	}
	return Worse
}

func tellUnless(against bool, verdict, reason string) (string, string) {
	if against {
		return measure.CannotTell, "marks and measures contradict each other: " + reason
	}
	return verdict, reason
}

// percentOf is the ride's total, from the movements' marks where no total is given.
func percentOf(r RideFacts) (float64, bool) {
	if r.Percent != nil {
		return *r.Percent, true
	}
	sum, of := 0.0, 0
	for _, m := range r.Movements {
		if mark, ok := m.MeanMark(); ok {
			sum += mark * float64(m.Coefficient)
			of += 10 * m.Coefficient
		}
	}
	if of == 0 {
		return 0, false
	}
	return 100 * sum / float64(of), true
}

// judgeMovement decides one movement: the measures first, then the mark.
func judgeMovement(m *MovementChange, w marking) {
	better, worse, told := 0, 0, 0
	var parts []string
	for _, c := range m.Measures {
		switch c.Verdict {
		case Better:
			better++
		case Worse:
			worse++
		}
		if c.Change != nil {
			told++
		}
		if c.Verdict == Better || c.Verdict == Worse {
			parts = append(parts, fmt.Sprintf("%s %s: %s to %s (asked %s)", c.What, c.Verdict, figure(c.Before, c.Unit), figure(c.After, c.Unit), figure(c.Asked, c.Unit)))
		}
	}
	mark := markWords(m, w)
	m.Verdict = movementVerdict(m, w, better, worse, told)
	m.Reason = strings.Join(append(parts, mark), "; ")
}

func movementVerdict(m *MovementChange, w marking, better, worse, told int) string {
	beyond := m.MarkChange != nil && math.Abs(*m.MarkChange) > noise.Z**m.MarkSigma
	switch {
	case better > 0 && worse > 0:
		return measure.CannotTell
	case better > 0:
		return Better
	case worse > 0:
		return Worse
	case beyond && *m.MarkChange < 0:
		return Worse
	case beyond && !w.prone:
		return Better
	case beyond && told == 0:
		return measure.CannotTell
	case m.MarkChange == nil && told == 0:
		return measure.CannotTell
	}
	return NoiseOnly
}

// changeWords says a change of points; one that rounds to nothing has no sign.
func changeWords(v float64) string {
	if math.Abs(v) < 0.05 {
		return "no change"
	}
	return fmt.Sprintf("a change of %+.1f points", v)
}

func unchangedOr(v float64) string {
	if math.Abs(v) < 0.05 {
		return "unchanged"
	}
	return fmt.Sprintf("%+.1f", v)
}

func markWords(m *MovementChange, w marking) string {
	if m.MarkChange == nil {
		return "no mark on both rides"
	}
	bar := noise.Z * *m.MarkSigma
	switch {
	case math.Abs(*m.MarkChange) <= bar:
		return fmt.Sprintf("mark %s, no more than marking scatters (95 %%: %.1f)", unchangedOr(*m.MarkChange), bar)
	case w.prone && *m.MarkChange > 0:
		return fmt.Sprintf("mark %+.1f, but given by the person who taught in between: not proof by itself", *m.MarkChange)
	}
	return fmt.Sprintf("mark %+.1f, more than marking scatters (95 %%: %.1f)", *m.MarkChange, bar)
}

func figure(v *float64, unit string) string {
	if v == nil {
		return "unknown"
	}
	return strings.TrimSpace(fmt.Sprintf("%.1f %s", *v, unit))
}

func cautions(before, after RideFacts, w marking, c Comparison) []string {
	out := []string{}
	if w.prone && w.stated {
		out = append(out, "The person who marked also taught in between. Such marks are prone to expectation and alone never make a ride better; the measured change leads.")
	} else if w.prone {
		out = append(out, "The same person marked both rides and is taken to have taught in between, since nothing else was said. Such marks are prone to expectation and alone never make a ride better; the measured change leads.")
	}
	if w.before == 0 || w.after == 0 {
		out = append(out, "At least one ride has no marks: nothing is said of marks gained or lost.")
	} else if !w.same {
		out = append(out, "Different people marked the two rides: judges differ in level, so compare movements with the rest of the same ride.")
	}
	if c.Measured.Compared == 0 {
		out = append(out, "Nothing measured can be compared: at least one ride has no usable recording.")
	}
	if math.Hypot(before.CommonSDM, after.CommonSDM) > 1 {
		out = append(out, "A recording is placed in the arena only to a metre or worse: sizes and durations can be compared, places hardly.")
	}
	out = append(out, "A pair rides differently from day to day; two rides cannot separate a good day from learning. Look at the trend over several.")
	if c.Simulated {
		out = append(out, "Contains simulated recordings.")
	}
	return out
}

func summary(c Comparison) []string {
	first := map[string]string{
		Better:             "The second ride is better.",
		Worse:              "The second ride is worse.",
		NoiseOnly:          "No change that can be told from noise.",
		measure.CannotTell: "It cannot be told whether the second ride is better.",
	}[c.Total.Verdict]
	out := []string{first + " " + upperFirst(c.Total.Reason) + "."}
	for _, m := range c.Movements {
		if m.Verdict == Better || m.Verdict == Worse {
			out = append(out, fmt.Sprintf("Movement %d %s: %s.", m.Number, m.Verdict, m.Reason))
		}
	}
	return out
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
