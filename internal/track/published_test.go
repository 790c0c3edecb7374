package track

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestSpeedAndDistanceBesidePublished prints speed and distance of a real path (robot mower, centimetre
// truth, 5 Hz) under white noise of our own, to stand beside what was published of position systems in
// sport: speed to 0.28 m/s (10 Hz satellite unit), 0.25 (radar) and 0.41 (cameras), distance to 2.2 to
// 4.0 % (Linke, Link and Lames 2018), distance to under 0.5 % (radio tags, wheelchair court, 2015).
// Theirs hold all errors of a device, ours the part that jumps from fix to fix: it must be below the best.
func TestSpeedAndDistanceBesidePublished(t *testing.T) {
	const bestSpeed, bestDistance = 0.25, 0.5 // of those published: m/s, per cent
	truth := readTruth(t)
	clean, err := Smooth(truth, Noise{WhiteSD: 0.01}, SmoothOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		class string
		sd    float64
	}{{ClassRTK, 0.02}, {ClassUWB, 0.08}, {ClassSport, 0.3}, {ClassPhone, 0.5}} {
		rng := rand.New(rand.NewPCG(12, uint64(c.sd*100)))
		tr := &Track{Frame: FrameLocal}
		for _, f := range truth.Fixes {
			f.P.X += c.sd * rng.NormFloat64()
			f.P.Y += c.sd * rng.NormFloat64()
			tr.Fixes = append(tr.Fixes, f)
		}
		s, err := Smooth(tr, NoiseFor(c.class, tr), SmoothOptions{})
		if err != nil {
			t.Fatal(err)
		}
		var ss, way, asTrue float64
		for i, st := range s.States {
			ss += square(st.Speed() - clean.States[i].Speed())
			if i > 0 {
				way += math.Hypot(st.P.X-s.States[i-1].P.X, st.P.Y-s.States[i-1].P.Y)
				asTrue += math.Hypot(truth.Fixes[i].P.X-truth.Fixes[i-1].P.X, truth.Fixes[i].P.Y-truth.Fixes[i-1].P.Y)
			}
		}
		speed, distance := math.Sqrt(ss/float64(len(s.States))), 100*(way/asTrue-1)
		t.Logf("%s, %g m from fix to fix: speed to %.3f m/s, distance %+.2f %% of %.0f m", c.class, c.sd, speed, distance, asTrue)
		if speed > bestSpeed || math.Abs(distance) > bestDistance {
			t.Errorf("%s: speed to %.3f m/s (at most %g), distance %+.2f %% (at most %g)", c.class, speed, bestSpeed, distance, bestDistance)
		}
	}
}
