package measure

import (
	"math"
	"sort"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/strides"
)

// TempoPoint is the tempo around one instant of the recording's clock.
type TempoPoint struct {
	T         gait.Seconds
	Pace      gait.Pace
	PerMinute float64 // strides a minute, the mean of the strides around T
	Sigma     float64 // one standard deviation of PerMinute
}

// tempoOver is how many strides make a point of the series: fewer are as unsteady as the
// counting, more hide a hurried half of a long side.
const tempoOver = 5

// TempoSeries is the tempo once every so many seconds, from motion data, in time order. Where
// no strides were counted (halts, no steady rhythm, stretches of fewer than five strides)
// there are no points; without motion data there are none at all.
func TempoSeries(rec *match.Ridden, every gait.Seconds) []TempoPoint {
	if rec == nil || rec.Strides == nil || every <= 0 {
		return nil
	}
	var out []TempoPoint
	for _, s := range rec.Strides.Spans {
		if len(s.Strides) < tempoOver {
			continue
		}
		last := s.Strides[len(s.Strides)-1]
		first := math.Ceil(float64(s.Strides[0].T / strides.Seconds(every)))
		for k := first; k*float64(every) <= float64(last.T+last.Duration); k++ {
			t := gait.Seconds(k * float64(every))
			rate, sd := tempoAt(s.Strides, float64(t))
			out = append(out, TempoPoint{T: t, Pace: s.Pace, PerMinute: rate, Sigma: sd})
		}
	}
	return out
}

// tempoAt is the strides a minute around a time and their doubt: the spread of the strides
// taken, which counts a stride cut wrongly too, and what the clock of the sensor may be off.
func tempoAt(list []strides.Stride, t float64) (rate, sd float64) {
	i := sort.Search(len(list), func(i int) bool { return float64(list[i].T) > t }) - 1 - tempoOver/2
	i = clampInt(i, 0, len(list)-tempoOver)
	var d []float64
	for _, s := range list[i : i+tempoOver] {
		d = append(d, float64(s.Duration))
	}
	mean, spread := meanSD(d)
	rate = 60 / mean
	return rate, rate * math.Hypot(spread/mean/math.Sqrt(tempoOver), sensorClock)
}

// sensorClock is the share by which a stride rate may be off because of the sensor's clock.
const sensorClock = 0.003
