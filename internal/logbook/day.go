package logbook

import (
	"context"
	"regexp"
	"strings"
)

// DayItem is one appointment with all that the trainer wants to know before it.
type DayItem struct {
	Appointment Appointment
	Pair        Pair
	Yard        Yard // where it is: the appointment's, else the combination's
	Sheet       string
	Homework    []LessonTask // set in the last lesson
	LastLesson  *Lesson
	LastRide    *Ride
	LastPercent *float64
	FreeMinutes int // until the next one begins; -1 for the last
	Clash       bool
	Travel      bool // the next one is at another yard
}

// DayOf lists a day over all yards, in order.
func (b *Book) DayOf(ctx context.Context, day Date) ([]DayItem, error) {
	list, err := b.Appointments(ctx, day, day)
	if err != nil {
		return nil, err
	}
	yards, err := b.Yards(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]DayItem, 0, len(list))
	for _, a := range list {
		item, err := b.dayItem(ctx, a, yards)
		if err != nil {
			return nil, err
		}
		out = append(out, item)
	}
	for i := range out {
		out[i].FreeMinutes = -1
		if i+1 < len(out) {
			next := out[i+1]
			out[i].FreeMinutes = minuteOf(next.Appointment.Start) - minuteOf(out[i].Appointment.Start) - out[i].Appointment.Minutes
			out[i].Clash = out[i].FreeMinutes < 0
			out[i].Travel = next.Yard.ID != out[i].Yard.ID
		}
	}
	return out, nil
}

func (b *Book) dayItem(ctx context.Context, a Appointment, yards []Yard) (DayItem, error) {
	d := DayItem{Appointment: a}
	var err error
	if d.Pair, err = b.PairOf(ctx, a.CombinationID); err != nil {
		return d, err
	}
	d.Yard = d.Pair.Yard
	for _, y := range yards {
		if y.ID == a.YardID {
			d.Yard = y
		}
	}
	if a.SheetID != "" {
		if sh, err := b.Sheet(ctx, a.SheetID); err == nil {
			d.Sheet = sh.Name
		}
	}
	lessons, err := b.Lessons(ctx, LessonFilter{CombinationID: a.CombinationID, Limit: 5})
	if err != nil {
		return d, err
	}
	for i, l := range lessons {
		if l.ID != a.LessonID && l.Date <= a.Date && d.LastLesson == nil {
			d.LastLesson, d.Homework = &lessons[i], HomeworkOf(l)
		}
	}
	rides, err := b.Rides(ctx, RideFilter{CombinationID: a.CombinationID, Limit: 5})
	if err != nil {
		return d, err
	}
	for i, r := range rides {
		if r.Date <= a.Date && d.LastRide == nil {
			d.LastRide = &rides[i]
			if p, ok := b.PeekScore(ctx, r.ID); ok {
				d.LastPercent = &p
			}
		}
	}
	return d, nil
}

var clockTime = regexp.MustCompile(`^([01]\d|2[0-3]):[0-5]\d$`)

func minuteOf(start string) int {
	if !clockTime.MatchString(start) {
		return 0
	}
	return int(start[0]-'0')*600 + int(start[1]-'0')*60 + int(start[3]-'0')*10 + int(start[4]-'0')
}

// AddAppointment writes an appointment down after looking at it.
func (b *Book) AddAppointment(ctx context.Context, a Appointment) (Appointment, error) {
	if _, err := ParseDate(string(a.Date)); err != nil {
		return a, err
	}
	a.Start = strings.TrimSpace(a.Start)
	if !clockTime.MatchString(a.Start) {
		return a, Errorf(Invalid, "%q is no time of day; write hours and minutes, for example 09:30", a.Start)
	}
	if a.Minutes < 5 || a.Minutes > 12*60 {
		return a, Errorf(Invalid, "%d minutes: allowed are 5 to 720", a.Minutes)
	}
	if a.Kind != "lesson" && a.Kind != "show" {
		return a, Errorf(Invalid, "an appointment is a lesson or a show, not %q", a.Kind)
	}
	var err error
	if a.Remark, err = cleanRemark(a.Remark); err != nil {
		return a, err
	}
	a.ID = b.NewID()
	return a, b.PutAppointment(ctx, a)
}

// AddYard writes down a place where horses stand.
func (b *Book) AddYard(ctx context.Context, y Yard) (Yard, error) {
	var err error
	if y.Name, err = cleanName("the yard", y.Name); err != nil {
		return y, err
	}
	if y.Remark, err = cleanRemark(y.Remark); err != nil {
		return y, err
	}
	y.ID = b.NewID()
	return y, b.PutYard(ctx, y)
}
