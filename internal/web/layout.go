package web

import (
	"fmt"
	"slices"

	"ringcraft/internal/logbook"
)

// errorView is a page that says what went wrong.
type errorView struct {
	page
	Message  string
	Problems []logbook.Problem
	SignIn   bool
}

// problemsOf are the problems of one severity, problemsBut those of every other.
func problemsOf(list []logbook.Problem, severity string) []logbook.Problem {
	return slices.DeleteFunc(slices.Clone(list), func(p logbook.Problem) bool { return string(p.Severity) != severity })
}

func problemsBut(list []logbook.Problem, severity string) []logbook.Problem {
	return slices.DeleteFunc(slices.Clone(list), func(p logbook.Problem) bool { return string(p.Severity) == severity })
}

// placeOf says where a problem is: line and column, or the time in a recording.
func placeOf(p logbook.Problem) string {
	s := p.File
	if p.Line > 0 {
		s = fmt.Sprintf("%s line %d", s, p.Line)
		if p.Column > 0 {
			s = fmt.Sprintf("%s, column %d", s, p.Column)
		}
	}
	if p.AtS != nil {
		s = fmt.Sprintf("%s at %.1f s", s, *p.AtS)
	}
	return s
}
