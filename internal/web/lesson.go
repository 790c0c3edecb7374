package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// lessonView is a planned lesson: what comes when, why, and what was left out.
type lessonView struct {
	page
	Taught logbook.TaughtLesson
	Blocks []blockView
	Tasks  []logbook.LessonTask
	From   string // the ride it was planned from, "" for none
	// compile makes the plan of a task for its drawing.
	compile func(file, text, profile string) *logbook.Plan
}

// blockView is a block with its line.
type blockView struct {
	logbook.LessonBlock
	Number int
	Plan   *logbook.Plan // nil where nothing is drawn
	Steps  []logbook.Step
}

func (s *server) lesson(w http.ResponseWriter, r *http.Request) error {
	v, err := s.lessonView(r)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, lessonPage(v))
}

func (s *server) lessonView(r *http.Request) (lessonView, error) {
	t, err := s.book.LessonOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return lessonView{}, err
	}
	v := lessonView{page: s.newPage(r, "yard", "Lesson for "+t.Pair.Title()), Taught: t, Tasks: logbook.HomeworkOf(t.Lesson)}
	v.Invented, v.Back = t.Pair.Invented(), &link{"/combinations/" + t.Pair.ID, t.Pair.Title()}
	v.Blocks, v.compile = s.blocksOf(t), s.book.PlanOf
	if t.Lesson.RideID != "" {
		if ride, err := s.book.Ride(r.Context(), t.Lesson.RideID); err == nil {
			v.From = ride.Date.Short()
		}
	}
	return v, nil
}

func (s *server) blocksOf(t logbook.TaughtLesson) []blockView {
	out := make([]blockView, len(t.Plan.Blocks))
	for i, b := range t.Plan.Blocks {
		out[i] = blockView{LessonBlock: b, Number: i}
		if strings.TrimSpace(b.Sheet) != "" {
			out[i].Plan = s.book.PlanOf(b.Title, b.Sheet, t.Pair.Horse.Profile)
		}
		for _, st := range t.Steps {
			if st.Block == i && st.Kind != logbook.StepReplan {
				out[i].Steps = append(out[i].Steps, st)
			}
		}
	}
	return out
}

// lessonFormView is the form with which a lesson is planned.
type lessonFormView struct {
	page
	Pair           logbook.Pair
	Rides          []rideLine
	RideID         string
	Date           string
	Minutes        string
	WarmedUp       bool
	Shared         bool
	Temp, Humidity string
	Days           string
	Message        string
}

func (s *server) lessonNew(w http.ResponseWriter, r *http.Request) error {
	return s.lessonForm(w, r, http.StatusOK, lessonFormView{Date: string(logbook.DateOf(s.book.Now())), Minutes: "45", RideID: r.URL.Query().Get("ride")})
}

func (s *server) lessonForm(w http.ResponseWriter, r *http.Request, status int, v lessonFormView) error {
	pair, err := s.book.PairOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v.page = s.newPage(r, "yard", "Plan a lesson for "+pair.Title())
	v.Pair, v.Back = pair, &link{"/combinations/" + pair.ID, pair.Title()}
	rides, err := s.book.Rides(r.Context(), logbook.RideFilter{CombinationID: pair.ID, Limit: 10})
	if err != nil {
		return err
	}
	if v.Rides, err = s.rideLines(r, rides); err != nil {
		return err
	}
	if v.RideID == "" && status == http.StatusOK && len(rides) > 0 { // the last ride, unless another was named
		v.RideID = rides[0].ID
	}
	return s.render(w, r, status, lessonFormPage(v))
}

func (s *server) lessonSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := r.PostForm
	v := lessonFormView{RideID: f.Get("ride"), Date: f.Get("date"), Minutes: f.Get("minutes"), WarmedUp: f.Get("warmed_up") != "",
		Shared: f.Get("shared") != "", Temp: f.Get("temp"), Humidity: f.Get("humidity"), Days: f.Get("days")}
	if v.Date == "" {
		v.Date = string(logbook.DateOf(s.book.Now()))
	}
	n, err := v.lesson(r.PathValue("id"))
	var l logbook.Lesson
	if err == nil {
		l, err = s.book.PlanLesson(r.Context(), n)
	}
	switch logbook.CodeOf(err) {
	case "":
		http.Redirect(w, r, "/lessons/"+l.ID, http.StatusSeeOther)
		return nil
	case logbook.Invalid, logbook.Refused:
		v.Message = logbook.MessageOf(err)
		return s.lessonForm(w, r, http.StatusUnprocessableEntity, v)
	}
	return err
}

// lesson reads the numbers of the form; empty ones are not said.
func (v lessonFormView) lesson(combination string) (logbook.NewLesson, error) {
	n := logbook.NewLesson{CombinationID: combination, RideID: v.RideID, Date: logbook.Date(v.Date), WarmedUp: v.WarmedUp, SharedArena: v.Shared}
	var err error
	if n.Minutes, err = strconv.Atoi(strings.TrimSpace(v.Minutes)); err != nil {
		return n, logbook.Errorf(logbook.Invalid, "%q minutes: write a whole number, for example 45", v.Minutes)
	}
	if v.Days != "" {
		days, err := strconv.Atoi(v.Days)
		if err != nil || days < 0 {
			return n, logbook.Errorf(logbook.Invalid, "%q days to the show: write a whole number from 0", v.Days)
		}
		n.DaysToShow = &days
	}
	if v.Temp != "" {
		var weather logbook.Weather
		if weather.TempC, err = strconv.ParseFloat(v.Temp, 64); err != nil || weather.TempC < -40 || weather.TempC > 60 {
			return n, logbook.Errorf(logbook.Invalid, "%q degrees: write Celsius, from -40 to 60", v.Temp)
		}
		if weather.HumidityPct, err = strconv.ParseFloat(v.Humidity, 64); err != nil || weather.HumidityPct < 0 || weather.HumidityPct > 100 {
			return n, logbook.Errorf(logbook.Invalid, "heat is judged from temperature and humidity together; write the humidity in percent, 0 to 100")
		}
		n.Weather = &weather
	}
	return n, nil
}

