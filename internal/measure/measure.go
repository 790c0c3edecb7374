// Package measure turns a ride aligned to its plan into numbers per movement, each with
// unit, doubt and verdict.
package measure

// Version names the results of measuring.
const Version = 5

// Verdicts that are not named faults.
const (
	OK         = "ok"
	CannotTell = "cannot tell"
)

// What a recording as a whole may lack: no fault of a movement, and said once for the ride.
const (
	LacksMotion    = "motion"    // an accelerometer's readings
	LacksGyroscope = "gyroscope" // a gyroscope's beside them
	LacksHeading   = "heading"   // where the body points
)

// Measure is one number of one movement. JSON keys are the contract of `ride review`.
// Value is nil when the recording cannot show it; then LimitedBy says why.
type Measure struct {
	What      string   `json:"what"`
	Value     *float64 `json:"value"`
	Unit      string   `json:"unit"`
	Sigma     *float64 `json:"sigma"`     // one standard deviation, in Unit
	Nominal   *float64 `json:"nominal"`   // the sheet's word
	Asked     *float64 `json:"asked"`     // what a correct ride measures
	Tolerance *float64 `json:"tolerance"` // what a judge can see; either side of Asked
	Verdict   string   `json:"verdict"`   // ok, a named fault, or cannot tell
	LimitedBy string   `json:"limited_by"`
	// Lacks names what the recording as a whole does not hold and this measure needs: one of the
	// Lacks constants, "" where it lacks nothing or the reason lies in this movement.
	Lacks string `json:"lacks,omitempty"`
	// AtS and AtM say where on the ride's clock and on the plan the number comes from.
	AtS *float64 `json:"at_s,omitempty"`
	AtM *float64 `json:"at_m,omitempty"`
	// FromS and ToS are the stretch of the ride, on its clock, whose fixes the number is made of.
	FromS *float64 `json:"from_s,omitempty"`
	ToS   *float64 `json:"to_s,omitempty"`
	// ToleranceSource says where the tolerance comes from.
	ToleranceSource string `json:"tolerance_source,omitempty"`
}

// Movement is the measures of one movement, one entry per What.
type Movement struct {
	Number   int
	Measures []Measure
}

// Set is the measures of a ride in riding order of the plan.
type Set []Movement

// Of returns the measures of a movement, nil when there are none.
func (s Set) Of(number int) []Measure {
	for _, m := range s {
		if m.Number == number {
			return m.Measures
		}
	}
	return nil
}
