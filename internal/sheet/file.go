package sheet

// File is a parsed sheet. Text is kept as typed; Acts are how it was understood.
type File struct {
	Path        string
	Headers     []Header
	Movements   []Movement
	Collectives []Collective
	Comments    []Comment
	Problems    []Problem
}

// Header is one "key: value" line before or between the movements.
type Header struct {
	Pos
	Key   string // canonical key, for example "arena"
	Value string // as typed, trimmed
}

// Collective is a mark for the whole ride: "collective: Rider x2".
type Collective struct {
	Pos
	Name        string
	Coefficient int
}

// Comment is the text after a "#", kept for printing.
type Comment struct {
	Pos
	Text string
}

// Movement is one numbered box; Parts are its lines.
type Movement struct {
	Pos
	Number      int
	Coefficient int // 1 when the sheet gives none
	MaxMark     int // 10 when the sheet gives none
	Parts       []Part
}

// Part is one line of a movement.
type Part struct {
	Pos
	Letters   string // as typed, "" when the line has none
	Text      string // as typed
	Directive string // what the judge looks for, kept as text
	Acts      []Act
}

// PlaceKind says how a place is named.
type PlaceKind string

// The ways a place is named.
const (
	At        PlaceKind = "at"
	Route     PlaceKind = "route" // from letter to letter
	Between   PlaceKind = "between"
	Before    PlaceKind = "before"
	After     PlaceKind = "after"
	Near      PlaceKind = "near"
	Towards   PlaceKind = "towards"
	Over      PlaceKind = "over"
	EachCross PlaceKind = "each crossing"
	Portion   PlaceKind = "portion" // a part of the figure, Fraction of its length
)

// Place is where an act happens: letters, or a named line, or a part of a figure.
type Place struct {
	Pos
	Kind     PlaceKind
	Letters  []string
	Line     string // "centre line", "quarter line", "track", "diagonal" ... when no letter names it
	Fraction float64
}

// Act is one thing asked, with what the wording says of it. Fields not said are zero.
type Act struct {
	Pos             // of its head word
	Width   int     // characters from the first to the last word of the act
	Kind    string  // the vocabulary's value: "circle", "pace", "halt", ...
	Pace    string  // walk, trot, canter
	Form    string  // collected, working, ...
	Variety string  // a whole variety such as "free walk"
	Hand    string  // left, right
	Lead    string  // canter lead when named as such
	EndHand string  // "finishing on the left rein"
	SizeM   float64 // diameter, depth of a loop or distance in metres
	Count   int     // steps, strides, loops, changes
	CountTo int     // upper end of "4-6 steps"
	Unit    string  // of Count
	List    []int   // "3-6-6-6-3" strides of a zig-zag
	Every   int     // changes every n-th stride
	Seconds float64
	Degrees float64
	Frac    float64         // half, quarter, full
	Loop    int             // the loop of a serpentine that this is asked on, from 1
	At      *Place          // where it happens or starts
	To      *Place          // where it leads
	Then    bool            // wording says it follows the figure before
	Quals   map[string]bool // "progressive", "through walk", "some", ...
}

// Is reports whether the wording carries the qualifier q.
func (a Act) Is(q string) bool { return a.Quals[q] }

// Header returns the value of a header and whether the sheet has it.
func (f *File) Header(key string) (Header, bool) {
	for _, h := range f.Headers {
		if h.Key == key {
			return h, true
		}
	}
	return Header{}, false
}
