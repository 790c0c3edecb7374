package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/draw"
	"ringcraft/internal/measure"
)

// Spoken writes a number for people with its doubt beside it, rounded to what the doubt
// leaves: "17.0 m, give or take 0.3". Sigma is one standard deviation; nil: not known.
func Spoken(value float64, unit string, sigma *float64) string {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return "not known"
	}
	if sigma == nil || !(*sigma > 0) || math.IsInf(*sigma, 0) {
		return withUnit(decimals(value, 1), unit)
	}
	d := 1
	switch s := *sigma; {
	case s < 0.095:
		d = 2
	case s >= 9.5:
		d = 0
	}
	doubt := *sigma
	if d == 2 && doubt < 0.01 {
		doubt = 0.01
	}
	return withUnit(decimals(value, d), unit) + ", give or take " + decimals(doubt, d)
}

// SpokenOf is Spoken for a measure: where its value lies at the bound of what there can be, the doubt goes
// one way only, "100.0 %, perhaps 1.8 less".
func SpokenOf(m measure.Measure) string {
	out := Spoken(*m.Value, m.Unit, m.Sigma)
	way := map[int]string{1: " more", -1: " less"}[m.OneWay()]
	if number, doubt, found := strings.Cut(out, ", give or take "); found && way != "" {
		return number + ", perhaps " + doubt + way
	}
	return out
}

func withUnit(n, unit string) string {
	switch unit {
	case "", "1":
		return n
	case "deg":
		return n + "°"
	case "pct", "%":
		return n + " %"
	case "mps":
		return n + " m/s"
	case "hz", "Hz":
		return n + " a second"
	}
	return n + " " + unit
}

// decimals writes v with d decimals and never "-0.0".
func decimals(v float64, d int) string {
	s := strconv.FormatFloat(v, 'f', d, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// MeasureWords says one measure in words: what was ridden, what was asked, what to make of it.
func MeasureWords(m measure.Measure) string {
	if m.Value == nil {
		why := m.LimitedBy
		if why == "" {
			why = "the recording does not show it"
		}
		return m.What + ": cannot tell, " + why
	}
	out := m.What + " " + valueWords(m)
	if m.Asked != nil && *m.Asked != 0 {
		out += " (asked " + withUnit(decimals(*m.Asked, 1), m.Unit) + ")"
	}
	switch m.Verdict {
	case measure.OK:
	case measure.CannotTell:
		if m.Asked == nil {
			out += ": not judged"
		} else {
			out += ": too close to call"
		}
		if m.LimitedBy != "" {
			out += ", " + m.LimitedBy
		}
	default:
		if !strings.Contains(valueWords(m), " "+m.Verdict) { // "2.0 m late" needs no second "late"
			out += ": " + m.Verdict
		}
	}
	return out
}

// signed are the measures whose sign is said in words, by how their names begin.
var signed = []struct{ begins, minus, plus string }{
	{"halt place", "early", "late"},
	{"transition place", "early", "late"},
	{"arrival", "early", "late"},
	{"turning point place", "early", "late"},
	{"centre line offset", "towards E", "towards B"},
	{"sides difference", "more on the right", "more on the left"},
	{"circle halves difference", "more in the second", "more in the first"},
	{"circle change place", "before the middle", "past the middle"},
}

// valueWords says the value; signed places are said as early or late, offsets of the centre
// line by their side.
func valueWords(m measure.Measure) string {
	v := *m.Value
	minus, plus := "", ""
	for _, w := range signed {
		if strings.HasPrefix(m.What, w.begins) {
			minus, plus = w.minus, w.plus
		}
	}
	if plus == "" {
		return SpokenOf(m)
	}
	number, doubt := sizeAndDoubt(v, m.Unit, m.Sigma)
	if strings.Trim(strings.TrimSuffix(number, " "+m.Unit), "0.") == "" {
		return number + doubt
	}
	way := plus
	if v < 0 {
		way = minus
	}
	return number + " " + way + doubt
}

// sizeAndDoubt parts a number, without its sign, from its doubt, so that a word for its way fits between
// them; the doubt begins with its comma, "" where none is known.
func sizeAndDoubt(v float64, unit string, sigma *float64) (number, doubt string) {
	number, doubt, found := strings.Cut(Spoken(math.Abs(v), unit, sigma), ", ")
	if found {
		doubt = ", " + doubt
	}
	return number, doubt
}

// ShortValue is a measure's number alone, without its doubt, as it stands beside its place on a drawing:
// "12.3 m", "1.9 m late".
func ShortValue(m measure.Measure) string {
	if m.Value == nil {
		return ""
	}
	number, _, _ := strings.Cut(valueWords(m), ", ")
	return number
}

// MarkWords writes a mark as scribes do, always with one decimal: 6.5.
func MarkWords(v float64) string { return decimals(v, 1) }

// WorthSaying leaves out losses that would be written as 0.0 of a mark; those that cost nothing at all
// are said, as there but free.
func WorthSaying(ls []diagnose.Loss) []diagnose.Loss {
	var out []diagnose.Loss
	for _, l := range ls {
		if w := l.Worth(); w == 0 || w >= 0.05 {
			out = append(out, l)
		}
	}
	return out
}

// Signed writes a change with its sign: +1.5, -0.5, 0.0.
func Signed(v float64, d int) string {
	s := decimals(v, d)
	if v > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

// NeedsAndHas says what time a preparation needs and has, with a second decimal where one alone would
// show the same figure for both: the words of the verdict agree with the numbers.
func NeedsAndHas(needs, has float64) string {
	n, h := SecondsApart(needs, has)
	return "needs " + n + "\u00a0s, has " + h + "\u00a0s"
}

// SecondsApart are the figures of NeedsAndHas, without their unit.
func SecondsApart(needs, has float64) (string, string) {
	d := 1
	if needs > has && decimals(needs, 1) == decimals(has, 1) {
		d = 2
	}
	return decimals(needs, d), decimals(has, d)
}

// duration says seconds as a clock.
func duration(s float64) string { return draw.Clock(s) }

func plural(n int, one, many string) string {
	if n == 1 {
		return fmt.Sprintf("%d %s", n, one)
	}
	return fmt.Sprintf("%d %s", n, many)
}

func round(v float64, d int) float64 {
	k := math.Pow(10, float64(d))
	v = math.Round(v*k) / k
	if v == 0 || math.IsNaN(v) {
		return 0
	}
	return v
}
