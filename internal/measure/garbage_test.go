package measure

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/track"
)

// TestGarbage feeds recordings that are no ride of the sheet: whatever is said of them, nothing
// breaks, and no number comes without a finite doubt.
func TestGarbage(t *testing.T) {
	p := compiled(t, longSheet)
	rng := rand.New(rand.NewPCG(5, 6))
	for trial := range 12 {
		rate := []float64{0.2, 1, 10}[trial%3]
		n := int(120 * rate)
		rec := &track.Track{Frame: []track.Frame{track.FrameArena, track.FrameLocal}[trial/3%2]}
		x, y, h := 0.0, 30.0, 0.0
		for i := range n {
			h += 0.3 * rng.NormFloat64()
			v := 4 * rng.Float64() / rate
			if trial > 8 { // stands still all the time, or jumps about
				v = 0
				if trial == 11 {
					x, y = 20*rng.Float64()-10, 60*rng.Float64()
				}
			}
			x, y = math.Max(-9, math.Min(9, x+v*math.Cos(h))), math.Max(1, math.Min(59, y+v*math.Sin(h)))
			rec.Fixes = append(rec.Fixes, track.Fix{T: track.Seconds(float64(i) / rate), P: track.Local{X: x, Y: y}, Heading: h, HasHeading: trial%2 == 0})
		}
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "sport"})
		if err != nil {
			t.Logf("trial %d: %v", trial, err)
			continue
		}
		on := 0
		for _, f := range r.Fixes {
			if !math.IsNaN(float64(f.PlanM)) {
				on++
			}
		}
		t.Logf("trial %d rate %g: on plan %d of %d, %d departures, %d spans", trial, rate, on, len(r.Fixes), len(r.Departures), len(r.Spans))
		if _, err := json.Marshal(Paces(p, r, Options{})); err != nil {
			t.Errorf("trial %d, paces: %v", trial, err)
		}
		for _, m := range Ride(p, r, Options{}) {
			for _, x := range m.Measures {
				if x.Value != nil && (x.Sigma == nil || !(*x.Sigma >= 0) || math.IsInf(*x.Sigma, 0) || math.IsNaN(*x.Value)) {
					t.Errorf("trial %d movement %d: %+v", trial, m.Number, x)
				}
			}
		}
	}
}
