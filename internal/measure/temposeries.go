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
		for _, run := range unbroken(s.Strides) {
			out = append(out, tempoOf(run, s.Pace, float64(every))...)
		}
	}
	return out
}

// tempoOf is the series of one unbroken run of strides.
func tempoOf(run []strides.Stride, pace gait.Pace, every float64) []TempoPoint {
	if len(run) < tempoOver {
		return nil
	}
	var out []TempoPoint
	last := run[len(run)-1]
	for k := math.Ceil(float64(run[0].T) / every); k*every <= float64(last.T+last.Duration); k++ {
		rate, sd := tempoAt(run, k*every)
		out = append(out, TempoPoint{T: gait.Seconds(k * every), Pace: pace, PerMinute: rate, Sigma: sd})
	}
	return out
}

// unbroken parts strides where one does not begin as the one before it ends: nothing was
// recorded or counted between, and a tempo across it would be made up.
func unbroken(list []strides.Stride) [][]strides.Stride {
	var out [][]strides.Stride
	first := 0
	for i := 1; i <= len(list); i++ {
		if i < len(list) && list[i].T-(list[i-1].T+list[i-1].Duration) < list[i-1].Duration/2 {
			continue
		}
		if first < i {
			out = append(out, list[first:i])
		}
		first = i
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

// sensorClock is the share by which a stride rate may be off because of the sensor's clock: quartz errs
// by less than a tenth of it, times that are stamped by the batch by more (assumption).
const sensorClock = 0.001
