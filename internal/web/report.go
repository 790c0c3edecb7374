package web

import (
	"fmt"
	"net/http"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// reportRoutes are the addresses of a ride's report: what a rider, or a guest with a link, may read.
func reportRoutes() []Route {
	return []Route{{"GET", "/rides/{id}/report.html", access.ReportRead, aboutRide, lastingPage(reckoning, (*server).reportPage)}}
}

// reportView is the rider's report as a page: the same words as on paper.
type reportView struct {
	page
	Review   *logbook.Review
	Summary  report.Summary
	Drawing  *draw.Scene
	Moves    []reportMove
	Homework []report.Homework
}

// reportMove is one movement of the report.
type reportMove struct {
	report.ReviewMovement
	Lines []string
}

func (s *server) reportPage(w http.ResponseWriter, r *http.Request) error {
	rev, err := s.book.ReviewOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v := reportView{page: s.newPage(r, "", rev.Title()), Review: rev, Summary: summaryOf(rev.Doc)}
	v.Invented, v.Simulated = rev.Pair.Invented(), rev.Ride.Simulated
	v.Drawing = draw.Plan(rev.Plan, draw.Options{Width: widthOf(rev.Plan), Ridden: riddenLine(rev.Line), Marks: report.PlaceMarks(rev.Doc, rev.Plan)})
	words, err := s.wordsForRider(r, rev)
	if err != nil {
		return err
	}
	for _, m := range rev.Doc.Movements {
		v.Moves = append(v.Moves, reportMove{m, reportLines(m, words)})
	}
	lessons, err := s.book.Lessons(r.Context(), logbook.LessonFilter{RideID: rev.Ride.ID, Limit: 1})
	if err != nil {
		return err
	}
	if len(lessons) > 0 {
		v.Homework = s.homeworkPaper(rev, lessons[0])
	}
	return s.render(w, r, http.StatusOK, reportPage(v))
}

// reportLines are the trainer's words for the rider where some were kept for the movement, else what
// was found there.
func reportLines(m report.ReviewMovement, words []logbook.Wording) []string {
	var out []string
	for _, k := range words {
		if k.Movement == m.Number {
			k.Where = ""
			out = append(out, k.Text())
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, l := range m.Lost {
		if l.Fault != "" {
			out = append(out, lossWords(l))
		}
	}
	return out
}

func moveID(n int) string { return fmt.Sprintf("m%d", n) }

// homeworkHas reports whether a task has a line to draw.
func homeworkHas(h report.Homework) bool { return h.Plan != nil && strings.TrimSpace(h.Title) != "" }
