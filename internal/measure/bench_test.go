package measure

import (
	"testing"

	"ringcraft/internal/sim"
	"ringcraft/internal/testkit"
)

// BenchmarkRide measures an aligned ride at 10 Hz.
func BenchmarkRide(b *testing.B) {
	p := compiled(b, longSheet)
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.1, Speed: 0.02}}, 1)
	r := ridden(b, p, tr, sim.Sensor{WhiteSD: 0.1}, "uwb", 1)
	b.ReportMetric(float64(len(r.Fixes)), "fixes")
	b.ReportAllocs()
	cpu := testkit.CPUTime(b)
	for b.Loop() {
		Ride(p, r, Options{})
	}
	b.ReportMetric((testkit.CPUTime(b)-cpu).Seconds()*1000/float64(b.N), "cpu-ms/op")
}