// lessonPaper sends the lesson, or with it the rider's homework, as PDF.
func (s *server) lessonPaper(w http.ResponseWriter, r *http.Request) error {
	v, err := s.lessonView(r)
	if err != nil {
		return err
	}
	t := v.Taught
	paper := report.LessonPaper{Title: v.Title, Facts: fmt.Sprintf("%s · %d minutes", t.Lesson.Date.Words(), t.Lesson.Minutes), Cautions: t.Plan.Cautions}
	switch r.PathValue("paper") {
	case "lesson.pdf":
		for _, b := range v.Blocks {
			paper.Blocks = append(paper.Blocks, report.LessonBlock{StartS: b.StartS, LengthS: b.LengthS, Kind: b.Kind, Title: b.Title, Rein: b.Rein, Pace: b.Pace, Plan: b.Plan, Look: b.See, Lines: b.Reasons, RepeatsOrDuration: b.Repeats})
		}
		paper.LeftOut = report.LeftOutLines(t.Plan.LeftOut)
	case "homework.pdf":
		paper.Title, paper.Facts = "Homework for "+t.Pair.Title(), t.Lesson.Date.Words()
		for _, h := range v.Tasks {
			paper.Blocks = append(paper.Blocks, report.LessonBlock{Title: h.Title, Plan: s.book.PlanOf(h.Title, h.Sheet, t.Pair.Horse.Profile), Look: strings.Join(h.Right, " "),
				Fault: strings.Join(h.Watch, "; "), Lines: []string{h.Why, h.Stop}, WithoutClock: true, RepeatsOrDuration: h.HowOften})
		}
	default:
		return logbook.Errorf(logbook.NotFound, "there is no such paper; there are lesson.pdf and homework.pdf")
	}
	var b bytes.Buffer
	if err := report.LessonPDF(&b, paper); err != nil {
		return err
	}
	return sendFile(w, r, "application/pdf", paper.Title+".pdf", b.Bytes())
}

// lessonWhen says when and how long; onward when words about its ride follow.
func lessonWhen(l logbook.Lesson, onward bool) string {
	out := l.Date.Words() + ", " + plural(l.Minutes, "minute", "minutes")
	if onward {
		out += ", from the ride of "
	}
	return out
}

// leftOutGroup is what was left out for one reason.
type leftOutGroup struct {
	Reason string
	Titles []string
}

// leftOutByReason groups what was left out, in the order in which the reasons first come. What found
// no room has figures of its own, which stay beside the title.
func leftOutByReason(all []logbook.LessonLeftOut) []leftOutGroup {
	var out []leftOutGroup
	at := map[string]int{}
	for _, l := range all {
		reason, title := l.Reason, l.Title
		if head, rest, ok := strings.Cut(l.Reason, ": "); ok && head == "no room" {
			reason, title = "no room", l.Title+" ("+rest+")"
		}
		i, seen := at[reason]
		if !seen {
			i = len(out)
			at[reason] = i
			out = append(out, leftOutGroup{Reason: reason})
		}
		out[i].Titles = append(out[i].Titles, title)
	}
	return out
}

// blockWords says a block's rein, pace and length.
func blockWords(b logbook.LessonBlock) string {
	out := []string{minutesWords(b.LengthS)}
	for _, w := range []string{b.Pace, reinWords(b.Rein), b.Repeats} {
		if w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, ", ")
}

// minutesWords says a length: whole minutes, halves with one decimal.
func minutesWords(seconds float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(seconds/60, 'f', 1, 64), ".0") + " min"
}

func reinWords(rein string) string {
	switch rein {
	case "left", "right":
		return rein + " rein"
	case "both":
		return "both reins"
	}
	return rein
}

// stepWords says what happened.
func stepWords(st logbook.Step) string {
	words := map[logbook.StepKind]string{logbook.StepBegun: "begun", logbook.StepGood: "good one", logbook.StepAgain: "not yet", logbook.StepDone: "done",
		logbook.StepSkip: "left out", logbook.StepTired: "the horse tires", logbook.StepRemark: st.Text}[st.Kind]
	return clockOf(st.AtS) + " " + words
}

// planOf compiles a task's line for its drawing; nil where it has none.
func (v lessonView) planOf(h logbook.LessonTask) *logbook.Plan {
	if v.compile == nil || strings.TrimSpace(h.Sheet) == "" {
		return nil
	}
	return v.compile(h.Title, h.Sheet, v.Taught.Pair.Horse.Profile)
}

// homework is what the rider takes home.
func (s *server) homework(w http.ResponseWriter, r *http.Request) error {
	v, err := s.lessonView(r)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, homeworkPage(v))
}
