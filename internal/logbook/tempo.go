package logbook

import (
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
)

// Tempo is the tempo over a ride: points once a second, none where no steady strides were counted.
type Tempo struct {
	Motion bool         `json:"motion"` // motion was recorded beside the places
	Points []TempoPoint `json:"points"`
}

// TempoPoint is the tempo around one instant of the ride's clock.
type TempoPoint struct {
	T         float64 `json:"t"` // s
	PerMinute float64 `json:"v"` // strides a minute
	Doubt     float64 `json:"d"` // one standard deviation of it
	Pace      string  `json:"p"`
}

// tempoEvery is the spacing of the shown tempo in seconds.
const tempoEvery = 1

// unsteady is the doubt of a point, as a share of it, from which it is not shown: strides of such
// spread are no tempo.
const unsteady = 0.1

func tempoOf(r *match.Ridden) Tempo {
	if r == nil || r.Strides == nil {
		return Tempo{}
	}
	out := Tempo{Motion: true}
	for _, p := range measure.TempoSeries(r, tempoEvery) {
		if p.Sigma > unsteady*p.PerMinute {
			continue
		}
		out.Points = append(out.Points, TempoPoint{T: cents(float64(p.T)), PerMinute: cents(p.PerMinute), Doubt: cents(p.Sigma), Pace: string(p.Pace)})
	}
	return out
}

// TempoOf gives the strides a minute of a horse in each variety of pace: its own where its file says
// so, else the usual ones; 0 in halt and where nothing is known.
func TempoOf(h Horse) func(gait.Variety) float64 {
	horse, err := horseOf(Pair{Horse: h})
	profile := horse.Profile
	if err != nil {
		profile = gait.Profile{} // the horse's page says what is wrong with its file
	}
	known := map[gait.Variety]float64{}
	return func(v gait.Variety) float64 {
		if known[v] == 0 {
			if f, ok := profile.Figures(v); ok && f.StrideM > 0 {
				known[v] = 60 * float64(f.Speed) / f.StrideM
			}
		}
		return known[v]
	}
}
