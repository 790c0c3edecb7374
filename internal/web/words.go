package web

import (
	"math"
	"strings"

	"ringcraft/internal/logbook"
)

// combinationFacts says a combination in one line.
func combinationFacts(p logbook.Pair) string {
	var out []string
	if p.Level != "" {
		out = append(out, p.Level)
	}
	if p.Yard.Name != "" {
		out = append(out, p.Yard.Name)
	}
	if p.Rider.Minor {
		out = append(out, "under age")
	}
	return strings.Join(out, ", ")
}

// rideKind says what a ride was: "training at home, 3 May 2026, recorder rtk".
func rideKind(r logbook.Ride) string {
	out := string(r.Kind)
	if r.Kind == logbook.Show {
		out = "at a show"
	}
	if r.Place != "" {
		out += ", " + r.Place
	}
	out += ", " + r.Date.Words()
	if _, ok := r.File(logbook.RoleTrack); !ok {
		out += ", no recording"
	}
	return out
}

func markedBy(r logbook.Ride) string {
	if r.MarkedBy == "" {
		return "somebody"
	}
	return r.MarkedBy
}

func lessonState(l logbook.Lesson) string {
	switch {
	case !l.Ended.IsZero():
		return "taught"
	case !l.Started.IsZero():
		return "under way"
	}
	return "planned"
}

func joined(list []string) string {
	if len(list) == 0 {
		return "nothing yet"
	}
	return strings.Join(list, "; ")
}

func hypot(v ...float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum)
}
