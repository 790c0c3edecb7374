package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"ringcraft/internal/logbook"
)

// dayView is a day over all yards: who rides next, on which horse, with which reminder.
type dayView struct {
	page
	Day     logbook.Date
	Items   []logbook.DayItem
	Pairs   []logbook.Pair
	Yards   []logbook.Yard
	Sheets  []logbook.Sheet
	Message string
	Form    logbook.Appointment
}

func (s *server) day(w http.ResponseWriter, r *http.Request) error {
	day := logbook.DateOf(s.book.Now())
	if q := r.PathValue("date"); q != "" {
		var err error
		if day, err = logbook.ParseDate(q); err != nil {
			return logbook.Errorf(logbook.NotFound, "%s", logbook.MessageOf(err))
		}
	}
	return s.dayPage(w, r, http.StatusOK, dayView{Day: day, Form: logbook.Appointment{Start: "09:00", Minutes: 45, Kind: "lesson"}})
}

func (s *server) dayPage(w http.ResponseWriter, r *http.Request, status int, v dayView) error {
	v.page = s.newPage(r, "day", v.Day.Words())
	v.Scripts = []string{"day.js"}
	var err error
	if v.Items, err = s.book.DayOf(r.Context(), v.Day); err != nil {
		return err
	}
	if v.Pairs, err = s.book.Pairs(r.Context()); err != nil {
		return err
	}
	if v.Yards, err = s.book.Yards(r.Context()); err != nil {
		return err
	}
	if v.Sheets, err = s.book.Sheets(r.Context()); err != nil {
		return err
	}
	for _, i := range v.Items {
		v.Invented = v.Invented || i.Pair.Invented()
	}
	return s.render(w, r, status, dayTemplate(v))
}

func (s *server) dayAdd(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := r.PostForm
	minutes, _ := strconv.Atoi(f.Get("minutes")) // what is no number is refused as 0 minutes
	a := logbook.Appointment{CombinationID: f.Get("combination"), YardID: f.Get("yard"), Date: logbook.Date(r.PathValue("date")), Start: f.Get("start"),
		Minutes: minutes, Kind: f.Get("kind"), SheetID: f.Get("sheet"), Remark: f.Get("remark")}
	_, err := s.book.AddAppointment(r.Context(), a)
	switch logbook.CodeOf(err) {
	case "":
		http.Redirect(w, r, "/day/"+string(a.Date), http.StatusSeeOther)
		return nil
	case logbook.Invalid:
		return s.dayPage(w, r, http.StatusUnprocessableEntity, dayView{Day: a.Date, Message: logbook.MessageOf(err), Form: a})
	}
	return err
}

func (s *server) dayRemove(w http.ResponseWriter, r *http.Request) error {
	if err := s.book.RemoveAppointment(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/day/"+r.PathValue("date"), http.StatusSeeOther)
	return nil
}

func (s *server) yardAdd(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	if _, err := s.book.AddYard(r.Context(), logbook.Yard{Name: r.PostForm.Get("name"), Place: strings.TrimSpace(r.PostForm.Get("place")), Arena: strings.TrimSpace(r.PostForm.Get("arena"))}); err != nil {
		return err
	}
	http.Redirect(w, r, "/day", http.StatusSeeOther)
	return nil
}

// freeWords says how much time there is until the next.
func freeWords(i logbook.DayItem) string {
	switch {
	case i.FreeMinutes == -1 && !i.Clash:
		return ""
	case i.Clash:
		return fmt.Sprintf("Overlaps the next by %d minutes", -i.FreeMinutes)
	case i.Travel:
		return plural(i.FreeMinutes, "minute", "minutes") + " to get to the next yard"
	}
	return plural(i.FreeMinutes, "minute", "minutes") + " until the next"
}

// newYardAt reports whether an item is at another yard than the one before.
func newYardAt(items []logbook.DayItem, i int) bool {
	return i == 0 || items[i].Yard.ID != items[i-1].Yard.ID
}

func yardName(y logbook.Yard) string {
	if y.Name == "" {
		return "No yard said"
	}
	return y.Name
}

// reminders are what must not be forgotten about a pair, most particular first.
func reminders(i logbook.DayItem) []string {
	var out []string
	for _, words := range []string{i.Appointment.Remark, i.Pair.Remark, i.Pair.Horse.Remark, i.Pair.Rider.Remark} {
		if words != "" {
			out = append(out, words)
		}
	}
	return out
}
