package web

import (
	"net/http"

	"ringcraft/internal/logbook"
)

// lessonRun is the page one teaches with: the current exercise large, a clock, what to say, a
// tick for every repeat. It works on with what it has when the server is out of reach: steps are
// kept in the browser and sent when it is back.
func (s *server) lessonRun(w http.ResponseWriter, r *http.Request) error {
	v, err := s.lessonView(r)
	if err != nil {
		return err
	}
	v.Title, v.Scripts = "Teach: "+v.Taught.Pair.Title(), []string{"lesson_run.js"}
	v.Back = &link{"/lessons/" + v.Taught.Lesson.ID, "The plan"}
	return s.render(w, r, http.StatusOK, lessonRunPage(v))
}

// runState is what the script starts from.
type runState struct {
	LessonID string         `json:"lesson_id"`
	TotalS   float64        `json:"total_s"`
	Blocks   []runBlock     `json:"blocks"`
	Steps    []logbook.Step `json:"steps"`
	Ended    bool           `json:"ended"`
}

type runBlock struct {
	StartS  float64 `json:"start_s"`
	LengthS float64 `json:"length_s"`
	Title   string  `json:"title"`
	Kind    string  `json:"kind"`
}

func runStateOf(v lessonView) runState {
	out := runState{LessonID: v.Taught.Lesson.ID, TotalS: float64(v.Taught.Lesson.Minutes) * 60, Blocks: []runBlock{}, Steps: []logbook.Step{}, Ended: !v.Taught.Lesson.Ended.IsZero()}
	for _, b := range v.Taught.Plan.Blocks {
		out.Blocks = append(out.Blocks, runBlock{b.StartS, b.LengthS, b.Title, b.Kind})
	}
	for _, st := range v.Taught.Steps {
		if st.Kind != logbook.StepReplan {
			out.Steps = append(out.Steps, st)
		}
	}
	return out
}

// maxStepsBody bounds what a lesson page sends at once.
const maxStepsBody = 1 << 20

// lessonSteps takes what happened, as often as it is sent.
func (s *server) lessonSteps(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Steps []logbook.Step `json:"steps"`
	}
	if err := readJSON(w, r, maxStepsBody, &in); err != nil {
		return err
	}
	added, err := s.book.TakeSteps(r.Context(), r.PathValue("id"), in.Steps)
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, map[string]int{"added": added, "kept": len(in.Steps)})
}

// lessonReplan solves the rest of the lesson again and sends the page to show it.
func (s *server) lessonReplan(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		StepID   string  `json:"step_id"`
		ElapsedS float64 `json:"elapsed_s"`
		Begun    int     `json:"begun"`
		Tired    bool    `json:"tired"`
	}
	if err := readJSON(w, r, maxStepsBody, &in); err != nil {
		return err
	}
	plan, err := s.book.Replan(r.Context(), r.PathValue("id"), in.StepID, in.ElapsedS, in.Begun, in.Tired)
	if err != nil {
		return err
	}
	return s.renderJSON(w, r, http.StatusOK, map[string]int{"blocks": len(plan.Blocks)})
}

// lessonEnd writes down that the lesson is over.
func (s *server) lessonEnd(w http.ResponseWriter, r *http.Request) error {
	if err := s.book.EndLesson(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/lessons/"+r.PathValue("id"), http.StatusSeeOther)
	return nil
}
