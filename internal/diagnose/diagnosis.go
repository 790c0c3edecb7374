// Package diagnose says where marks go and why: the ledger of each movement, ranked causes
// with their evidence, and one ride against another. It alone hears all three voices.
package diagnose

import "ringcraft/internal/terms"

// Version names the results of diagnosing.
const Version = 2

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
	// Fault is the vocabulary's id when the reason is a fault; Estimate the usual cost of
	// that fault where no mark was given (Marks is 0 then: nothing is known to be lost).
	Fault    terms.Fault `json:"fault,omitempty"`
	Estimate float64     `json:"estimate,omitempty"`
	Source   string      `json:"source,omitempty"` // where the usual cost or cap comes from
}

// Worth returns the marks of the loss, or the estimate where no mark was given.
func (l Loss) Worth() float64 {
	if l.Marks == 0 {
		return l.Estimate
	}
	return l.Marks
}

// MovementLedger is where the marks of one movement went. With a mark the losses sum to
// ten minus the mean mark of the judges.
type MovementLedger struct {
	Number   int
	Mean     *float64 // mean mark of the judges, nil without marks
	Ceiling  float64  // the mark of this horse's best quarter for such a movement
	Ceilings string   // where that comes from
	Lost     []Loss
	// Charged is the sum of losses that began in this movement, here and later, without
	// the ceiling; marks times coefficient.
	Charged float64
}

// Cause is a ranked explanation of the faults seen.
type Cause struct {
	Cause        string   `json:"cause"`
	Probability  float64  `json:"probability"`
	Evidence     []string `json:"evidence"`
	Against      []string `json:"against,omitempty"`
	MarksAtStake float64  `json:"marks_at_stake"` // marks times coefficients
	Try          string   `json:"try"`
	// Group is the part of the training or of the rider it belongs to; Rival the cause that
	// Try tells it from; TellsBits the expected information of trying, in bits.
	Group     string  `json:"group,omitempty"`
	Rival     string  `json:"rival,omitempty"`
	TellsBits float64 `json:"tells_bits,omitempty"`
	Outcome   string  `json:"outcome,omitempty"` // how to read what happens
}

// Worth is what doing one kind of thing better brings in the final percentage.
type Worth struct {
	What    string  `json:"what"`
	Reach   string  `json:"reach"`
	Times   int     `json:"times"`
	Marks   float64 `json:"marks"` // marks times coefficients
	Percent float64 `json:"percent"`
}

// ZeroRisk is a way to a very low mark that this sheet holds.
type ZeroRisk struct {
	Number  int     `json:"number"`
	What    string  `json:"what"`
	Mark    float64 `json:"mark"`    // what it usually brings
	Percent float64 `json:"percent"` // what it costs against the horse's usual best
	Source  string  `json:"source"`
}

// Diagnosis is what one ride says.
type Diagnosis struct {
	Ledger []MovementLedger
	// Collectives are the marks for the whole ride, those that were given.
	Collectives []CollectiveLedger
	Causes      []Cause
	Worth       []Worth // largest first
	Risks       []ZeroRisk
	Notes       []string // what cannot be said and why, and contradictions
	Cautions    []string // where a vet, saddler or coach should look first
}
