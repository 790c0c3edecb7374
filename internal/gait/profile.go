package gait

// Profile is what is known of one horse's own movement. The zero value means a horse of
// the usual figures. JSON keys are the contract of `--horse F.json`.
type Profile struct {
	Name        string                     `json:"name,omitempty"`
	HeightM     float64                    `json:"height_m,omitempty"` // withers; scales strides when no own figures are given
	Pony        bool                       `json:"pony,omitempty"`
	NoseToBodyM float64                    `json:"nose_to_body_m,omitempty"` // rider's body to the horse's nose
	InsetM      *float64                   `json:"inset_m,omitempty"`        // rider's body to the boards on the track
	Varieties   map[Variety]ProfileFigures `json:"varieties,omitempty"`
}

// ProfileFigures are a horse's own numbers of one variety; zero fields are unknown.
type ProfileFigures struct {
	StrideM float64 `json:"stride_m,omitempty"`
	TempoHz float64 `json:"tempo_hz,omitempty"` // strides per second
}

const (
	// DefaultInset is how far inside the boards the rider's body runs on the track:
	// half a horse's width and a hand's breadth to spare (common practice, no source).
	DefaultInset = 0.8
	// DefaultNoseToBody is from the rider's body to the nose of an average horse on the
	// bit (common practice, no source).
	DefaultNoseToBody = 2.0
)
