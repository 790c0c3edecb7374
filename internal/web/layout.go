package web

import (
	"fmt"

	"ringcraft/internal/logbook"
)

// errorView is a page that says what went wrong.
type errorView struct {
	page
	Message  string
	Problems []logbook.Problem
	SignIn   bool
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
