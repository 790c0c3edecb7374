// Package sheet is the language of test sheets and exercises: scan, parse, tree, print and
// diagnostics. It knows words and positions; what they mean on the ground is rideplan's.
package sheet

import (
	"fmt"
	"strings"
)

// Severity says how bad a problem is; only errors stop a command with exit 1.
type Severity string

// The severities of the JSON contract.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
	Note    Severity = "note"
)

// Pos is a place in a file: line and column, both from 1; column counts characters.
type Pos struct {
	Line   int `json:"line"`
	Column int `json:"column"`
}

// Problem is one diagnostic: what was wrong, where, what is allowed and the nearest word.
type Problem struct {
	File string `json:"file,omitempty"`
	Pos
	Severity   Severity `json:"severity"`
	Message    string   `json:"message"`
	Suggestion string   `json:"suggestion"`
	// Also points at the other place involved in a contradiction.
	Also *Pos `json:"also,omitempty"`
	// AtS is the time of a problem in a recording or commentary, in seconds on its own clock.
	AtS *float64 `json:"at_s,omitempty"`
}

// String gives the one line shown to people: file:line:column: severity: message. Parts that
// do not apply (a file as a whole, a place in time) are left out.
func (p Problem) String() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File + ":")
	}
	if p.Line > 0 {
		fmt.Fprintf(&b, "%d:", p.Line)
		if p.Column > 0 {
			fmt.Fprintf(&b, "%d:", p.Column)
		}
	}
	if p.AtS != nil {
		fmt.Fprintf(&b, " at %.2f s:", *p.AtS)
	}
	if b.Len() > 0 {
		b.WriteByte(' ')
	}
	fmt.Fprintf(&b, "%s: %s", p.Severity, p.Message)
	if p.Suggestion != "" {
		b.WriteString(" (" + p.Suggestion + ")")
	}
	if p.Also != nil {
		fmt.Fprintf(&b, " [see also %d:%d]", p.Also.Line, p.Also.Column)
	}
	return b.String()
}

// HasErrors reports whether any problem is an error.
func HasErrors(ps []Problem) bool {
	for _, p := range ps {
		if p.Severity == Error {
			return true
		}
	}
	return false
}
