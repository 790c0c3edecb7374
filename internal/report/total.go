package report

import (
	"ringcraft/internal/judging"
)

// BuildTotal writes a scored card; nil where nothing was marked.
func BuildTotal(r judging.Result) *ReviewTotal {
	if len(r.Judges) == 0 {
		return nil
	}
	t := &ReviewTotal{Points: r.Points, Of: r.Of, Percent: r.Percent, Eliminated: r.Eliminated, Why: r.Why, Judges: []ReviewJudge{}}
	for _, j := range r.Judges {
		one := ReviewJudge{Judge: j.Judge, Place: j.Place, Points: j.Points.Float(), Percent: j.Percent, Missing: j.Missing}
		for _, c := range j.Collectives {
			one.Collectives = append(one.Collectives, ReviewMarkOf{Name: c.Collective, Mark: c.Mark.Float()})
		}
		t.Judges = append(t.Judges, one)
	}
	return t
}
