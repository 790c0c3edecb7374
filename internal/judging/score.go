package judging

import (
	"fmt"
	"math/big"
	"sort"
	"strings"

	"ringcraft/internal/rideplan"
)

// JudgeScore is one judge's sheet added up.
type JudgeScore struct {
	Judge, Place string
	Points       Tenths // marks times coefficients less deductions in marks
	Of           int    // maximum of what this judge marked
	Missing      []string
	Collectives  []Mark
	Percent      float64 // as the rule set rounds it
	percent      *big.Rat
}

// PercentText is the judge's percent with the decimals of the rule set.
func (j JudgeScore) PercentText(r *Rules) string { return j.percent.FloatString(decimals(r)) }

// Result is a ride scored. All sums are exact; floats are for showing only.
type Result struct {
	RulesID    string
	Judges     []JudgeScore // as they first appear on the card
	Points     float64      // mean of the judges' points
	Of         int          // maximum of the sheet
	Percent    float64      // mean of the judges' percent, rounded as the rule set says
	Median     float64      // median of the judges' percent
	Eliminated bool
	// Penalties is 100 less the mean percent, to one decimal, where the rule set counts so;
	// empty elsewhere.
	Penalties string
	// Provisional: a judge's sheet has gaps; percents are of what was marked.
	Provisional bool
	Why         []string // deductions, elimination and gaps in words

	percent, median, collectives *big.Rat
	decimals                     int
}

// PercentText is the percent with the decimals of the rule set.
func (r Result) PercentText() string {
	if r.percent == nil {
		return ""
	}
	return r.percent.FloatString(r.decimals)
}

func decimals(r *Rules) int {
	if r.RoundJudge < 0 {
		return 3
	}
	return r.RoundJudge
}

// Score adds up a card. A judge's percent is of what that judge marked: a missing mark is
// listed and makes the result provisional, it never counts as a zero. Errors of course are
// those on the sheet of the judge at C, who decides for all; without a judge at C, those of
// the sheet that lists most.
func Score(plan *rideplan.Plan, card Card, rules *Rules) Result {
	res := Result{RulesID: rules.ID, Of: plan.MaxPoints, decimals: max(rules.RoundResult, 0)}
	cost := deductions(card, rules, &res)
	points, percents, coll := new(big.Rat), []*big.Rat{}, new(big.Rat)
	for _, j := range judges(card) {
		s := addUp(plan, card, j, rules)
		if s.Of == 0 {
			continue
		}
		s.Points -= cost.marks
		s.percent = new(big.Rat).Mul(big.NewRat(int64(s.Points), int64(s.Of)), big.NewRat(10, 1))
		s.percent = rounded(s.percent.Sub(s.percent, cost.percent), rules.RoundJudge)
		s.Percent, _ = s.percent.Float64()
		if len(s.Missing) > 0 {
			res.Provisional = true
			res.Why = append(res.Why, fmt.Sprintf("%s gave no mark for %s: percent of the %d that were marked", s.name(), strings.Join(s.Missing, ", "), s.Of))
		}
		for _, c := range s.Collectives {
			coll.Add(coll, big.NewRat(int64(c.Mark)*int64(coefficientOf(plan, c.Collective)), 10))
		}
		points.Add(points, big.NewRat(int64(s.Points), 10))
		percents = append(percents, s.percent)
		res.Judges = append(res.Judges, s)
	}
	if n := int64(len(percents)); n > 0 {
		mean := big.NewRat(0, 1)
		for _, p := range percents {
			mean.Add(mean, p)
		}
		mean.Quo(mean, big.NewRat(n, 1))
		if rules.Penalties {
			res.Penalties = new(big.Rat).Sub(big.NewRat(100, 1), mean).FloatString(1)
		}
		res.percent = rounded(mean, rules.RoundResult)
		res.median = median(percents)
		res.collectives = coll.Quo(coll, big.NewRat(n, 1))
		res.Percent, _ = res.percent.Float64()
		res.Median, _ = res.median.Float64()
		res.Points, _ = points.Quo(points, big.NewRat(n, 1)).Float64()
	}
	return res
}

func (j JudgeScore) name() string {
	if j.Place != "" && j.Place != j.Judge {
		return j.Judge + " at " + j.Place
	}
	return j.Judge
}

// judges lists who marked, in order of appearance.
func judges(card Card) []JudgeScore {
	var out []JudgeScore
	at := map[string]int{}
	for _, m := range card.Marks {
		i, ok := at[m.Judge]
		if !ok {
			i = len(out)
			at[m.Judge] = i
			out = append(out, JudgeScore{Judge: m.Judge})
		}
		if out[i].Place == "" {
			out[i].Place = m.Place
		}
	}
	return out
}

