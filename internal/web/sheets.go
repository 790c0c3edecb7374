package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// sheetsView lists the sheets in the book.
type sheetsView struct {
	page
	Sheets []sheetCard
}

type sheetCard struct {
	Sheet logbook.Sheet
	Plan  *logbook.Plan
}

func (s *server) sheets(w http.ResponseWriter, r *http.Request) error {
	list, err := s.book.Sheets(r.Context())
	if err != nil {
		return err
	}
	v := sheetsView{page: s.newPage(r, "sheets", "Sheets")}
	for _, sh := range list {
		v.Invented = v.Invented || sh.Invented
		v.Sheets = append(v.Sheets, sheetCard{sh, s.book.PlanOf(sh.Name, sh.Text, "")})
	}
	return s.render(w, r, http.StatusOK, sheetsPage(v))
}

// sheetView is one sheet: its line, what it asks and where there is little time.
type sheetView struct {
	page
	Sheet    logbook.Sheet
	Plan     *logbook.Plan
	Tightest []logbook.Demand // highest pressure first
	Habits   []report.SheetHabit
	Rides    []rideLine
}

func (s *server) sheet(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.book.Sheet(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v := sheetView{page: s.newPage(r, "sheets", sh.Name), Sheet: sh, Plan: s.book.PlanOf(sh.Name, sh.Text, "")}
	v.Invented, v.Back, v.Scripts = sh.Invented, &link{"/sheets", "Sheets"}, []string{"scrub.js"}
	v.Tightest, v.Habits = tightest(v.Plan, 5), report.SheetHabits(v.Plan)
	rides, err := s.book.Rides(r.Context(), logbook.RideFilter{SheetID: sh.ID, Limit: 20})
	if err != nil {
		return err
	}
	if v.Rides, err = s.rideLines(r, rides); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, sheetPage(v))
}

// tightest returns the demands with the least time for what they need.
func tightest(p *logbook.Plan, most int) []logbook.Demand {
	var all []logbook.Demand
	for _, m := range p.Movements {
		all = append(all, m.Demands...)
	}
	slices.SortStableFunc(all, func(a, b logbook.Demand) int {
		return cmp.Or(cmp.Compare(b.Pressure, a.Pressure), cmp.Compare(a.At, b.At))
	})
	return all[:min(most, len(all))]
}

// needsAndHas are the seconds needed and left.
func needsAndHas(d logbook.Demand) [2]string {
	needs, has := report.SecondsApart(float64(d.Needs), float64(d.Has))
	return [2]string{needs + " s", has + " s"}
}

// pressureWords says how tight a demand is.
func pressureWords(d logbook.Demand) string {
	switch {
	case d.Pressure >= 1:
		return "not enough time"
	case d.Pressure >= 0.75:
		return "hardly time"
	case d.Pressure >= 0.5:
		return "some time"
	}
	return "time enough"
}

// sheetFacts says a sheet in one line.
func sheetFacts(p *logbook.Plan) string {
	out := fmt.Sprintf("%s, about %s, %s", plural(len(p.Movements), "movement", "movements"), clockOf(p.Total), metres(p.Length))
	if p.Board != nil {
		out = fmt.Sprintf("%.0f x %.0f m, %s", float64(p.Board.Width), float64(p.Board.Length), out)
	}
	if p.PublishedS > 0 {
		out += ", published time " + clockOf(p.PublishedS)
	}
	return fmt.Sprintf("%s, %d points", out, p.MaxPoints)
}

// otherOrder opens the same movements in another order as a new sheet to look at and keep.
func (s *server) otherOrder(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.book.Sheet(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	text, reasons, ok := logbook.OtherOrder(sh.Name, sh.Text)
	v := editorView{Text: text, Notes: reasons}
	if !ok {
		v.ID, v.Seen, v.Text = sh.ID, sh.Version, sh.Text
		return s.editor(w, r, http.StatusOK, v)
	}
	v.Notes = append(v.Notes, "This is for practice at home: at the show the test is ridden as its sheet stands. Kept, it becomes a sheet of its own.")
	return s.editor(w, r, http.StatusOK, v)
}
