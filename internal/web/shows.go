package web

import (
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// showsRoutes are the addresses of writing a start down, and of its judge's sheet afterwards.
func showsRoutes() []Route {
	return []Route{
		{"GET", "/combinations/{id}/shows/new", access.TrainerDo, nil, (*server).showNew},
		{"POST", "/combinations/{id}/shows", access.TrainerDo, nil, (*server).showSave},
		{"POST", "/day/{date}/{id}/show/sheet", access.TrainerDo, nil, (*server).showSheet},
	}
}

// showFormView is the form with which a start at a show is written down.
type showFormView struct {
	page
	Pair                         logbook.Pair
	Sheets                       []logbook.Sheet
	Yards                        []logbook.Yard
	Date, Start, SheetID, YardID string
	Travel, WarmUp               string
	Temp, Humidity, Reminder     string
	Message                      string
}

func (s *server) showNew(w http.ResponseWriter, r *http.Request) error {
	return s.showForm(w, r, http.StatusOK, showFormView{Date: string(logbook.DateOf(s.book.Now())), Start: "10:00"})
}

func (s *server) showForm(w http.ResponseWriter, r *http.Request, status int, v showFormView) error {
	pair, err := s.book.PairOf(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	v.page = s.newPage(r, "yard", "Start at a show")
	v.Pair, v.Back, v.Invented = pair, &link{"/combinations/" + pair.ID, pair.Title()}, pair.Invented()
	if v.Sheets, err = s.book.Sheets(r.Context()); err != nil {
		return err
	}
	if v.Yards, err = s.book.Yards(r.Context()); err != nil {
		return err
	}
	return s.render(w, r, status, showFormPage(v))
}

// showSave writes the start into the day and goes to its page.
func (s *server) showSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := r.PostForm
	v := showFormView{Date: f.Get("date"), Start: f.Get("start"), SheetID: f.Get("sheet"), YardID: f.Get("yard"),
		Travel: f.Get("travel"), WarmUp: f.Get("warmup"), Temp: f.Get("temp"), Humidity: f.Get("humidity"), Reminder: f.Get("remark")}
	ask, err := v.numbers()
	var a logbook.Appointment
	if err == nil {
		a, err = s.book.AddAppointment(r.Context(), logbook.Appointment{CombinationID: r.PathValue("id"), YardID: v.YardID, Date: logbook.Date(v.Date), Start: v.Start,
			Minutes: 10, Kind: "show", SheetID: v.SheetID, Remark: v.Reminder})
	}
	switch logbook.CodeOf(err) {
	case "":
		to := "/day/" + string(a.Date) + "/" + a.ID + "/show"
		if len(ask) > 0 {
			to += "?" + ask.Encode()
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	case logbook.Invalid:
		v.Message = logbook.MessageOf(err)
		return s.showForm(w, r, http.StatusUnprocessableEntity, v)
	}
	return err
}

// numbers checks what else the plan of the day depends on; empty fields are not said.
func (v showFormView) numbers() (url.Values, error) {
	out := url.Values{}
	for _, n := range []struct {
		name, typed string
		low, high   float64
		words       string
	}{
		{"travel", v.Travel, 0, 1440, "minutes on the road: write a number from 0 to 1440"},
		{"warmup", v.WarmUp, 10, 90, "minutes of warm-up: write a number from 10 to 90"},
		{"temp", v.Temp, -40, 60, "degrees: write Celsius, from -40 to 60"},
		{"humidity", v.Humidity, 0, 100, "humidity: write percent, from 0 to 100"},
	} {
		if n.typed == "" {
			continue
		}
		value, ok := number(n.typed)
		if !ok || value < n.low || value > n.high {
			return nil, logbook.Errorf(logbook.Invalid, "%q %s", n.typed, n.words)
		}
		out.Set(n.name, n.typed)
	}
	if (v.Temp == "") != (v.Humidity == "") {
		return nil, logbook.Errorf(logbook.Invalid, "heat is judged from temperature and humidity together; write both or neither")
	}
	return out, nil
}

// showSheet opens the judge's sheet of a start, for the ride of that day.
func (s *server) showSheet(w http.ResponseWriter, r *http.Request) error {
	day, err := logbook.ParseDate(r.PathValue("date"))
	if err != nil {
		return logbook.Errorf(logbook.NotFound, "%s", logbook.MessageOf(err))
	}
	ride, err := s.book.JudgesSheetOf(r.Context(), day, r.PathValue("id"))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/rides/"+ride.ID+"/marks", http.StatusSeeOther)
	return nil
}

// number reads a number as it is typed here or on the continent.
func number(s string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(s), ",", ".", 1), 64)
	return v, err == nil && !math.IsNaN(v)
}
