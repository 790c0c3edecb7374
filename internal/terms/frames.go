package terms

// Frames say how a fault is said without a phrase of its own: a quality and its direction.
type Frames struct {
	Markers  map[string][]string `json:"markers"`  // words that give the direction
	Concepts []Concept           `json:"concepts"` // in order of preference
}

// Concept is a quality of the ride that there can be too little or too much of. The fields
// are explained in words/frames.json.
type Concept struct {
	ID              string   `json:"id"`
	Noun            []string `json:"noun"`
	High            []string `json:"high"`
	Low             []string `json:"low"`
	With            []string `json:"with"`
	Little          []Fault  `json:"little"`
	Much            []Fault  `json:"much"`
	Varies          []Fault  `json:"varies"`
	BareHigh        bool     `json:"bare_high"`        // a high word alone is too much already
	ComparativeOnly bool     `json:"comparative_only"` // only "later", "sooner": the plain words have phrases
	MoreOnly        bool     `json:"more_only"`        // only asking for more of it counts
	Special         bool     `json:"special"`          // only where the movement is one of the fault's own
	LowByMore       bool     `json:"low_by_more"`      // the low word alone says nothing; asked for, it means too much
	Rider           bool     `json:"rider"`            // of the rider, not the horse
}
