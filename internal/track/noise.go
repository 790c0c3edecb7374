package track

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"slices"
)

//go:embed noise.json
var noiseJSON []byte

// ClassFigures are the declared errors of one recorder class; Doubt is the factor by which a true
// device of the class may differ either way.
type ClassFigures struct {
	Class     string  `json:"class"`
	WhiteSD   float64 `json:"white_m"`
	WanderSD  float64 `json:"wander_m"`
	WanderTau Seconds `json:"wander_tau_s"`
	Doubt     float64 `json:"doubt"`
	Source    string  `json:"source"`
}

// Place is where the recorder sits: Forward of the rider's body along the horse and Up from the
// ground in metres, the doubt of the horizontal place, and how much it sways per axis with the horse.
type Place struct {
	Name    string  `json:"place"`
	Forward float64 `json:"forward_m"`
	Up      float64 `json:"up_m"`
	SD      float64 `json:"sd_m"`
	Sway    float64 `json:"sway_m"`
	Source  string  `json:"source"`
}

var noiseTable = loadNoise()

func loadNoise() (t struct {
	Classes []ClassFigures `json:"classes"`
	Places  []Place        `json:"places"`
}) {
	if err := json.Unmarshal(noiseJSON, &t); err != nil {
		panic(fmt.Sprintf("track: embedded noise.json: %v", err)) // impossible state: checked by test
	}
	return t
}

// Classes lists the recorder classes from the best to the worst.
func Classes() []ClassFigures { return slices.Clone(noiseTable.Classes) }

// Places lists where a recorder may sit.
func Places() []Place { return slices.Clone(noiseTable.Places) }

// ClassByName returns the figures of a class, or an error with the names allowed.
func ClassByName(name string) (ClassFigures, error) {
	var names []string
	for _, c := range noiseTable.Classes {
		if c.Class == name {
			return c, nil
		}
		names = append(names, c.Class)
	}
	return ClassFigures{}, fmt.Errorf("recorder class %q is not known; allowed: %s", name, listed(names))
}

