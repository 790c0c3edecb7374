package web

import (
	"net/http"

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
	Rides int
	Last  *logbook.Ride // nil: none yet
	Sheet string        // name of the sheet of the last ride
	Line  string        // SVG of that sheet's line
	Score string        // percentage of the last ride, "" when it has no marks
}

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
	for _, p := range pairs {
		v.Invented = v.Invented || p.Invented()
		v.Cards = append(v.Cards, yardCard{Pair: p})
	}
	return s.render(w, r, http.StatusOK, yardPage(v))
}
