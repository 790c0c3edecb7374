package web

import (
	"net/http"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// combinationView is one rider on one horse over the weeks.
type combinationView struct {
	page
	Pair    logbook.Pair
	Rides   []rideLine
	Lessons []logbook.Lesson
	Scores  *draw.Scene // percentages over rides; nil with fewer than two
	Pairs   []comparable2
	Trends  []string // what moved over the weeks, in words
}

// comparable2 is two rides of one sheet that can be compared, earlier first.
type comparable2 struct {
	Sheet         string
	Before, After logbook.Ride
	Verdict       string // as the page that compares them gives it; "" when not judged yet
}

func (s *server) combination(w http.ResponseWriter, r *http.Request) error {
	pair, err := s.book.PairOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v := combinationView{page: s.newPage(r, "yard", pair.Title()), Pair: pair}
	v.Invented, v.Back = pair.Invented(), &link{"/", "Yard"}
	rides, err := s.book.Rides(r.Context(), logbook.RideFilter{CombinationID: pair.ID, Limit: 60})
	if err != nil {
		return err
	}
	for _, ride := range rides {
		v.Simulated = v.Simulated || ride.Simulated
	}
	if v.Rides, err = s.rideLines(r, rides); err != nil {
		return err
	}
	for i := range v.Rides {
		v.Rides[i].Title = "" // they are all theirs
	}
	if v.Lessons, err = s.book.Lessons(r.Context(), logbook.LessonFilter{CombinationID: pair.ID, Limit: 20}); err != nil {
		return err
	}
	v.Scores, v.Pairs = s.scores(r, rides), neighbours(rides, v.Rides)
	for i := range v.Pairs[:min(len(v.Pairs), mostVerdicts)] {
		c := &v.Pairs[i]
		c.Verdict, _ = s.book.VerdictOf(r.Context(), c.Before.ID, c.After.ID)
	}
	if v.Trends, err = s.book.TrendWords(r.Context(), pair.ID); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, combinationPage(v))
}

// mostVerdicts bounds how many comparisons are judged for a list.
const mostVerdicts = 6

// scores draws the percentages that are known, oldest first.
func (s *server) scores(r *http.Request, rides []logbook.Ride) *draw.Scene {
	var points []draw.TrendPoint
	for i := len(rides) - 1; i >= 0; i-- {
		if percent, ok := s.book.PeekScore(r.Context(), rides[i].ID); ok {
			label := rides[i].Date.Short()
			if rides[i].Kind == logbook.Show {
				label += " show"
			}
			points = append(points, draw.TrendPoint{Label: label, V: percent, SD: logbook.MarkingNoisePercent})
		}
	}
	if len(points) < 2 {
		return nil
	}
	return draw.Trend("Percent", "%", points, 110)
}

// neighbours pairs each ride with the one of the same sheet before it.
func neighbours(rides []logbook.Ride, lines []rideLine) []comparable2 {
	var out []comparable2
	for i, after := range rides {
		for _, before := range rides[i+1:] {
			if before.SheetID == after.SheetID {
				out = append(out, comparable2{Sheet: lines[i].Sheet, Before: before, After: after})
				break
			}
		}
	}
	return out
}

// combinationFormView is the form for a new combination.
type combinationFormView struct {
	page
	Rider, Horse, Level, Remark, Profile string
	YardID                               string
	Minor                                bool
	Yards                                []logbook.Yard
	Message                              string
	Problems                             []logbook.Problem
}

func (s *server) combinationNew(w http.ResponseWriter, r *http.Request) error {
	return s.combinationForm(w, r, http.StatusOK, combinationFormView{})
}

func (s *server) combinationForm(w http.ResponseWriter, r *http.Request, status int, v combinationFormView) error {
	v.page = s.newPage(r, "yard", "Write down a rider and a horse")
	v.Back = &link{"/", "Yard"}
	var err error
	if v.Yards, err = s.book.Yards(r.Context()); err != nil {
		return err
	}
	return s.render(w, r, status, combinationFormPage(v))
}

func (s *server) combinationSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := r.PostForm
	v := combinationFormView{Rider: f.Get("rider"), Horse: f.Get("horse"), Level: f.Get("level"), Remark: f.Get("remark"),
		Profile: normalLines(f.Get("profile")), YardID: f.Get("yard"), Minor: f.Get("minor") != ""}
	c, err := s.book.AddCombination(r.Context(), logbook.NewCombination{Rider: v.Rider, Horse: v.Horse, Level: v.Level, Remark: v.Remark,
		Minor: v.Minor, YardID: v.YardID, Profile: []byte(v.Profile)})
	if logbook.CodeOf(err) == logbook.Invalid {
		v.Message, v.Problems = logbook.MessageOf(err), logbook.ProblemsOf(err)
		return s.combinationForm(w, r, http.StatusUnprocessableEntity, v)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/combinations/"+c.ID, http.StatusSeeOther)
	return nil
}

// percentWords writes a percentage as the sheet of results does.
func percentWords(t *report.ReviewTotal) string {
	if t == nil {
		return ""
	}
	return report.Spoken(t.Percent, "%", nil)
}
