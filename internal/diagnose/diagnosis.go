// Package diagnose says where marks go and why: the ledger of each movement, ranked causes
// with their evidence, and one ride against another. It alone hears all three voices.
package diagnose

// Version names the results of diagnosing.
const Version = 1

// The reaches of a loss.
const (
	Now       = "now"       // what better riding of the same horse recovers today
	Schooling = "schooling" // needs weeks of work
	Ceiling   = "ceiling"   // this horse's usual best for this kind; not charged to the ride
)

// Loss is one reason why a movement did not get a ten. Marks are in units of the mark
// (not weighted by the coefficient). JSON keys are the contract of `ride review`.
type Loss struct {
	Reason string  `json:"reason"`
	Marks  float64 `json:"marks"`
	Reach  string  `json:"reach"`
	// Percent is what it is worth in the final percentage; Evidence what shows it;
	// BeganIn the movement where a chain of losses started, 0 when in this one.
	Percent  float64  `json:"percent"`
	Evidence []string `json:"evidence,omitempty"`
	BeganIn  int      `json:"began_in,omitempty"`
}

// MovementLedger is where the marks of one movement went.
type MovementLedger struct {
	Number int
	Lost   []Loss
}

// Cause is a ranked explanation of the faults seen.
type Cause struct {
	Cause        string   `json:"cause"`
	Probability  float64  `json:"probability"`
	Evidence     []string `json:"evidence"`
	Against      []string `json:"against,omitempty"`
	MarksAtStake float64  `json:"marks_at_stake"`
	Try          string   `json:"try"`
}

// Diagnosis is what one ride says.
type Diagnosis struct {
	Ledger []MovementLedger
	Causes []Cause
	Notes  []string // what cannot be said and why
}
