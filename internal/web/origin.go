package web

import (
	"sort"

	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// measuredAt is one number of a movement for the scrubber.
type measuredAt struct {
	Movement int     `json:"n"`
	At       float64 `json:"at"` // ride clock, -1 unknown
	What     string  `json:"what"`
	Words    string  `json:"words"`
	Short    string  `json:"short"` // the number alone, for the drawing
	report.Origin
}

func measuredOf(m logbook.Measure, mv *report.ReviewMovement, p *logbook.Plan, line []report.Instant) measuredAt {
	out := measuredAt{Movement: mv.Number, At: -1, What: m.What, Words: report.MeasureWords(m), Short: report.ShortValue(m), Origin: report.OriginOf(m, mv, p, line)}
	if m.AtS != nil {
		out.At = hundredths(*m.AtS)
	}
	return out
}

// numberPlace says beside a number where it comes from.
func numberPlace(x measureView) string {
	if x.Where == "" {
		return ". Show it on the line"
	}
	return ", " + x.Where + ". Show it on the line"
}

// planSecond is when the plan is m metres along its line.
func planSecond(p *logbook.Plan, m float64) float64 {
	i := sort.Search(len(p.Samples), func(i int) bool { return float64(p.Samples[i].M) >= m })
	if i == 0 || i == len(p.Samples) {
		i = min(i, len(p.Samples)-1)
		return float64(p.Samples[max(i, 0)].T)
	}
	a, b := p.Samples[i-1], p.Samples[i]
	f := (m - float64(a.M)) / float64(b.M-a.M)
	return float64(a.T) + f*float64(b.T-a.T)
}