func addUp(plan *rideplan.Plan, card Card, j JudgeScore, rules *Rules) JudgeScore {
	byMovement, byCollective := map[int]Mark{}, map[string]Mark{}
	for _, m := range card.Marks {
		switch {
		case m.Judge != j.Judge:
		case m.Collective != "":
			byCollective[strings.ToLower(m.Collective)] = m
		default:
			byMovement[m.Movement] = m
		}
	}
	top := int(rules.MaxTenths()) / 10
	for _, mv := range plan.Movements {
		if mv.Coefficient == 0 {
			continue
		}
		m, ok := byMovement[mv.Number]
		if !ok {
			j.Missing = append(j.Missing, fmt.Sprintf("movement %d", mv.Number))
			continue
		}
		j.Points += m.Mark * Tenths(mv.Coefficient)
		j.Of += top * mv.Coefficient
	}
	for _, c := range plan.Collectives {
		m, ok := byCollective[strings.ToLower(c.Name)]
		if !ok {
			j.Missing = append(j.Missing, "collective "+c.Name)
			continue
		}
		j.Collectives = append(j.Collectives, m)
		j.Points += m.Mark * Tenths(c.Coefficient)
		j.Of += top * c.Coefficient
	}
	return j
}

func coefficientOf(plan *rideplan.Plan, collective string) int {
	for _, c := range plan.Collectives {
		if strings.EqualFold(c.Name, collective) {
			return c.Coefficient
		}
	}
	return 0
}

type cost struct {
	marks   Tenths
	percent *big.Rat
}

// deductions counts errors of course and other faults; they weigh on every judge's sheet.
func deductions(card Card, rules *Rules, res *Result) cost {
	c := cost{percent: new(big.Rat)}
	errors := 0
	for _, e := range countedErrors(card) {
		d, isOther := rules.otherKind(e.Kind)
		what := e.Kind
		if !isOther || d.CountsAsError {
			errors++
			if d = rules.errorCost(errors); !isOther {
				what = "error of course"
			}
			what += fmt.Sprintf(" (error %d)", errors)
		}
		c.marks += Tenths(d.Marks*10 + 0.5)
		c.percent.Add(c.percent, exact(d.Points))
		why := what
		switch {
		case d.Eliminated:
			res.Eliminated = true
			why += ": eliminated"
		case d.Points > 0:
			why += fmt.Sprintf(": %g percentage points off", d.Points)
		default:
			why += fmt.Sprintf(": %g marks off each judge's points", d.Marks)
		}
		if e.Note != "" {
			why += " (" + e.Note + ")"
		}
		res.Why = append(res.Why, why)
	}
	return c
}

// countedErrors are those of the judge at C, else of the sheet that lists most.
func countedErrors(card Card) []ErrorOfCourse {
	by := map[string][]ErrorOfCourse{}
	var names []string
	for _, e := range card.Errors {
		if by[e.Judge] == nil {
			names = append(names, e.Judge)
		}
		by[e.Judge] = append(by[e.Judge], e)
	}
	best := ""
	for i, n := range names {
		if atC(card, n) {
			return by[n]
		}
		if i == 0 || len(by[n]) > len(by[best]) {
			best = n
		}
	}
	return by[best]
}

func atC(card Card, judge string) bool {
	if strings.EqualFold(judge, "C") {
		return true
	}
	for _, m := range card.Marks {
		if m.Judge == judge && strings.EqualFold(m.Place, "C") {
			return true
		}
	}
	return false
}

func median(ps []*big.Rat) *big.Rat {
	s := append([]*big.Rat(nil), ps...)
	sort.SliceStable(s, func(i, j int) bool { return s[i].Cmp(s[j]) < 0 })
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	sum := new(big.Rat).Add(s[n/2-1], s[n/2])
	return sum.Quo(sum, big.NewRat(2, 1))
}

// Order compares two results: -1 when a is placed before b, 1 after, 0 when the tie stands.
// The string says what decided.
func Order(a, b Result, rules *Rules) (int, string) {
	if a.Eliminated != b.Eliminated {
		if a.Eliminated {
			return 1, "eliminated"
		}
		return -1, "eliminated"
	}
	if a.percent == nil || b.percent == nil {
		return 0, "no marks"
	}
	if c := b.percent.Cmp(a.percent); c != 0 {
		return c, "percent"
	}
	for _, t := range rules.Ties {
		var c int
		switch t {
		case "median":
			c = b.median.Cmp(a.median)
		case "collectives":
			c = b.collectives.Cmp(a.collectives)
		}
		if c != 0 {
			return c, t
		}
	}
	return 0, "the tie stands"
}
