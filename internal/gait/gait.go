// Package gait holds paces and their varieties, with speed, stride length and stride rate
// and the source of each figure, and a horse's own profile that rescales them.
package gait

// Seconds is a duration or a time on a clock that its owner names.
type Seconds float64

// Speed is in metres per second.
type Speed float64

// Pace is one of the ways a horse moves.
type Pace string

// The paces. Piaffe and passage are varieties of trot; rein-back is a pace of its own here
// because it has its own direction, beat and step length.
const (
	Halt     Pace = "halt"
	Walk     Pace = "walk"
	Trot     Pace = "trot"
	Canter   Pace = "canter"
	ReinBack Pace = "rein-back"
)

// Variety names a pace with its form as the trade says it, for example "working trot".
// The zero value means not stated. The known names are the keys of varieties.json.
type Variety string

// Names used in code; the full list is data (varieties.json).
const (
	HaltVariety    Variety = "halt"
	ReinBackVar    Variety = "rein-back"
	CollectedWalk  Variety = "collected walk"
	MediumWalk     Variety = "medium walk"
	ExtendedWalk   Variety = "extended walk"
	FreeWalk       Variety = "free walk"
	CollectedTrot  Variety = "collected trot"
	WorkingTrot    Variety = "working trot"
	LengthenedTrot Variety = "lengthened trot"
	MediumTrot     Variety = "medium trot"
	ExtendedTrot   Variety = "extended trot"
	Passage        Variety = "passage"
	Piaffe         Variety = "piaffe"
	CollectedCant  Variety = "collected canter"
	WorkingCant    Variety = "working canter"
	LengthenedCant Variety = "lengthened canter"
	MediumCant     Variety = "medium canter"
	ExtendedCant   Variety = "extended canter"
)
