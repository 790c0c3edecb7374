package web

import (
	"net/http"
	"slices"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
)

// trendsView is a combination over the weeks: what moved, what did not, which exercise paid.
type trendsView struct {
	page
	Pair   logbook.Pair
	Moved  []trendLine // beyond noise
	Still  []trendLine
	Learnt []logbook.Learnt
}

// trendLine is one line of a trend in words and as a picture.
type trendLine struct {
	What, Of, Words, Verdict string
	Picture                  *draw.Scene
}

func (s *server) trends(w http.ResponseWriter, r *http.Request) error {
	pair, err := s.book.PairOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v := trendsView{page: s.newPage(r, "yard", "Over the weeks: "+pair.Title()), Pair: pair}
	v.Invented, v.Back = pair.Invented(), &link{"/combinations/" + pair.ID, pair.Title()}
	lines, err := s.book.TrendsOf(r.Context(), pair.ID)
	if err != nil {
		return err
	}
	for _, l := range lines {
		t := trendLine{What: l.What, Of: l.Of, Words: l.Words, Verdict: l.Verdict}
		if l.PerWeek != nil {
			var points []draw.TrendPoint
			for _, p := range l.Points {
				points = append(points, draw.TrendPoint{Label: logbook.Date("2000-01-01").Add(int(p.Day)).Short(), V: p.Value, SD: p.SD})
			}
			t.Picture = draw.Trend(l.What, "", points, 90)
		}
		if slices.Contains([]string{"better", "worse"}, l.Verdict) {
			v.Moved = append(v.Moved, t)
		} else {
			v.Still = append(v.Still, t)
		}
	}
	if v.Learnt, err = s.book.LearntOf(r.Context(), pair.ID); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, trendsPage(v))
}
