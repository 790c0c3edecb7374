package report

import (
	"fmt"
	"math/big"
	"strconv"

	"ringcraft/internal/judging"
)

// BuildTotal writes a scored card; nil where nothing was marked.
func BuildTotal(r judging.Result) *ReviewTotal {
	if len(r.Judges) == 0 {
		return nil
	}
	t := &ReviewTotal{Points: r.Points, Of: r.Of, Percent: r.Percent, PercentText: r.PercentText(), Eliminated: r.Eliminated, Why: r.Why, Judges: []ReviewJudge{}}
	if r.Provisional {
		for _, j := range r.Judges {
			t.MarkedOf += float64(j.Of) / float64(len(r.Judges))
		}
	}
	for _, j := range r.Judges {
		one := ReviewJudge{Judge: j.Judge, Place: j.Place, Points: j.Points.Float(), Percent: j.Percent, Missing: j.Missing}
		for _, c := range j.Collectives {
			one.Collectives = append(one.Collectives, ReviewMarkOf{Name: c.Collective, Mark: c.Mark.Float()})
		}
		t.Judges = append(t.Judges, one)
	}
	return t
}

// PercentWords says the percent without its sign, with the decimals of the rule set; a total kept
// without them has two, rounded half up.
func (t *ReviewTotal) PercentWords() string {
	if t.PercentText != "" {
		return t.PercentText
	}
	exact, ok := new(big.Rat).SetString(strconv.FormatFloat(t.Percent, 'f', -1, 64))
	if !ok {
		return decimals(t.Percent, 2)
	}
	return exact.FloatString(2) // rounds halves away from zero
}

// PointsWords says the points and of how many: of the whole sheet or, while marks are missing, of
// what was marked so far, since the percent is of that.
func (t *ReviewTotal) PointsWords() string {
	points := decimals(t.Points, 1)
	if t.MarkedOf > 0 {
		return fmt.Sprintf("%s of the %s points marked so far (the whole sheet has %d)", points, strconv.FormatFloat(round(t.MarkedOf, 1), 'f', -1, 64), t.Of)
	}
	return fmt.Sprintf("%s of %d points", points, t.Of)
}
