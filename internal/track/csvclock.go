package track

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"
)

// clockReader reads the time column of a CSV file: numbers, or text such as RFC 3339.
type clockReader struct {
	head   header
	known  bool
	text   bool
	layout string // of text that is not RFC 3339
	// daytime is set where the cells give a time of day without a date; last is the one before, with
	// the days passed since the first.
	daytime bool
	last    float64
	unnamed bool // a file without a header: the column has no name
}

// dayLayout is a time of day without a date.
const dayLayout = "15:04:05.999999999"

func (c *clockReader) read(cell string) (float64, error) {
	bad := &Error{Column: c.head.raw, Message: fmt.Sprintf("%q is not a time", clip(cell)), Allowed: "seconds, RFC 3339 such as 2026-05-02T09:30:00.25Z, or a time of day such as 09:30:00.25"}
	if cell == "" {
		bad.Message = "the time is empty"
		return 0, bad
	}
	if !c.known {
		c.known = true
		_, err := strconv.ParseFloat(strings.Replace(cell, ",", ".", 1), 64)
		c.text = err != nil && c.setLayout(cell)
	}
	if c.text {
		t, err := time.Parse(c.layout, cell)
		if err == nil && c.daytime {
			return c.running(t), nil
		}
		if err != nil || t.Year() < 1970 || t.Year() > 2200 {
			return 0, bad
		}
		return unixSeconds(t), nil
	}
	v, err := strconv.ParseFloat(strings.Replace(cell, ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e19 {
		return 0, bad
	}
	if c.head.unit != "" {
		v *= c.head.factor
	}
	return v, nil
}

func (c *clockReader) setLayout(cell string) bool {
	for _, l := range append([]string{dayLayout, "02.01.2006 15:04:05.999999999"}, stampLayouts...) {
		if _, err := time.Parse(l, cell); err == nil {
			c.layout, c.daytime = l, l == dayLayout
			return true
		}
	}
	return false
}

// running counts a time of day on over midnight.
func (c *clockReader) running(t time.Time) float64 {
	s := float64(t.Hour()*3600+t.Minute()*60+t.Second()) + float64(t.Nanosecond())*1e-9
	day := 86400 * math.Floor(c.last/86400)
	if day+s < c.last-43200 {
		day += 86400
	}
	c.last = day + s
	return c.last
}

func (c *clockReader) name(t float64) string {
	if c.text && !c.daytime {
		return unixTime(t).Format("2006-01-02T15:04:05.000Z")
	}
	if c.unnamed {
		return "time " + strconv.FormatFloat(t, 'f', -1, 64)
	}
	return c.head.raw + " " + strconv.FormatFloat(t, 'f', -1, 64)
}

// timeScale finds the unit of a numeric time column whose name gives none: the largest unit that
// puts the median step between rows at 5 s or less.
func timeScale(steps []float64) (float64, string) {
	if len(steps) == 0 {
		return 1, "seconds"
	}
	sort.Float64s(steps)
	m := steps[len(steps)/2]
	switch {
	case m <= 5:
		return 1, "seconds"
	case m <= 5e3:
		return 1e-3, "milliseconds"
	case m <= 5e6:
		return 1e-6, "microseconds"
	}
	return 1e-9, "nanoseconds"
}

// epoch reports whether seconds of this size count from 1970 (2001 to 2200).
func epoch(t float64) bool { return t > 1e9 && t < 7.3e9 }
