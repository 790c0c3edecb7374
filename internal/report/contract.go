// Package report makes what people take away: the review, lesson and comparison as HTML,
// PDF and JSON, the caller's script, the calendar.
package report

import (
	"ringcraft/internal/diagnose"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/sheet"
)

// ReviewDoc is the JSON of `ride review` (docs/JSON.md).
type ReviewDoc struct {
	Schema    string           `json:"schema"`     // "ringcraft.review/1"
	Sheet     string           `json:"sheet"`      // name of the sheet
	SheetText string           `json:"sheet_text"` // as given, so that a review can be planned from alone
	Simulated bool             `json:"simulated,omitempty"`
	Rules     string           `json:"rules"`
	Movements []ReviewMovement `json:"movements"`
	Phases    []remarks.Phase  `json:"phases"`
	Elsewhere []remarks.Remark `json:"elsewhere"`
	// Collectives are the marks for the whole ride, split like those of the movements.
	Collectives []ReviewCollective `json:"collectives"`
	Total       *ReviewTotal       `json:"total"` // null without marks
	Causes      []diagnose.Cause   `json:"causes"`
	Recording   *ReviewRecording   `json:"recording"` // null without a recording
	// Paces are the varieties of walk, trot and canter over the whole ride, in the order of the sheet.
	Paces      []measure.PaceRidden `json:"paces"`
	Departures []ReviewDeparture    `json:"departures"`
	Notes      []string             `json:"notes"`
	Cautions   []string             `json:"cautions"`
	Problems   []sheet.Problem      `json:"problems"`
}

// ReviewMovement is one movement of a review. Times are on the ride's clock.
type ReviewMovement struct {
	Number      int               `json:"number"`
	Letters     string            `json:"letters"`
	Text        string            `json:"text"`
	Coefficient int               `json:"coefficient"`
	StartS      *float64          `json:"start_s"` // null where the movement was not found
	EndS        *float64          `json:"end_s"`
	SpanSource  string            `json:"span_source"` // recording, taps, nominal
	Kinds       []string          `json:"kinds"`
	Marks       []ReviewMark      `json:"marks"`
	Measures    []measure.Measure `json:"measures"`
	Remarks     []remarks.Remark  `json:"remarks"`
	Lost        []diagnose.Loss   `json:"lost"`
}

// ReviewMark is one judge's mark.
type ReviewMark struct {
	Judge  string  `json:"judge"`
	Place  string  `json:"place"`
	Mark   float64 `json:"mark"`
	Remark string  `json:"remark,omitempty"`
}

// ReviewCollective is one mark for the whole ride. How much each reason weighed in it is a guess,
// wider than in a movement.
type ReviewCollective struct {
	Name        string          `json:"name"`
	Coefficient int             `json:"coefficient"`
	Marks       []ReviewMark    `json:"marks"`
	Lost        []diagnose.Loss `json:"lost"`
}

// ReviewTotal is the score of a ride: mean over judges.
type ReviewTotal struct {
	Points float64 `json:"points"` // mean of the judges' points
	Of     int     `json:"of"`
	// MarkedOf is the most points of what was marked (mean over judges), where marks are missing: the
	// percent is of that. 0 when everything was marked.
	MarkedOf float64 `json:"marked_of,omitempty"`
	Percent  float64 `json:"percent"`
	// PercentText is the percent with the decimals of the rule set, rounded half up from the exact
	// sum; PercentWords says it.
	PercentText string        `json:"percent_text,omitempty"`
	Judges      []ReviewJudge `json:"judges"`
	// Agree says how alike the judges marked; null for one judge or few movements.
	Agree      *JudgesAgree `json:"agree,omitempty"`
	Eliminated bool         `json:"eliminated,omitempty"`
	Why        []string     `json:"why,omitempty"`
}

// ReviewJudge is one judge's score.
type ReviewJudge struct {
	Judge       string         `json:"judge"`
	Place       string         `json:"place"`
	Points      float64        `json:"points"`
	Percent     float64        `json:"percent"`
	Missing     []string       `json:"missing,omitempty"` // movements and collectives without a mark
	Collectives []ReviewMarkOf `json:"collectives,omitempty"`
}

// ReviewMarkOf is a collective mark.
type ReviewMarkOf struct {
	Name string  `json:"name"`
	Mark float64 `json:"mark"`
}

// ReviewRecording says how the recording was placed and how far it can be trusted.
type ReviewRecording struct {
	Class         string  `json:"class"`
	Placement     string  `json:"placement"`
	ShiftSDM      float64 `json:"shift_sd_m"`
	RotationSDDeg float64 `json:"rotation_sd_deg"`
	CorrelatedSDM float64 `json:"correlated_sd_m"`
	// SharedSDM is the doubt of a place by placing and slow error together, the root mean square over
	// the ride. A ride that placed itself followed its slow error: less is left than the parts have.
	SharedSDM  float64          `json:"shared_sd_m"`
	WhiteSDM   float64          `json:"white_sd_m"`
	WanderSDM  float64          `json:"wander_sd_m"`
	RateHz     float64          `json:"rate_hz"`
	HasHeading bool             `json:"has_heading"`
	Residuals  []ReviewResidual `json:"residuals,omitempty"`
	// Notes are what was assumed of the recording, left out of it or doubted.
	Notes []string `json:"notes,omitempty"`
}

// ReviewResidual is how far a surveyed letter lies from its place.
type ReviewResidual struct {
	Letter string  `json:"letter"`
	Metres float64 `json:"metres"`
}

// ReviewDeparture is a place where the ride left the plan.
type ReviewDeparture struct {
	Kind     string  `json:"kind"`
	Movement int     `json:"movement"`
	StartS   float64 `json:"start_s"`
	EndS     float64 `json:"end_s"`
	XM       float64 `json:"x_m"`
	YM       float64 `json:"y_m"`
	Reason   string  `json:"reason"`
}
