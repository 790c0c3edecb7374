package web

import (
	"net/http"
	"strconv"

	"github.com/a-h/templ"

	"ringcraft/internal/logbook"
)

// yardView is the start page: everybody one teaches, and what is next for each.
type yardView struct {
	page
	Cards  []yardCard
	Sheets int
}

// yardCard is one combination on the start page.
type yardCard struct {
	Pair  logbook.Pair
	Last  *logbook.Ride   // nil: none yet
	Sheet string          // name of the sheet of the last ride
	Line  templ.Component // the line of that sheet
	Score string          // percentage of the last ride, "" when it has no marks
}

// yard lists everybody. Nothing is computed for it: lines come from remembered plans, scores from
// reviews that were made.
func (s *server) yard(w http.ResponseWriter, r *http.Request) error {
	pairs, err := s.book.Pairs(r.Context())
	if err != nil {
		return err
	}
	v := yardView{page: s.newPage(r, "yard", "Yard")}
	sheets, err := s.book.Sheets(r.Context())
	if err != nil {
		return err
	}
	v.Sheets = len(sheets)
	lines := lineBook{}
	for _, p := range pairs {
		v.Invented = v.Invented || p.Invented()
		c, err := s.yardCard(r, p, sheets, lines)
		if err != nil {
			return err
		}
		v.Cards = append(v.Cards, c)
	}
	return s.render(w, r, http.StatusOK, yardPage(v))
}

func (s *server) yardCard(r *http.Request, p logbook.Pair, sheets []logbook.Sheet, lines lineBook) (yardCard, error) {
	c := yardCard{Pair: p}
	rides, err := s.book.Rides(r.Context(), logbook.RideFilter{CombinationID: p.ID, Limit: 1})
	if err != nil || len(rides) == 0 {
		return c, err
	}
	c.Last = &rides[0]
	for _, sh := range sheets {
		if sh.ID == c.Last.SheetID {
			c.Sheet, c.Line = sh.Name, lines.line(s.book.PlanOf(sh.Name, sh.Text, ""))
		}
	}
	if percent, ok := s.book.PeekScore(r.Context(), c.Last.ID); ok {
		c.Score = strconv.FormatFloat(percent, 'f', 1, 64) + " %"
	}
	return c, nil
}
