package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// exercisesRoutes are the addresses of the list of exercises and of the trainer's own.
func exercisesRoutes() []Route {
	return []Route{
		{"GET", "/exercises", access.TrainerDo, nil, (*server).exercises},
		{"GET", "/exercises/new", access.TrainerDo, nil, (*server).exerciseNew},
		{"GET", "/exercises/{id}/edit", access.TrainerDo, nil, (*server).exerciseEdit},
		{"POST", "/exercises", access.TrainerDo, nil, (*server).exerciseKeep},
		{"POST", "/exercises/try", access.TrainerDo, nil, (*server).exerciseTry},
		{"POST", "/exercises/{id}/remove", access.TrainerDo, nil, (*server).exerciseRemove},
	}
}

// exercisesView lists the exercises of one group.
type exercisesView struct {
	page
	Groups []exerciseGroup
	Group  string
	Shown  []exerciseCard
}

type exerciseGroup struct {
	Name string
	N    int
}

// exerciseCard is an exercise with its line on the left rein.
type exerciseCard struct {
	logbook.Exercise
	Plan           *logbook.Plan
	Easier, Harder *logbook.Exercise
}

func (s *server) exercises(w http.ResponseWriter, r *http.Request) error {
	all, err := s.book.AllExercises(r.Context())
	if err != nil {
		return err
	}
	v := exercisesView{page: s.newPage(r, "sheets", "Exercises"), Group: r.URL.Query().Get("group")}
	v.Back = &link{"/sheets", "Sheets"}
	byID := map[string]*logbook.Exercise{}
	for i, e := range all {
		byID[e.ID] = &all[i]
		if n := len(v.Groups); n > 0 && v.Groups[n-1].Name == e.Group {
			v.Groups[n-1].N++
		} else {
			v.Groups = append(v.Groups, exerciseGroup{e.Group, 1})
		}
	}
	if v.Group == "" && len(v.Groups) > 0 {
		v.Group = v.Groups[0].Name
	}
	for _, e := range all {
		if e.Group == v.Group {
			c := e.Choices()[0]
			v.Shown = append(v.Shown, exerciseCard{e, s.book.PlanOf(e.Title, e.SheetText(c), ""), byID[e.Easier], byID[e.Harder]})
		}
	}
	if len(v.Shown) == 0 {
		return logbook.Errorf(logbook.NotFound, "there is no group of exercises %q", v.Group)
	}
	return s.render(w, r, http.StatusOK, exercisesPage(v))
}

// exerciseView is the form of an exercise of the trainer's own.
type exerciseView struct {
	page
	Exercise       logbook.Exercise
	Lines          string // its sheet as typed
	Minutes, Age   string
	All            []logbook.Exercise
	Words          logbook.ExerciseWords
	Look           exerciseLook
	Message        string
	MessageDetails []logbook.Problem
}

// exerciseLook is what is understood of the typed lines.
type exerciseLook struct {
	Drawing  string                  `json:"drawing"`
	Readings []string                `json:"readings"`
	Problems []report.PreviewProblem `json:"problems"`
}

// newExercise is what a new form begins with.
func newExercise() logbook.Exercise {
	return logbook.Exercise{Level: "novice", Load: 2, Minutes: 5, MinAge: 4, Paces: []string{"trot"}, OneRein: true,
		Sheet: []string{"A | Enter in working trot", "C | Track left", "E | Circle left 15 m", "B | Circle left 15 m"}}
}

func (s *server) exerciseNew(w http.ResponseWriter, r *http.Request) error {
	return s.exerciseForm(w, r, http.StatusOK, viewOfExercise(newExercise()))
}

func (s *server) exerciseEdit(w http.ResponseWriter, r *http.Request) error {
	e, err := s.book.ExerciseOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if !e.Own { // a copy of one that comes with Ringcraft
		e.Title, e.Sheet = exerciseTitle(e)+", my own", usualLines(e)
		e.ID, e.Easier, e.Harder, e.Params, e.Sheet60 = "", "", "", nil, nil
	}
	return s.exerciseForm(w, r, http.StatusOK, viewOfExercise(e))
}

func viewOfExercise(e logbook.Exercise) exerciseView {
	return exerciseView{Exercise: e, Lines: strings.Join(e.Sheet, "\n"), Minutes: strconv.FormatFloat(e.Minutes, 'f', -1, 64), Age: strconv.FormatFloat(e.MinAge, 'f', -1, 64)}
}

func (s *server) exerciseForm(w http.ResponseWriter, r *http.Request, status int, v exerciseView) error {
	v.page = s.newPage(r, "sheets", "An exercise of my own")
	v.Back, v.Scripts = &link{"/exercises", "Exercises"}, []string{"exercise.js"}
	var err error
	if v.All, err = s.book.AllExercises(r.Context()); err != nil {
		return err
	}
	v.Words, v.Look = logbook.WordsOfExercises(), s.lookAtExercise(v.Exercise)
	return s.render(w, r, status, exercisePage(v))
}

