package web

import (
	"fmt"
	"net/http"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/report"
)

// recorderRoutes are the addresses of what recorders can tell.
func recorderRoutes() []Route {
	return []Route{{"GET", "/recorders", access.TrainerDo, nil, (*server).recorders}}
}

type recordersView struct {
	page
	Table *report.Recorders
}

func (s *server) recorders(w http.ResponseWriter, r *http.Request) error {
	v := recordersView{s.newPage(r, "yard", "What each recorder can tell"), report.RecorderTable()}
	v.Back = &link{"/", "Yard"}
	return s.render(w, r, http.StatusOK, recordersPage(v))
}

// recordersWords say where the table comes from.
func recordersWords(t *report.Recorders) string {
	return fmt.Sprintf("Yes: at least %.0f in 100 such numbers get a verdict; at times: at least %.0f; the others are left at “cannot tell”. From %s. The riders were simulated, with recorders that err by half, once and twice what their class says.",
		t.Tells, t.Partly, strings.TrimSuffix(strings.SplitN(t.Source, ";", 2)[0], "."))
}

// cssWord makes a word fit for a class name.
func cssWord(w string) string { return strings.ReplaceAll(w, " ", "-") }