// PlaceByName returns a place of the recorder, or an error with the names allowed.
func PlaceByName(name string) (Place, error) {
	var names []string
	for _, p := range noiseTable.Places {
		if p.Name == name {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Place{}, fmt.Errorf("place %q is not known; allowed: %s", name, listed(names))
}

// Noise is the error model of one recording, one axis at a time.
type Noise struct {
	Class     string
	WhiteSD   float64 // metres, fix to fix: what the smoother uses
	WanderSD  float64 // metres, slow and not seen by the smoother: to be added to every absolute place
	WanderTau Seconds // its correlation time
	RateHz    float64 // fixes a second (median)
	// DeclaredWhite is what the class says, EstimatedWhite what the file shows (0 when it cannot).
	DeclaredWhite, EstimatedWhite float64
	// WanderDoubt is the factor either way by which the true wander may differ.
	WanderDoubt float64
	Source      string
	Notes       []string
}

// fewest fixes for the file's own scatter to be believed.
const minForEstimate = 60

// fewUnfixed is the share of positions without fixed carrier phase that an RTK recording may hold.
const fewUnfixed = 0.05

// NoiseFor combines what the recorder's class declares with the scatter that the file shows.
// White noise comes from the file when it holds enough fixes (class when not), never below a
// tenth of the declared figure or 5 mm. An unknown class is taken as "unknown", with a note; a class
// with carrier phase as "sport" where the file says that the phase was not fixed.
//
// Wander is the declared one: positions alone cannot tell it from riding. Where two tags on one
// horse disagree by more than that, it is what they show.
func NoiseFor(class string, t *Track) Noise {
	c, err := ClassByName(class)
	var notes []string
	if err != nil {
		if class != "" {
			notes = append(notes, err.Error()+"; taken as unknown")
		}
		c, _ = ClassByName(ClassUnknown)
	}
	if (c.Class == ClassRTK || c.Class == ClassSurvey) && t.Unfixed > fewUnfixed {
		notes = append(notes, fmt.Sprintf("the receiver says that it had %.0f %% of the positions without fixed carrier phase: its doubt is taken as that of a %s receiver", 100*t.Unfixed, ClassSport))
		c, _ = ClassByName(ClassSport)
	}
	n := Noise{Class: c.Class, WhiteSD: c.WhiteSD, WanderSD: c.WanderSD, WanderTau: c.WanderTau, RateHz: t.RateHz(),
		DeclaredWhite: c.WhiteSD, WanderDoubt: c.Doubt, Source: c.Source, Notes: notes}
	if t.PairWander > n.WanderSD {
		n.Notes = append(n.Notes, fmt.Sprintf("the two tags of the horse drift against each other by %.2f m, more than a %s recorder should (%.2f m); that is taken for its slow error", t.PairWander, c.Class, n.WanderSD))
		n.WanderSD = t.PairWander
	}
	sd, used := WhiteNoise(t.Fixes)
	if used < minForEstimate {
		n.Notes = append(n.Notes, "too few fixes to see the recorder's scatter; the class's figure is used")
		return n
	}
	if n.RateHz < slowRate {
		sd = refineWhite(t, sd, c.WhiteSD)
	}
	n.EstimatedWhite = sd
	n.WhiteSD = max(sd, c.WhiteSD/10, 0.005)
	if sd > 3*c.WhiteSD {
		n.Notes = append(n.Notes, fmt.Sprintf("the file scatters by %.2f m from fix to fix, more than a %s recorder should (%.2f m)", sd, c.Class, c.WhiteSD))
	}
	return n
}

// RateHz returns the median rate of the fixes, 0 with fewer than two.
func (t *Track) RateHz() float64 {
	if len(t.Fixes) < 2 {
		return 0
	}
	d := make([]float64, len(t.Fixes)-1)
	for i := range d {
		d[i] = float64(t.Fixes[i+1].T - t.Fixes[i].T)
	}
	return 1 / median(d)
}

// WhiteNoise estimates the one-axis standard deviation from fix to fix out of third divided
// differences of four neighbours: a motion that is a cubic in time cancels, jittered times do no
// harm, and a robust scale (median of squares) leaves corners and outliers aside. used is
// the number of differences, 0 when there is nothing to go by.
//
// What remains of the motion is its third derivative: at 10 Hz a corner at 2 m/s3 adds 0.4 mm, at
// 1 Hz some 0.4 m.
func WhiteNoise(f []Fix) (sd float64, used int) {
	var sq []float64
	for i := 0; i+3 < len(f); i++ {
		if f[i+3].T-f[i].T > 6*Seconds(medianGapAround(f, i)) {
			continue // a gap inside
		}
		var w [4]float64
		norm := 0.0
		for a := range w {
			w[a] = 1
			for b := range w {
				if a != b {
					w[a] /= float64(f[i+a].T - f[i+b].T)
				}
			}
			norm += w[a] * w[a]
		}
		norm = math.Sqrt(norm)
		var x, y float64
		for a := range w {
			x += w[a] * f[i+a].P.X
			y += w[a] * f[i+a].P.Y
		}
		sq = append(sq, (x*x+y*y)/(norm*norm))
	}
	if len(sq) == 0 {
		return 0, 0
	}
	// two Gaussian axes: squares over variance are chi-squared with 2 degrees, median 2 ln 2
	return math.Sqrt(median(sq) / (2 * math.Ln2)), len(sq)
}

func medianGapAround(f []Fix, i int) float64 {
	a, b, c := float64(f[i+1].T-f[i].T), float64(f[i+2].T-f[i+1].T), float64(f[i+3].T-f[i+2].T)
	return max(min(a, b), min(max(a, b), c))
}

// median returns the middle value.
func median(list []float64) float64 {
	v := slices.Sorted(slices.Values(list))
	n := len(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}
