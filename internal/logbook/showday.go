package logbook

import (
	"context"
	"errors"
	"time"

	"ringcraft/internal/judging"
	"ringcraft/internal/prepare"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
)

// ShowDay is the plan of a show day as the book speaks of it.
type ShowDay = prepare.ShowDay

// ShowStart is a start at a show with the day planned backwards from it.
type ShowStart struct {
	Appointment Appointment
	Pair        Pair
	Yard        Yard // zero when not said
	Sheet       *Sheet
	Plan        *rideplan.Plan // nil without a sheet
	From        *Ride          // the ride whose review says what to touch; nil for none
	Day         ShowDay
}

// ShowAsk is what a show day depends on besides the book.
type ShowAsk struct {
	Weather   *Weather
	TravelMin float64
	WarmUpMin float64 // 0: as usual at the level
}

// ShowStartOf plans the day of one start: the appointment's time, the horse, the sheet with its
// rule set, and what the last reviewed ride found.
func (b *Book) ShowStartOf(ctx context.Context, day Date, id string, ask ShowAsk) (*ShowStart, error) {
	s := &ShowStart{}
	if err := b.findStart(ctx, s, day, id); err != nil {
		return nil, err
	}
	horse, err := horseOf(s.Pair)
	if err != nil {
		return nil, err
	}
	at, err := clockSeconds(s.Appointment.Start)
	if err != nil {
		return nil, err
	}
	in := prepare.ShowInput{StartClockS: at, Horse: horse, Level: s.Pair.Level, Weather: ask.Weather, TravelMin: ask.TravelMin, WarmUpMin: ask.WarmUpMin, Plan: s.Plan}
	if s.Plan != nil {
		if s.Plan.Level != "" {
			in.Level = s.Plan.Level
		}
		if in.Rules, err = judging.RulesByID(s.Plan.Rules); err != nil {
			in.Rules = nil // an unknown rule set says nothing; the sheet's page reports it
		}
	}
	if s.From != nil {
		if rev, err := b.ReviewOf(ctx, s.From.ID); err == nil {
			found := LessonInput(rev.Doc, horse)
			in.Needs, in.Causes = found.Needs, found.Causes
		} else {
			s.From = nil
		}
	}
	s.Day, err = prepare.PlanShow(in)
	for _, known := range []error{prepare.ErrUnsound, prepare.ErrTooHot, prepare.ErrInput} {
		if errors.Is(err, known) {
			return s, Wrap(Refused, nil, "%s", err.Error())
		}
	}
	return s, err
}

// findStart fills in what the book knows of a start.
func (b *Book) findStart(ctx context.Context, s *ShowStart, day Date, id string) error {
	items, err := b.DayOf(ctx, day)
	if err != nil {
		return err
	}
	found := false
	for _, i := range items {
		if i.Appointment.ID == id {
			s.Appointment, s.Pair, s.Yard, s.From, found = i.Appointment, i.Pair, i.Yard, i.LastRide, true
		}
	}
	switch {
	case !found:
		return Errorf(NotFound, "there is no such appointment on this day")
	case s.Appointment.Kind != "show":
		return Errorf(NotFound, "this appointment is a lesson, not a start at a show")
	case s.Appointment.SheetID == "":
		return nil
	}
	sh, err := b.Sheet(ctx, s.Appointment.SheetID)
	if err != nil {
		return err
	}
	s.Sheet, s.Plan = &sh, b.PlanOf(sh.Name, sh.Text, s.Pair.Horse.Profile)
	return nil
}

// clockSeconds reads "09:30" as seconds after midnight.
func clockSeconds(clock string) (float64, error) {
	t, err := time.Parse("15:04", clock)
	if err != nil {
		return 0, Errorf(Invalid, "%q is no time of day; write it as 09:30", clock)
	}
	return float64(t.Hour()*3600 + t.Minute()*60), nil
}

// Events are the phases of the day for a calendar, in the zone of this machine.
func (s *ShowStart) Events(zone *time.Location) ([]report.CalendarEvent, error) {
	start, err := time.ParseInLocation("2006-01-02 15:04", string(s.Appointment.Date)+" "+s.Appointment.Start, zone)
	if err != nil {
		return nil, Errorf(Invalid, "%s %s is no time", s.Appointment.Date, s.Appointment.Start)
	}
	title := s.Pair.Title()
	if s.Sheet != nil {
		title += ", " + s.Sheet.Name
	}
	return report.ShowDayEvents(s.Day, start, s.Appointment.ID, title, s.Yard.Place), nil
}
