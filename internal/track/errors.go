package track

import (
	"fmt"
	"strings"
)

// Error says what is wrong in a recording, where, and what is allowed there.
type Error struct {
	File    string // as the caller named it
	Line    int    // line of a text file or record of a binary one, 0 when unknown
	Column  string // name of the column or field, "" when it does not matter
	At      string // time on the file's clock as people read it, "" when unknown
	Message string // what is wrong
	Allowed string // what would be right
	Cause   error  // what the reader below said, nil when there is none
}

// Error returns the one-line text: file:line: message at time; allowed: ...
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d", e.Line)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if e.Column != "" {
		fmt.Fprintf(&b, "column %s: ", e.Column)
	}
	b.WriteString(e.Message)
	if e.At != "" {
		fmt.Fprintf(&b, " (at %s)", e.At)
	}
	if e.Allowed != "" {
		b.WriteString("; allowed: " + e.Allowed)
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

func atSeconds(t float64) string { return fmt.Sprintf("%.3f s", t) }

// clip shortens text from a file so that an error stays one readable line.
func clip(s string) string {
	const most = 40
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
