package prepare

import (
	"fmt"
	"strings"
)

// wholeTest is a run of the sheet itself, when it is rationed in: near the show, not lately,
// not for a horse that has just ridden it and anticipates.
func (c *choice) wholeTest() (Exercise, bool) {
	in := c.in
	if strings.TrimSpace(in.SheetText) == "" || in.SheetS <= 0 || c.l.easyOnly {
		return Exercise{}, false
	}
	e := Exercise{ID: "whole-test", Group: "lines", Title: "The whole test once", WholeTest: true, Level: Levels[min(c.level, len(Levels)-1)], Load: 3,
		Minutes: float64(int(in.SheetS/30)+2) / 2, Paces: []string{"walk", "trot"}, Needs: []string{"whole test"},
		Purpose: "Ride the sheet as at the show, without stopping.", Feel: "Prepare each thing before its letter; let go of what is over.", See: "Which places fail under way that worked alone."}
	if strings.Contains(lower(in.SheetText), "canter") {
		e.Paces = append(e.Paces, "canter")
	}
	week, since := 0, 99
	for _, w := range in.Horse.RecentWork {
		if w.WholeTests > 0 && w.DaysAgo <= 7 {
			week += w.WholeTests
			since = min(since, w.DaysAgo)
		}
	}
	r := lessonRules.WholeTest
	near := in.Prefer.WholeTest || in.DaysToShow != nil && *in.DaysToShow <= r.DaysBeforeShow
	if !near || week >= r.MostInWeek || since < r.FreeDaysSince || in.Horse.Anticipates && since < 99 {
		c.refused = append(c.refused, LeftOut{e.ID, e.Title, wholeTestRefused(near, week, since)})
		return Exercise{}, false
	}
	return e, true
}

func wholeTestRefused(near bool, week, since int) string {
	if !near {
		return fmt.Sprintf("whole tests are kept for the last %d days before a show", lessonRules.WholeTest.DaysBeforeShow)
	}
	return fmt.Sprintf("ridden %d times in the last week, last %d days ago: the horse learns the sequence and anticipates", week, since)
}
