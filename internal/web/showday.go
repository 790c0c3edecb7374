package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

// showDayRoutes are the addresses of a start at a show: the day backwards from it.
func showDayRoutes() []Route {
	return []Route{
		{"GET", "/day/{date}/{id}/show", access.TrainerDo, nil, (*server).showDay},
		{"GET", "/day/{date}/{id}/show/{file}", access.TrainerDo, nil, (*server).showDayFile},
	}
}

// showDayView is the page of a show day.
type showDayView struct {
	page
	Start   *logbook.ShowStart
	Refused string // why nothing can be planned
	Query   url.Values
}

// field is what was typed into a field of the page's form.
func (v showDayView) field(name string) string { return v.Query.Get(name) }

// address of the page or one of its files with what was asked.
func (v showDayView) address(file string) string {
	a := v.Start.Appointment
	out := fmt.Sprintf("/day/%s/%s/show", a.Date, a.ID)
	if file != "" {
		out += "/" + file
	}
	if q := v.Query.Encode(); q != "" {
		out += "?" + q
	}
	return out
}

// showStart plans the start that a request is about. Numbers that are none are left out.
func (s *server) showStart(r *http.Request) (*logbook.ShowStart, url.Values, error) {
	day, err := logbook.ParseDate(r.PathValue("date"))
	if err != nil {
		return nil, nil, logbook.Errorf(logbook.NotFound, "%s", logbook.MessageOf(err))
	}
	asked, kept := r.URL.Query(), url.Values{}
	number := func(name string) (float64, bool) {
		v, err := strconv.ParseFloat(asked.Get(name), 64)
		if err == nil {
			kept.Set(name, asked.Get(name))
		}
		return v, err == nil
	}
	var ask logbook.ShowAsk
	ask.TravelMin, _ = number("travel")
	ask.WarmUpMin, _ = number("warmup")
	temp, hasTemp := number("temp")
	humidity, hasHumidity := number("humidity")
	if hasTemp && hasHumidity {
		ask.Weather = &logbook.Weather{TempC: temp, HumidityPct: humidity}
	}
	start, err := s.book.ShowStartOf(r.Context(), day, r.PathValue("id"), ask)
	return start, kept, err
}

func (s *server) showDay(w http.ResponseWriter, r *http.Request) error {
	start, query, err := s.showStart(r)
	v := showDayView{Start: start, Query: query}
	status := http.StatusOK
	if logbook.CodeOf(err) == logbook.Refused && start != nil {
		v.Refused, status, err = logbook.MessageOf(err), statusOf(logbook.Refused), nil
	}
	if err != nil {
		return err
	}
	v.page = s.newPage(r, "day", "Start at "+start.Appointment.Start)
	v.Back = &link{"/day/" + string(start.Appointment.Date), start.Appointment.Date.Words()}
	v.Invented = start.Pair.Invented()
	return s.render(w, r, status, showDayPage(v))
}

func (s *server) showDayFile(w http.ResponseWriter, r *http.Request) error {
	start, _, err := s.showStart(r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	var media string
	switch r.PathValue("file") {
	case "paper.pdf":
		media, err = "application/pdf", report.ShowDayPDF(&b, start.Day, start.Plan, showFacts(start))
	case "calendar.ics":
		media, err = "text/calendar; charset=utf-8", s.showCalendar(&b, start)
	default:
		return logbook.Errorf(logbook.NotFound, "there is no such file; there are paper.pdf and calendar.ics")
	}
	if err != nil {
		return err
	}
	return send(w, r, http.StatusOK, media, b.Bytes())
}

func (s *server) showCalendar(w io.Writer, start *logbook.ShowStart) error {
	now := s.book.Now()
	events, err := start.Events(now.Location())
	if err != nil {
		return err
	}
	return report.Calendar(w, showFacts(start), events, now)
}

// bothDegrees writes the degrees Fahrenheit of a published limit beside the Celsius that were typed.
func bothDegrees(words, celsius string) string {
	c, err := strconv.ParseFloat(celsius, 64)
	if err != nil {
		return words
	}
	return strings.Replace(words, "temperature in F ", fmt.Sprintf("temperature in °F (%g °C is %.0f °F) ", c, c*9/5+32), 1)
}

// showFacts says who starts with what and where.
func showFacts(s *logbook.ShowStart) string {
	out := s.Pair.Title()
	if s.Sheet != nil {
		out += " · " + s.Sheet.Name
	}
	if s.Yard.Name != "" {
		out += " · " + s.Yard.Name
	}
	return out + " · " + s.Appointment.Date.Words()
}
