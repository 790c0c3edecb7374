package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// marksRoutes are the addresses of a judge's paper sheet.
func marksRoutes() []Route {
	return []Route{
		{"GET", "/rides/{id}/marks", access.TrainerDo, nil, (*server).marks},
		{"POST", "/rides/{id}/marks", access.TrainerDo, nil, (*server).marksKeep},
		{"POST", "/rides/{id}/marks/try", access.TrainerDo, nil, (*server).marksTry},
	}
}

// spareErrors is how many empty lines for errors of course the form offers.
const spareErrors = 3

// marksView is the form for one judge's sheet.
type marksView struct {
	page
	Marking  *logbook.Marking
	Replaces string // judge whose sheet is open, "" for a new one
	Total    marksTotal
	Message  string
}

// marksTotal is how the sheet adds up so far, as the page and its script show it.
type marksTotal struct {
	Percent string            `json:"percent"` // of this judge
	Words   string            `json:"words"`
	All     string            `json:"all"` // of all judges; "" with one
	Faults  map[string]string `json:"faults"`
	Message string            `json:"message"`
}

func (s *server) marks(w http.ResponseWriter, r *http.Request) error {
	judge := r.URL.Query().Get("judge")
	m, err := s.book.MarkingOf(r.Context(), r.PathValue("id"), judge)
	if err != nil {
		return err
	}
	v := marksView{Marking: m, Replaces: judge}
	switch {
	case r.URL.Query().Has("judge"):
	case len(m.Judges) > 0: // open the first sheet there is
		if m, err = s.book.MarkingOf(r.Context(), r.PathValue("id"), m.Judges[0].Judge); err != nil {
			return err
		}
		v.Marking, v.Replaces = m, m.Typed.Judge
	case m.Ride.Kind == logbook.Show:
		m.Typed.Judge = "C"
	case m.Ride.MarkedBy != "":
		m.Typed.Judge = m.Ride.MarkedBy
	}
	return s.marksPage(w, r, http.StatusOK, v)
}

func (s *server) marksPage(w http.ResponseWriter, r *http.Request, status int, v marksView) error {
	m := v.Marking
	v.page = s.newPage(r, "yard", "Marks on paper")
	v.Back, v.Scripts = &link{"/rides/" + m.Ride.ID, m.Pair.Title() + ", " + m.Ride.Date.Short()}, []string{"marks.js"}
	v.Invented = m.Pair.Invented()
	v.Total = totalOfSheet(m)
	return s.render(w, r, status, marksTemplate(v))
}

// totalOfSheet says how a sheet adds up.
func totalOfSheet(m *logbook.Marking) marksTotal {
	t := marksTotal{Faults: map[string]string{}, Message: m.Message, Words: "no mark yet"}
	for i, row := range m.Typed.Rows {
		if row.Fault != "" {
			t.Faults[fmt.Sprintf("mark-%d", i)] = row.Fault
		}
	}
	for i, e := range m.Typed.Errors {
		if e.Fault != "" {
			t.Faults[fmt.Sprintf("error-%d", i)] = e.Fault
		}
	}
	for _, j := range m.Judges {
		if strings.EqualFold(j.Judge, m.Typed.Judge) || len(m.Judges) == 1 {
			t.Percent, t.Words = j.PercentText(m.Rules)+" %", judgeWords(j)
		}
	}
	if len(m.Judges) > 1 {
		t.All = "all judges " + m.Result.PercentText() + " %"
	}
	if m.Result.Eliminated {
		t.Words += "; eliminated by the rule set"
	}
	return t
}

func judgeWords(j logbook.JudgeScore) string {
	out := fmt.Sprintf("%s of %d points", j.Points, j.Of)
	if n := len(j.Missing); n > 0 {
		out += ", " + plural(n, "mark", "marks") + " missing: the percent is of what is marked"
	}
	return out
}

// readMarks takes the form as it was sent. Lines are named by what they are for, so that a sheet
// that changed meanwhile does not shift them.
func readMarks(f url.Values) logbook.MarkSheet {
	t := logbook.MarkSheet{Judge: f.Get("judge"), Place: f.Get("place"), Taught: f.Get("taught") != ""}
	for i := 0; f.Has(fmt.Sprintf("what-%d", i)) && i < 400; i++ {
		t.Rows = append(t.Rows, logbook.MarkRow{What: f.Get(fmt.Sprintf("what-%d", i)), Mark: f.Get(fmt.Sprintf("mark-%d", i)), Remark: f.Get(fmt.Sprintf("remark-%d", i))})
	}
	for i := 0; f.Has(fmt.Sprintf("error-%d", i)) && i < 40; i++ {
		t.Errors = append(t.Errors, logbook.MarkError{Kind: f.Get(fmt.Sprintf("error-%d", i)), Note: f.Get(fmt.Sprintf("error-note-%d", i))})
	}
	return t
}

// marksTry answers a keystroke: the total so far and what cannot be. Nothing is stored.
func (s *server) marksTry(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	m, err := s.book.TryMarks(r.Context(), r.PathValue("id"), r.PostForm.Get("replaces"), readMarks(r.PostForm))
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, totalOfSheet(m))
}

// marksKeep stores the sheet, or shows it again with what is wrong beside the fields.
func (s *server) marksKeep(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := r.PostForm
	seen, err := strconv.Atoi(f.Get("seen"))
	if err != nil {
		seen = -2 // a conflict, which is right: nobody knows what was seen
	}
	m, err := s.book.KeepMarks(r.Context(), r.PathValue("id"), f.Get("replaces"), seen, readMarks(f))
	switch code := logbook.CodeOf(err); {
	case err == nil && f.Get("then") == "another":
		http.Redirect(w, r, "/rides/"+m.Ride.ID+"/marks?judge=", http.StatusSeeOther)
		return nil
	case err == nil:
		http.Redirect(w, r, "/rides/"+m.Ride.ID, http.StatusSeeOther)
		return nil
	case m != nil && (code == logbook.Invalid || code == logbook.Conflict):
		return s.marksPage(w, r, statusOf(code), marksView{Marking: m, Replaces: f.Get("replaces"), Message: logbook.MessageOf(err)})
	}
	return err
}

// errorLines are the errors on the sheet and a few empty lines after them.
func (v marksView) errorLines() []logbook.MarkError {
	var out []logbook.MarkError
	for _, e := range v.Marking.Typed.Errors {
		if e.Kind != "" || e.Note != "" {
			out = append(out, e)
		}
	}
	return append(out, make([]logbook.MarkError, spareErrors)...)
}

// marksOfJudge is the address of a judge's sheet.
func (v marksView) marksOfJudge(judge string) string {
	return "/rides/" + v.Marking.Ride.ID + "/marks?judge=" + url.QueryEscape(judge)
}

// nameOfJudge is a judge with the place, once.
func nameOfJudge(j logbook.JudgeScore) string {
	if j.Place != "" && !strings.EqualFold(j.Place, j.Judge) && !strings.HasSuffix(j.Judge, " "+j.Place) {
		return j.Judge + " at " + j.Place
	}
	return j.Judge
}

// markHint says how a mark field is used.
func markHint(r *logbook.Rules) string {
	return fmt.Sprintf("Marks from %s. Enter goes to the next line. Leave a line empty where the sheet has no mark. Rule set: %s, %d.", r.AllowedMarks(), r.Name, r.Year)
}

// deductionName is a kind of deduction as people say it.
func deductionName(kind string) string {
	if kind == "error" {
		return "error of course"
	}
	return kind
}
