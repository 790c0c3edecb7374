package logbook

import (
	"fmt"
	"time"
)

// Date is a day, "2026-05-31". Rides and lessons have days, not instants: a day does not move
// when the trainer crosses a border.
type Date string

// DateOf returns the day of an instant where that instant was told.
func DateOf(t time.Time) Date { return Date(t.Format(time.DateOnly)) }

// ParseDate reads a day as forms send it.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1900 || t.Year() > 2200 {
		return "", Errorf(Invalid, "date %q is not a day; write year-month-day, for example 2026-05-31", s)
	}
	return Date(s), nil
}

// Add returns the day n days later (earlier when negative). A malformed date is returned as is.
func (d Date) Add(n int) Date {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return d
	}
	return DateOf(t.AddDate(0, 0, n))
}

// DaysTo returns the days from d to e, 0 when either is malformed.
func (d Date) DaysTo(e Date) int {
	a, errA := time.Parse(time.DateOnly, string(d))
	b, errB := time.Parse(time.DateOnly, string(e))
	if errA != nil || errB != nil {
		return 0
	}
	return int(b.Sub(a).Hours() / 24)
}

// Words gives the day as people say it, "Sunday 31 May 2026".
func (d Date) Words() string {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return string(d)
	}
	return fmt.Sprintf("%s %d %s %d", t.Weekday(), t.Day(), t.Month(), t.Year())
}

// Short gives the day without the year, "31 May".
func (d Date) Short() string {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return string(d)
	}
	return fmt.Sprintf("%d %s", t.Day(), t.Format("Jan"))
}
