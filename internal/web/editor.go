package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// editorRoutes are the addresses of typing a sheet.
func editorRoutes() []Route {
	return []Route{
		{"GET", "/sheets/new", access.TrainerDo, nil, (*server).editorNew},
		{"GET", "/sheets/{id}/edit", access.TrainerDo, nil, (*server).editorOld},
		{"GET", "/sheets/{id}/other-order", access.TrainerDo, nil, (*server).otherOrder},
		{"POST", "/sheets/try", access.TrainerDo, nil, (*server).editorTry},
		{"POST", "/sheets/look", access.TrainerDo, nil, (*server).editorLook},
		{"POST", "/sheets", access.TrainerDo, nil, (*server).editorSave},
		{"POST", "/sheets/{id}", access.TrainerDo, nil, (*server).editorSave},
	}
}

// editorView is the page for typing a sheet: the text, and what was understood of it.
type editorView struct {
	page
	ID      string   // "" for a new sheet
	Seen    int      // version the text was edited from
	Text    string   // whatever the user had, also when it could not be kept
	Message string   // why it was not kept
	Notes   []string // how the text came about
	Preview report.Preview
}

// action is where the form is sent.
func (v editorView) action() templ.SafeURL {
	if v.ID == "" {
		return "/sheets"
	}
	return templ.SafeURL("/sheets/" + v.ID)
}

// exampleSheet is what a new form begins with: the form of a sheet, with an invented test.
const exampleSheet = `name: Willow Ford 2
arena: 20 x 40

1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m                          x2
4    FXH    Change the rein, free walk on a long rein
`

func (s *server) editorNew(w http.ResponseWriter, r *http.Request) error {
	return s.editor(w, r, http.StatusOK, editorView{Text: exampleSheet})
}

func (s *server) editorOld(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.book.Sheet(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.editor(w, r, http.StatusOK, editorView{ID: sh.ID, Seen: sh.Version, Text: sh.Text})
}

// editor shows the form with the text as it is and what is understood of it.
func (s *server) editor(w http.ResponseWriter, r *http.Request, status int, v editorView) error {
	v.page = s.newPage(r, "sheets", "Type a sheet")
	v.Back = &link{"/sheets", "Sheets"}
	if v.ID != "" {
		v.Title, v.Back = "Change the sheet", &link{"/sheets/" + v.ID, "The sheet"}
	}
	v.Scripts = []string{"editor.js"}
	v.Preview = s.preview(v.Text)
	return s.render(w, r, status, editorPage(v))
}

// preview is what is understood of a text; one that is too long has one problem and no picture.
func (s *server) preview(text string) report.Preview {
	plan, err := s.book.TrySheet("", text)
	v := report.BuildPreview(plan, strings.Count(text, "\n")+1)
	if err != nil && len(plan.Problems) == 0 {
		v.Errors++
		v.Problems = append(v.Problems, report.PreviewProblem{Line: 1, Column: 1, Severity: "error", Message: logbook.MessageOf(err)})
	}
	return v
}

// readEditor takes the form as it was sent.
func readEditor(r *http.Request) (editorView, error) {
	if err := r.ParseForm(); err != nil {
		return editorView{}, badForm(err)
	}
	v := editorView{ID: r.PathValue("id"), Text: normalLines(r.PostForm.Get("text"))}
	v.Seen, _ = strconv.Atoi(r.PostForm.Get("seen")) // a missing number is version 0: a conflict, which is right
	return v, nil
}

// editorTry answers a keystroke: what is understood of the text so far. Nothing is stored.
func (s *server) editorTry(w http.ResponseWriter, r *http.Request) error {
	v, err := readEditor(r)
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, s.preview(v.Text))
}

// editorLook shows how a text is understood without keeping it, where there is no script.
func (s *server) editorLook(w http.ResponseWriter, r *http.Request) error {
	v, err := readEditor(r)
	if err != nil {
		return err
	}
	v.ID = r.PostForm.Get("sheet")
	return s.editor(w, r, http.StatusOK, v)
}

// editorSave keeps the text, or shows the form again with what is wrong in it.
func (s *server) editorSave(w http.ResponseWriter, r *http.Request) error {
	v, err := readEditor(r)
	if err != nil {
		return err
	}
	sh, _, err := s.book.SaveSheet(r.Context(), v.ID, v.Seen, v.Text)
	switch code := logbook.CodeOf(err); {
	case err == nil:
		http.Redirect(w, r, "/sheets/"+sh.ID, http.StatusSeeOther)
		return nil
	case code == logbook.Invalid || code == logbook.TooLarge || code == logbook.Conflict:
		v.Message = logbook.MessageOf(err)
		return s.editor(w, r, statusOf(code), v)
	}
	return err
}
