package report

import (
	"fmt"
	"strings"
)

// DepartureRow is one line about where the ride left the plan: a departure, or movements that were
// left out one after another for one reason.
type DepartureRow struct {
	ReviewDeparture
	Last int // the last of the movements, the same as the first for one
}

// DepartureRows joins movements that were left out one after another for the same reason, so that a
// ride that ends early is one line and not ten.
func DepartureRows(ds []ReviewDeparture) []DepartureRow {
	var out []DepartureRow
	for _, d := range ds {
		if k := len(out) - 1; k >= 0 && d.Kind == out[k].Kind && d.Movement == out[k].Last+1 && leftOutWhy(d) != "" && leftOutWhy(d) == leftOutWhy(out[k].ReviewDeparture) {
			out[k].Last, out[k].EndS = d.Movement, d.EndS
			continue
		}
		out = append(out, DepartureRow{d, d.Movement})
	}
	return out
}

// leftOutWhy is why a movement was not ridden, without its number; "" for other departures.
func leftOutWhy(d ReviewDeparture) string {
	why, ok := strings.CutPrefix(d.Reason, fmt.Sprintf("movement %d was not ridden: ", d.Movement))
	if !ok {
		return ""
	}
	return why
}

// Words is what happened and why, without its time: "left out: movements 14 to 20 were not ridden: the ride ends before the test does".
func (r DepartureRow) Words() string {
	if r.Last == r.Movement {
		return r.Kind + ": " + r.Reason
	}
	between := "to"
	if r.Last == r.Movement+1 {
		between = "and"
	}
	return fmt.Sprintf("%s: movements %d %s %d were not ridden: %s", r.Kind, r.Movement, between, r.Last, leftOutWhy(r.ReviewDeparture))
}
