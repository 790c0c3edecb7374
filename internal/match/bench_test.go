package match_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/testkit"
)

// longPlan is a sheet of about six minutes.
func longPlan(t testing.TB) *rideplan.Plan {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(testkit.Root(t), "sheets", "published", "italian-6-1.sheet"))
	if err != nil {
		t.Fatal(err)
	}
	p := rideplan.CompileText("italian-6-1.sheet", string(text), rideplan.Options{})
	if p.Total < 240 {
		t.Fatalf("the sheet takes only %.0f s", float64(p.Total))
	}
	return p
}

// BenchmarkAlign aligns rides of one sheet at 10 Hz that last one, two and four times as long
// because the rider rides about before the test and goes on after it.
func BenchmarkAlign(b *testing.B) {
	p := longPlan(b)
	for _, minutes := range []float64{6, 12, 24} {
		b.Run(fmt.Sprintf("%.0fmin", minutes), func(b *testing.B) {
			about := sim.Faults{Wobble: sim.Wobble{LineSD: 0.1, Speed: 0.02}}
			if extra := minutes*60 - float64(p.Total); extra > 0 {
				about.Before, about.After = gait.Seconds(extra/2), gait.Seconds(extra/2)
			}
			rec := imported(b, sim.Record(sim.Ride(p, about, 1), sim.Sensor{WhiteSD: 0.1}, 1))
			b.ReportMetric(float64(len(rec.Fixes)), "fixes")
			b.ReportAllocs()
			cpu := testkit.CPUTime(b)
			for b.Loop() {
				if _, err := match.Align(context.Background(), p, rec, match.Options{Class: "uwb"}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric((testkit.CPUTime(b)-cpu).Seconds()*1000/float64(b.N), "cpu-ms/op")
		})
	}
}
