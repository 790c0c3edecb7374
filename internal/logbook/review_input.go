package logbook

import (
	"ringcraft/internal/diagnose"
	"ringcraft/internal/gait"
	"ringcraft/internal/judging"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// Given is one input of a review as it was given: a name for messages and its raw bytes.
// A nil *Given means that there is none.
type Given struct {
	Name string
	Data []byte
}

// ReviewInput is everything a review can be made from. Only Sheet is needed; whatever else
// is missing, the rest still works.
type ReviewInput struct {
	Sheet      Given
	Track      *Given
	Motion     *Given // accelerometer and gyroscope beside the positions, on the same clock
	Arena      *Given // surveyed letters
	Commentary *Given
	Marks      *Given
	Horse      *Given
	// Recorder is the class of `--recorder`, "" for unknown; About what else was said of the recording.
	Recorder string
	About    AboutTrack
	// Rules names the rule set; "" takes the sheet's own, then the club rules.
	Rules string
	// Simulated labels a recording that a simulator made.
	Simulated bool
	// Taps are starts of movements tapped by hand on the ride's clock, by number, used where
	// no recording gives them.
	Taps map[int]gait.Seconds
	// CommentaryOffsetS is the time on the commentary's clock that is 0 on the ride's clock,
	// nil when not known.
	CommentaryOffsetS *float64
	// Corrections are the trainer's words on the remarks of the commentary, oldest first.
	Corrections []Correction
	// History holds earlier rides of the combination, oldest first.
	History []diagnose.RideFacts
}

// ReviewResult is a review with all that it was made from. Parts that were not given or
// could not be read are nil; Problems says why.
type ReviewResult struct {
	Doc       *report.ReviewDoc
	Plan      *rideplan.Plan
	Ridden    *match.Ridden
	Measures  measure.Set
	Paces     []measure.PaceRidden
	Placed    *remarks.Placed
	Card      judging.Card
	Rules     *judging.Rules
	Diagnosis diagnose.Diagnosis
	Problems  []sheet.Problem
}
