package web

import (
	"net/http"
	"strconv"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// callerRoutes are the addresses of calling a sheet and of its papers.
func callerRoutes() []Route {
	return []Route{
		{"GET", "/sheets/{id}/call", access.TrainerDo, nil, (*server).caller},
		{"GET", "/sheets/{id}/papers/{file}", access.TrainerDo, nil, (*server).sheetPaper},
	}
}

// callerView is the page that runs a caller's script in time with the ride.
type callerView struct {
	page
	SheetID string
	Script  report.CallScript
	Leads   []float64 // to choose from
}

func (s *server) caller(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.book.Sheet(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v := callerView{page: s.newPage(r, "sheets", "Call "+sh.Name), SheetID: sh.ID, Leads: []float64{1, 2, 3, 4, 5, 6}}
	v.Scripts, v.Back, v.Invented = []string{"caller.js"}, &link{"/sheets/" + sh.ID, sh.Name}, sh.Invented
	var lead *float64
	if l, err := strconv.ParseFloat(r.URL.Query().Get("lead"), 64); err == nil && l >= 0 {
		lead = &l
	}
	v.Script = scriptOf(s.book.PlanOf(sh.Name, sh.Text, ""), lead)
	return s.render(w, r, http.StatusOK, callerPage(v))
}

// scriptOf makes the script under the sheet's own rule set.
func scriptOf(plan *logbook.Plan, lead *float64) report.CallScript {
	o := report.CallOptions{LeadS: lead}
	o.Allowed, o.Why = report.CallingOf(plan.Rules)
	return report.Caller(plan, o)
}

// callClock writes seconds as minutes and seconds with the sign of times before the entry.
func callClock(s float64) string {
	if s < 0 {
		return "−" + clockOf(-s)
	}
	return clockOf(s)
}
