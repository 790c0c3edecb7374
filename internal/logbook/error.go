package logbook

import (
	"errors"
	"fmt"

	"ringcraft/internal/sheet"
)

// Code says what kind of trouble an error is; the web maps it to a status, the command line to
// an exit code.
type Code string

// The codes.
const (
	Invalid  Code = "invalid"   // what was given is wrong; the message says what is allowed
	NotFound Code = "not found" // there is no such record
	Conflict Code = "conflict"  // it is there already, or was changed meanwhile
	Refused  Code = "refused"   // not allowed as things stand (no consent, ride closed)
	TooLarge Code = "too large" // over a stated limit
	Damaged  Code = "damaged"   // stored bytes are not what was stored
	Busy     Code = "busy"      // locked by another process, disk full: try again when the cause is gone
	Newer    Code = "newer"     // the store was made by a newer program
	Internal Code = "internal"  // a fault of the program or the machine
)

// Error is trouble told to people: a code for programs and a sentence for the trainer.
// Problems holds positioned diagnostics when the input had several.
type Error struct {
	Code     Code
	Message  string
	Problems []sheet.Problem
	Cause    error // for the log; not shown
}

func (e *Error) Error() string {
	if e.Cause != nil {
		return e.Message + ": " + e.Cause.Error()
	}
	return e.Message
}

func (e *Error) Unwrap() error { return e.Cause }

// Errorf makes an Error without a cause.
func Errorf(code Code, format string, args ...any) error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// Wrap gives a cause its code and the sentence to show.
func Wrap(code Code, cause error, format string, args ...any) error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...), Cause: cause}
}

// CodeOf returns the code of an error, Internal when it carries none, "" for nil.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// MessageOf returns the sentence to show people; an error that carries none gets a neutral one,
// so that no path or query of the machine reaches a page.
func MessageOf(err error) string {
	var e *Error
	if errors.As(err, &e) {
		return e.Message
	}
	return "Something went wrong inside Ringcraft; nothing was changed. The log says more."
}

// ProblemsOf returns the positioned diagnostics of an error, nil when it has none.
func ProblemsOf(err error) []sheet.Problem {
	var e *Error
	if errors.As(err, &e) {
		return e.Problems
	}
	return nil
}

// inputError bundles the problems of given input; nil when none of them is an error.
func inputError(what string, ps []sheet.Problem) error {
	if !sheet.HasErrors(ps) {
		return nil
	}
	n := 0
	for _, p := range ps {
		if p.Severity == sheet.Error {
			n++
		}
	}
	msg := fmt.Sprintf("%s has an error; nothing was stored", what)
	if n > 1 {
		msg = fmt.Sprintf("%s has %d errors; nothing was stored", what, n)
	}
	return &Error{Code: Invalid, Message: msg, Problems: ps}
}
