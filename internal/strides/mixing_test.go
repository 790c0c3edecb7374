package strides

import (
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/gait"
)

// Strides of their own length each, timed by a beat that lies a share f into the stride and is read with an
// error: the measured spread is too small or too large, and the factor brings it back, on average over many
// recordings to within its own doubt. Drawn here, so that the truth is known; a tempo that wanders slowly is not taken for it.
func TestUnmixedBringsTheSpreadBack(t *testing.T) {
	for _, c := range []struct{ f, jitter, wander, doubts float64 }{{0, 0, 0, 1}, {0.25, 0, 0, 1}, {0.5, 0, 0, 1}, {0.25, 0.012, 0, 1}, {0.25, 0, 0.002, 1},
		{0, 0.02, 0, 2.5}} { // a beat at the very edge of the stride and read badly is what is least expected {
		var off, said, n float64
		for seed := range uint64(60) {
			rng := rand.New(rand.NewPCG(seed, 3))
			d := make([]float64, 302)
			slow := 0.0
			var truth, mean float64
			for i := range d {
				slow += c.wander * rng.NormFloat64()
				d[i] = 0.75 * (1 + 0.04*rng.NormFloat64() + slow)
			}
			r := &Result{Spans: []Span{{Pace: gait.Trot}}}
			at, last := 0.0, math.NaN()
			var measured []float64
			for i := range d[:301] {
				b := at + c.f*d[i] + c.jitter*rng.NormFloat64()
				if i > 0 {
					r.Spans[0].Strides = append(r.Spans[0].Strides, Stride{T: Seconds(last), Duration: Seconds(b - last)})
					measured = append(measured, b-last)
				}
				at, last = at+d[i], b
			}
			truth, mean = variance(d)
			got, _ := variance(measured)
			k, sd := r.Unmixed(gait.Trot)
			off += math.Sqrt(got*k/truth) - 1
			said += sd / (2 * k)
			n++
			if mean == 0 {
				t.Fatal("no strides")
			}
		}
		if math.Abs(off) > c.doubts*said {
			t.Errorf("beat at %.2f, read to %.3f s, wander %.3f: spread off by %+.1f %% on average (said ± %.1f %%)", c.f, c.jitter, c.wander, 100*off/n, 100*said/n)
		}
	}
}

func variance(d []float64) (v, mean float64) {
	for _, x := range d {
		mean += x / float64(len(d))
	}
	for _, x := range d {
		v += (x - mean) * (x - mean) / float64(len(d)-1)
	}
	return v, mean
}
