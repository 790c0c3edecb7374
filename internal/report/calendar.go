package report

import (
	"fmt"
	"io"
	"time"

	ics "github.com/arran4/golang-ical"
)

// CalendarEvent is one entry of a calendar file. Start and End carry their own zone.
type CalendarEvent struct {
	UID                         string // the same entry keeps the same UID, so that a later file replaces it
	Start, End                  time.Time
	Summary, Description, Place string
	AlarmMinutes                int // minutes before Start, 0 for no alarm
}

// Calendar writes events as iCalendar (RFC 5545). stamp is the time of writing, handed in so
// that the same events give the same bytes.
func Calendar(w io.Writer, name string, events []CalendarEvent, stamp time.Time) error {
	cal := ics.NewCalendarFor("Ringcraft")
	cal.SetProductId("-//Ringcraft//Ringcraft//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetXWRCalName(name)
	for i, e := range events {
		if e.UID == "" || e.Start.IsZero() {
			return fmt.Errorf("calendar: event %d has no UID or no start", i+1)
		}
		if e.End.Before(e.Start) {
			return fmt.Errorf("calendar: event %d (%s) ends before it starts", i+1, e.Summary)
		}
		v := cal.AddEvent(e.UID)
		v.SetDtStampTime(stamp.UTC())
		v.SetStartAt(e.Start)
		v.SetEndAt(e.End)
		v.SetSummary(e.Summary)
		if e.Description != "" {
			v.SetDescription(e.Description)
		}
		if e.Place != "" {
			v.SetLocation(e.Place)
		}
		if e.AlarmMinutes > 0 {
			a := v.AddAlarm()
			a.SetAction(ics.ActionDisplay)
			a.SetTrigger(fmt.Sprintf("-PT%dM", e.AlarmMinutes))
			a.SetProperty(ics.ComponentPropertyDescription, e.Summary)
		}
	}
	return cal.SerializeTo(w, ics.WithNewLineWindows)
}
