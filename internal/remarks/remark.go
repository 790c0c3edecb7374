// Package remarks reads spoken commentary, cuts it into phases, ties each remark to its
// movement and names the faults, praise, aids and causes in it.
package remarks

import "ringcraft/internal/terms"

// Version names the results of placing remarks.
const Version = 1

// Cue is one piece of commentary as given: times on the commentary's clock, text unsplit.
type Cue struct {
	StartS, EndS float64
	Text         string
	Voice        string
	Line         int // line of the file
}

// Remark is a cue placed. Movement 0 means it belongs to no movement.
type Remark struct {
	AtS      float64 `json:"at_s"`
	EndS     float64 `json:"end_s"`
	Text     string  `json:"text"` // the whole cue as given
	Voice    string  `json:"voice,omitempty"`
	Movement int     `json:"-"`
	// Also is a second, neighbouring movement that the remark runs over, 0 when none.
	Also       int           `json:"also,omitempty"`
	Phase      string        `json:"phase,omitempty"` // kind of the phase it was spoken in
	Faults     []terms.Fault `json:"faults"`
	Praise     []terms.Fault `json:"praise,omitempty"`
	Aids       []terms.Fault `json:"aids,omitempty"`
	Causes     []terms.Fault `json:"causes,omitempty"`
	Confidence float64       `json:"confidence"`
	Doubtful   bool          `json:"doubtful,omitempty"`
	Why        string        `json:"why,omitempty"` // what tied it to its movement, in plain words
}

// The kinds of phase.
const (
	Before    = "before"
	Test      = "test"
	Between   = "between" // discussion
	Lesson    = "lesson"
	TestAgain = "test again"
)

// Phase is a stretch of a commentary.
type Phase struct {
	Kind       string  `json:"kind"` // before, test, between, lesson, test again
	StartS     float64 `json:"start_s"`
	EndS       float64 `json:"end_s"`
	Confidence float64 `json:"confidence"`
}

// Placed is a commentary tied to a plan. Every cue is in exactly one of Remarks and
// Elsewhere.
type Placed struct {
	Remarks   []Remark // of the first test, by time; Movement says where
	Elsewhere []Remark // all others, by time: they belong to no movement of the first test
	// Again are the remarks of the second test placed on its movements; they are in
	// Elsewhere too, so that nothing is lost where only one ride is shown.
	Again  []Remark
	Phases []Phase
	// StartS is where on the commentary's clock the test began (A), and its doubt.
	StartS, StartSD float64
	// AgainStartS is the start of the second test, when Again is not empty.
	AgainStartS float64
}
