// Package track holds recorded positions and motion: import, own local frame, cleaning and
// smoothing. A recording knows nothing of the arena; its points are a type of their own.
package track

// Seconds is a time on the recording's own clock, from its first fix.
type Seconds float64

// Local is a point in the recording's own frame, in metres: east/north of the first fix for
// latitude and longitude, the file's own x/y otherwise. It is not an arena.Point on purpose.
type Local struct{ X, Y float64 }

// Frame says what the x and y of a recording mean.
type Frame string

// The frames of an imported recording.
const (
	// FrameArena is the arena frame of the CSV contract `t_s,x_m,y_m`.
	FrameArena Frame = "arena"
	// FrameGeo is east/north metres on the local tangent plane of WGS84 at Origin.
	FrameGeo Frame = "geographic"
	// FrameLocal is metres in axes of the recorder's own choice (may be mirrored).
	FrameLocal Frame = "local"
)

// Fix is one recorded position.
type Fix struct {
	T Seconds
	P Local
	// Heading of the body in radians, anticlockwise from +x of the frame; valid with HasHeading.
	Heading    float64
	HasHeading bool
	Line       int // line or record of the file
}

// Motion is one sample of an inertial sensor in its own axes.
type Motion struct {
	T                Seconds
	AccX, AccY, AccZ float64 // m/s2, gravity included as the file has it
	GyrX, GyrY, GyrZ float64 // rad/s, valid when the track has HasGyro
}

// LatLon is a WGS84 position in degrees.
type LatLon struct{ LatDeg, LonDeg float64 }

// Track is one imported recording, in time order.
type Track struct {
	Format  string // gpx, fit, nmea, csv
	Frame   Frame
	Origin  LatLon // of the tangent plane, FrameGeo only
	Fixes   []Fix
	Motion  []Motion
	HasGyro bool
	// ClockSD is the doubt of the motion's times against those of the positions; 0 where one device recorded both.
	ClockSD Seconds
	// PairWander is the slow error that two tags on one horse show by changing their distance,
	// metres per axis; 0 where there is no such pair.
	PairWander float64
	// PairDistance is how far the two tags of such a pair are apart, metres; 0 where there is none
	// and the headings, if any, were recorded as such.
	PairDistance float64
	// Unfixed is the share of the positions that the receiver itself says it had without fixed
	// carrier phase (NMEA GGA); 0 also where the file says nothing.
	Unfixed float64
	// Start is the wall clock of T = 0 as the file gives it, RFC 3339 in UTC, "" when it gives none.
	Start string
	// Notes are remarks of the importer for people (points dropped, segments joined ...).
	Notes []string
}

// Recorder classes of `--recorder`; each sets the doubt that the file itself cannot show.
const (
	ClassSurvey  = "survey"
	ClassUWB     = "uwb"
	ClassRTK     = "rtk"
	ClassSport   = "sport"
	ClassPhone   = "phone"
	ClassUnknown = "unknown"
)
