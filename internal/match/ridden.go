// Package match places a recording in the arena and along the plan.
package match

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/strides"
)

// Version names the results of placing, smoothing and aligning.
const Version = 3

// Ridden is a recording in the arena frame, smoothed, and aligned to the plan.
type Ridden struct {
	Samples []Sample // smoothed, in time order, on the recording's clock
	// Fixes are the recorded positions in the arena frame, not smoothed: what measures are
	// fitted to, since their jitter is white.
	Fixes      []Fix
	Spans      []Span // one per movement of the plan, in riding order; missing movements are in Departures
	Placement  Placement
	Noise      Noise
	Departures []Departure
	HasHeading bool
	// Strides is what motion data show of paces and strides, on the recording's clock; nil
	// without motion data.
	Strides *strides.Result
	// Notes say, for people, what was assumed of the recording, left out of it or doubted: the importer's
	// words first, then those on its noise, its smoothing and its motion.
	Notes []string
}

// Sample is the smoothed state at one instant with its doubt.
type Sample struct {
	T gait.Seconds // on the recording's clock
	arena.Point
	V       arena.Point // velocity, m/s
	Heading arena.Angle // of the body, only when Ridden.HasHeading
	// PosSD and VelSD are the random one-axis standard deviations after smoothing; slow
	// wander and placement are in Noise and Placement because they are common to neighbours.
	PosSD, VelSD float64
	PlanM        arena.Metres // how far along the plan, NaN when off it
	Movement     int          // number, 0 when none
	Gap          bool         // bridged: no fix within the gap limit
}

// Fix is a recorded position placed in the arena and on the plan.
type Fix struct {
	T gait.Seconds
	arena.Point
	Heading    arena.Angle // of the body, valid with HasHeading
	HasHeading bool
	PlanM      arena.Metres // foot of the position on the plan, NaN when off it
	Movement   int          // number, 0 when none
	Outlier    bool         // stands out of its neighbours; not measured with
}

// Speed returns the speed in m/s.
func (s Sample) Speed() gait.Speed { return gait.Speed(s.V.Norm()) }

// Span is a movement on the recording's clock, with the doubt of its edges in seconds.
type Span struct {
	Movement   int
	Start, End gait.Seconds
	SD         gait.Seconds
	Source     string // "recording", "taps" or "nominal"
}

// ByRide is the Method of a placement that a ride gave itself.
const ByRide = "the ride itself"

// Placement says how the recording came into the arena frame.
type Placement struct {
	Method   string // "arena frame", "letters", "the ride itself"
	Rotation arena.Angle
	Shift    arena.Point
	Mirrored bool
	// ShiftSD and RotationSD are the doubt of the placement; CorrelatedSD is the riding
	// error swallowed when a ride placed itself (absolute places only). ShiftSD is then what the
	// recorder's slow error moved the fit by.
	ShiftSD      float64 // metres per axis
	RotationSD   arena.Angle
	CorrelatedSD float64 // metres per axis
	// Pivot is the arena point about which the doubt of the rotation turns.
	Pivot     arena.Point
	Residuals []Residual
	// Taken says what the fit took up of the errors it was made from; nil but ByRide.
	Taken *Taken
}

// SharedSD is the doubt in metres an axis that a place at time t shares with those around it: the
// placing and the recorder's slow error, without its jitter.
func (r *Ridden) SharedSD(t gait.Seconds, at arena.Point) float64 {
	p := r.Placement
	if p.Taken != nil {
		return math.Sqrt(p.Taken.placeVariance(float64(t), at, r.Noise.WanderSD))
	}
	turned := float64(p.RotationSD) * float64(at.Dist(p.Pivot))
	return math.Hypot(math.Hypot(p.ShiftSD, p.CorrelatedSD), math.Hypot(r.Noise.WanderSD, turned))
}

// Residual is how far a surveyed letter lies from where the arena has it, in metres.
type Residual struct {
	Letter string
	Metres float64
}

// Noise is the error model used, declared by class and estimated from the file.
type Noise struct {
	Class     string
	WhiteSD   float64 // metres per axis, fix to fix
	WanderSD  float64 // metres per axis, slow
	WanderTau gait.Seconds
	RateHz    float64
	// WanderLogSD is how sure the wander is: its standard deviation on a log scale.
	WanderLogSD float64
	LeverSD     float64 // doubt of where the recorder sits on the body, metres per axis
	LeverUp     float64 // its height above the ground in metres, 0 when that is not known
	// PairDistance is how far apart the two tags are, in metres, whose places give the headings; 0 where
	// headings were recorded as such. The slow error of either then turns the heading.
	PairDistance float64
}

// Departure is a place where the ride left the plan.
type Departure struct {
	Kind       string // "left out", "wrong turn", "ridden again", "stopped"
	Movement   int
	Start, End gait.Seconds
	Place      arena.Point
	Reason     string
}
