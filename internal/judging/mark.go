// Package judging holds marks, rule sets, totals, panels and ties. Marks are exact integers
// in tenths; the permitted step comes from the rule set.
package judging

import "fmt"

// Tenths is a mark in tenths: 65 is 6.5.
type Tenths int

// String gives the mark as scribes write it, always with one decimal.
func (t Tenths) String() string { return fmt.Sprintf("%d.%d", int(t)/10, int(t)%10) }

// Float returns the mark as a number, for statistics and JSON only; sums stay in tenths.
func (t Tenths) Float() float64 { return float64(t) / 10 }

// Mark is one judge's mark for one movement or collective.
type Mark struct {
	Movement   int    // number; 0 for a collective
	Collective string // name of the collective, "" for a movement
	Judge      string
	Place      string // where the judge sits, "" when not said
	Mark       Tenths
	Remark     string
	Line       int // line of the marks file, 0 when not from a file
}

// Card is all that was marked of one ride.
type Card struct {
	Marks  []Mark
	Errors []ErrorOfCourse
}

// ErrorOfCourse is one departure that the judge at C counted.
type ErrorOfCourse struct {
	Judge string
	Kind  string // kind of deduction in the rule set, "error" when plain
	Note  string
	Line  int
}
