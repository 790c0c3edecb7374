// Package terms holds the trade's shared nouns as data: kinds of movement, fault words and
// the training scale. Words that a trainer may want to change live in the embedded files.
package terms

// Kind names a kind of movement or figure; it is stable and appears in data files.
type Kind string

// The kinds that the compiler gives to parts of a movement.
const (
	Entry           Kind = "entry" // A to the first halt or track on the centre line
	CentreLine      Kind = "centre line"
	Halt            Kind = "halt"
	Salute          Kind = "salute"
	Track           Kind = "track" // a long or short side on the track
	Corner          Kind = "corner"
	TurnAcross      Kind = "turn across" // E-B, B-E or from any side letter
	Straight        Kind = "straight"    // a straight line not on the track (quarter line ...)
	Diagonal        Kind = "diagonal"
	Circle          Kind = "circle" // 12 m and more
	Volte           Kind = "volte"  // 6 to 10 m
	HalfCircle      Kind = "half circle"
	FigureEight     Kind = "figure of eight"
	Serpentine      Kind = "serpentine"
	Loop            Kind = "loop" // shallow loop
	ChangeInCircle  Kind = "change through the circle"
	LegYield        Kind = "leg-yield"
	ShoulderIn      Kind = "shoulder-in"
	ShoulderOut     Kind = "shoulder-out"
	Travers         Kind = "travers"
	Renvers         Kind = "renvers"
	HalfPass        Kind = "half-pass"
	ZigZag          Kind = "zig-zag"
	TurnOnHaunches  Kind = "turn on the haunches"
	TurnOnForehand  Kind = "turn on the forehand"
	WalkPirouette   Kind = "walk pirouette"
	CanterPirouette Kind = "canter pirouette"
	ReinBack        Kind = "rein-back"
	Transition      Kind = "transition"
	SimpleChange    Kind = "simple change"
	FlyingChange    Kind = "flying change"
	ChangeSeries    Kind = "series of changes"
	CounterCanter   Kind = "counter-canter"
	Stretch         Kind = "stretching"
	GiveRetake      Kind = "give and retake"
	Lengthened      Kind = "lengthened strides"
	MediumPace      Kind = "medium pace"
	ExtendedPace    Kind = "extended pace"
	CollectedWalk   Kind = "collected walk"
	MediumWalk      Kind = "medium walk"
	FreeWalk        Kind = "free walk"
	ExtendedWalk    Kind = "extended walk"
	Piaffe          Kind = "piaffe"
	Passage         Kind = "passage"
	Pace            Kind = "pace" // plain riding forward in a pace
)

// Kinds returns every kind that the compiler gives, in the order above.
func Kinds() []Kind {
	return []Kind{
		Entry, CentreLine, Halt, Salute, Track, Corner, TurnAcross, Straight, Diagonal, Circle, Volte,
		HalfCircle, FigureEight, Serpentine, Loop, ChangeInCircle, LegYield, ShoulderIn, ShoulderOut,
		Travers, Renvers, HalfPass, ZigZag, TurnOnHaunches, TurnOnForehand, WalkPirouette, CanterPirouette, ReinBack,
		Transition, SimpleChange, FlyingChange, ChangeSeries, CounterCanter, Stretch, GiveRetake,
		Lengthened, MediumPace, ExtendedPace, CollectedWalk, MediumWalk, FreeWalk, ExtendedWalk, Piaffe,
		Passage, Pace,
	}
}

// Fault is the stable id of a fault, praise, aid or cause word in the vocabulary files,
// for example "not square" or "late at the letter".
type Fault string