// lookAtExercise draws the typed lines and says what is wrong, with the line of the field.
func (s *server) lookAtExercise(e logbook.Exercise) exerciseLook {
	plan := s.book.TryExercise(e)
	p := report.BuildPreview(plan, len(e.Sheet)+logbook.ExerciseHead)
	out := exerciseLook{Drawing: p.Drawing, Readings: []string{}, Problems: []report.PreviewProblem{}}
	for _, m := range p.Movements {
		out.Readings = append(out.Readings, m.Words+": "+m.Reading)
	}
	for _, q := range p.Problems {
		q.Line = max(q.Line-logbook.ExerciseHead, 1)
		out.Problems = append(out.Problems, q)
	}
	return out
}

// readExercise takes the form as it was sent. An exercise that is edited keeps what the form does
// not show.
func (s *server) readExercise(r *http.Request) (exerciseView, error) {
	if err := r.ParseForm(); err != nil {
		return exerciseView{}, badForm(err)
	}
	f := r.PostForm
	var e logbook.Exercise
	if id := f.Get("id"); id != "" {
		old, err := s.book.ExerciseOf(r.Context(), id)
		if err != nil {
			return exerciseView{}, err
		}
		e = old
	}
	v := exerciseView{Lines: normalLines(f.Get("lines")), Minutes: f.Get("minutes"), Age: f.Get("age")}
	e.Title, e.Purpose, e.Feel, e.See = one(f, "title"), one(f, "purpose"), one(f, "feel"), one(f, "see")
	e.UsualFaults, e.Sheet = filled(strings.Split(normalLines(f.Get("usual")), "\n")), filled(strings.Split(v.Lines, "\n"))
	e.Level, e.Easier, e.Harder, e.Paces, e.OneRein = f.Get("level"), f.Get("easier"), f.Get("harder"), f["pace"], f.Get("one_rein") != ""
	e.Load, _ = strconv.Atoi(f.Get("load")) // what is no number is refused as 0
	e.Minutes, _ = number(v.Minutes)
	e.MinAge, _ = number(v.Age)
	e.Serves = logbook.ServesOf(filled(f["kind"]), filled(f["fault"]), e.Serves)
	v.Exercise = e
	return v, nil
}

func one(f url.Values, name string) string { return strings.Join(strings.Fields(f.Get(name)), " ") }

// filled are the lines with something on them.
func filled(lines []string) []string {
	out := []string{}
	for _, l := range lines {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// exerciseTry answers a keystroke: the line as it is understood so far. Nothing is stored.
func (s *server) exerciseTry(w http.ResponseWriter, r *http.Request) error {
	v, err := s.readExercise(r)
	if err != nil {
		return err
	}
	// Empty lines hold their place here, so that a problem names the line of the field.
	v.Exercise.Sheet = strings.Split(v.Lines, "\n")
	return s.renderJSON(w, r, http.StatusOK, s.lookAtExercise(v.Exercise))
}

func (s *server) exerciseKeep(w http.ResponseWriter, r *http.Request) error {
	v, err := s.readExercise(r)
	if err != nil {
		return err
	}
	e, err := s.book.KeepExercise(r.Context(), v.Exercise)
	switch code := logbook.CodeOf(err); code {
	case "":
		http.Redirect(w, r, "/exercises?group=own#"+e.ID, http.StatusSeeOther)
		return nil
	case logbook.Invalid, logbook.TooLarge:
		v.Message, v.MessageDetails = logbook.MessageOf(err), logbook.ProblemsOf(err)
		return s.exerciseForm(w, r, statusOf(code), v)
	}
	return err
}

func (s *server) exerciseRemove(w http.ResponseWriter, r *http.Request) error {
	if err := s.book.RemoveExercise(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/exercises", http.StatusSeeOther)
	return nil
}

// exerciseFacts says an exercise in one line.
func exerciseFacts(e logbook.Exercise) string {
	out := []string{e.Level, strings.Join(e.Paces, ", "), fmt.Sprintf("about %g min", e.Minutes), fmt.Sprintf("load %d of 5", e.Load)}
	if e.MinAge > 0 {
		out = append(out, fmt.Sprintf("from %g years", e.MinAge))
	}
	return strings.Join(out, " · ")
}

// spare fills a list of choices up with empty ones.
func spare[T ~string](have []T, n int) []string {
	out := make([]string, max(n, len(have)+1))
	for i, h := range have {
		out[i] = string(h)
	}
	return out
}

// groupName is a group as people say it.
func groupName(g string) string {
	if g == "own" {
		return "my own"
	}
	return g
}

// exerciseTitle is the title with the usual figures in it.
func exerciseTitle(e logbook.Exercise) string {
	head, _, _ := strings.Cut(e.SheetText(e.Choices()[0]), "\n")
	return strings.TrimSuffix(strings.TrimPrefix(head, "name: "), ", left rein")
}

// usualLines are the lines of the sheet with the usual figures in them, as they are typed.
func usualLines(e logbook.Exercise) []string {
	var out []string
	for _, l := range strings.Split(strings.TrimSpace(e.SheetText(e.Choices()[0])), "\n")[logbook.ExerciseHead:] {
		_, words, _ := strings.Cut(l, "|")
		out = append(out, strings.TrimSpace(words))
	}
	return out
}
