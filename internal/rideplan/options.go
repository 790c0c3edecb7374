package rideplan

import (
	"ringcraft/internal/gait"
)

// Options are what the compiler needs besides the sheet.
type Options struct {
	Horse gait.Profile // zero value: a horse of the usual figures
	// Inset overrides the rider's distance from the boards, in metres; nil: the horse's own
	// or gait.DefaultInset. Closed forms are tested at 0.
	Inset *float64
	File  string // name used in problems
}
