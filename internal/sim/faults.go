package sim

import (
	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

// Faults state how a ride departs from its plan. The zero value is a ride exactly as
// planned. Movements are named by number; Nth counts the figures of the fault's kind within
// the movement from 0.
type Faults struct {
	Speed       map[gait.Variety]float64 // factor on the planned speed of a variety
	Circles     []CircleFault
	Lines       []LineFault
	Halts       []HaltFault
	Transitions []TransitionFault
	Dips        []DipFault
	ReinBacks   []ReinBackFault
	Loops       []LoopFault
	Turns       []TurnFault
	ZigZags     []ZigZagFault
	Changes     []CircleChangeFault
	AngleSway   float64 // degrees by which the body sways about its sideways angle, one standard deviation
	Askew       float64 // degrees by which the body sways about the line where it goes straight, one standard deviation
	Held        []HeldFault
	Arrivals    []ArrivalFault
	CornerCut   arena.Metres // every corner is cut by as much at its middle
	TurnLate    arena.Metres // the turn onto the first centre line is overshot to the B side by as much
	Wobble      Wobble       // what no rider is free of
	Pauses      []Pause      // standing still where nothing asks for it
	LeftOut     []int        // movements not ridden
	WrongTurns  []Excursion  // leaves the line, comes back to it
	Retries     []Excursion  // rides a small circle to try again
	Before      gait.Seconds // rides about outside before entering at A
	After       gait.Seconds // rides on after the last salute
	AngleScale  float64      // factor on sideways angles, 0 is 1
	LeverM      arena.Metres // the recorder sits that far ahead of the body
	Manner      Manner       // how this rider goes through bends and changes of pace
}

// Manner is a rider's own way of going, unlike the plan's. The zero value rides as planned.
type Manner struct {
	// Own says that the other fields count.
	Own bool
	// Bends is how much of the plan's slowing down in bends this rider does: 1 all of it, 0 none.
	Bends float64
	// ChangeM is over how many metres one pace becomes another, and Ease by which curve.
	ChangeM arena.Metres
	Ease    Ease
}

// Ease is a curve by which a horse changes its speed along the way, symmetrical about its middle.
type Ease int

// The curves: even along the way, with soft ends (half a cosine), and sudden in the middle with
// long tails (a logistic curve).
const (
	EaseEven Ease = iota
	EaseSoft
	EaseSudden
)

// CircleFault changes the size and shape of a circle or volte about its starting point.
type CircleFault struct {
	Movement, Nth int
	Scale         float64      // of the diameter; 0 is 1
	Egg           float64      // how much longer than wide, as a share of the radius
	Along         arena.Metres // the whole circle lies so much further along the line it starts from
}

// LineFault shifts a straight line to its left, and lets it drift from minus to plus half of
// Drift over its length.
type LineFault struct {
	Movement, Nth int
	Left, Drift   arena.Metres
}

// HaltFault moves a halt past its place (negative: early) and changes how long it is held.
type HaltFault struct {
	Movement, Nth int
	Late          arena.Metres
	Longer        gait.Seconds
}

// TransitionFault moves a change of pace past its place (negative: early).
type TransitionFault struct {
	Movement, Nth int
	Late          arena.Metres
}

// ReinBackFault scales the distance reined back, leads it to the side and begins it with a
// step forward.
type ReinBackFault struct {
	Movement, Nth int
	Scale         float64      // 0 is 1
	Sideways      arena.Metres // to the left, from standing to standing
	Forward       arena.Metres // before going back
}

// ZigZagFault moves the turning points of a zig-zag, or of two works to the side that follow each
// other to opposite hands.
type ZigZagFault struct {
	Movement, Nth int            // Nth zig-zag; of two works to the side, the first of the two
	Wider         []arena.Metres // by so much further to its side, for each turning point
	Late          []arena.Metres // by so much further along the arena, for each turning point
	Straight      arena.Metres   // ridden straight on between the two sides, at every turning point
	Bow           arena.Metres   // by which every way to the side is bowed
}

// CircleChangeFault changes the sizes of the two half circles of a change through the circle
// (each about its beginning), or of the second circle of a change from circle to circle, and moves
// the line over the middle towards the second.
type CircleChangeFault struct {
	Movement, Nth int
	First, Second float64      // of the diameter; 0 is 1
	Past          arena.Metres // towards the second, over six metres either side
	Late          arena.Metres // circle to circle: the new circle lies so much further along
}

// TurnFault makes a turn on the haunches, on the forehand or a pirouette larger, longer and further.
type TurnFault struct {
	Movement, Nth int
	Further       float64      // degrees by which it goes on turning, given back within two metres after it
	Size          arena.Metres // diameter of the circle of the haunches (forelegs); 0: the rider's place stays
	Longer        gait.Seconds
	Behind        arena.Metres // from the body to the haunches, 0 is 0.7; to the forelegs 0.55
	Uneven        float64      // share by which the turning is quicker at first (-) or in the middle (+)
}

// LoopFault scales loop Loop (from 0) of a serpentine or a shallow loop in its depth.
type LoopFault struct {
	Movement, Nth, Loop int
	Scale               float64
}

// HeldFault gives up a medium, lengthened or extended pace after Share of its distance.
type HeldFault struct {
	Movement, Nth int
	Share         float64 // of the way that it was held
	Gain          float64 // of the planned gain in speed that was shown, 0 is 1
}

// ArrivalFault lets a half-pass or leg-yield arrive past its letter.
type ArrivalFault struct {
	Movement, Nth int
	Late          arena.Metres
}

// Pause is a standstill at a metre of the plan.
type Pause struct {
	AtM arena.Metres
	For gait.Seconds
}

// Excursion leaves the plan at a metre of it and comes back there.
type Excursion struct {
	AtM    arena.Metres
	Radius arena.Metres // of the small circle of a retry; how far out a wrong turn goes
	Left   bool
}

// Wobble is how a line and a speed vary without being a fault.
type Wobble struct {
	LineSD arena.Metres // sideways, one standard deviation
	LineM  arena.Metres // over which it changes
	Speed  float64      // share of the speed
}
