package logbook_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/logbook"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/testkit"
)

// BenchmarkFileToReview reviews a simulated ride of a published sheet at 10 Hz with 100 Hz motion, from
// the bytes of its files to the document. The recording is six minutes to an hour and a half long
// because they ride about before and after.
func BenchmarkFileToReview(b *testing.B) {
	text, err := os.ReadFile(filepath.Join(testkit.Root(b), "sheets", "published", "italian-6-1.sheet"))
	if err != nil {
		b.Fatal(err)
	}
	p := rideplan.CompileText("italian-6-1.sheet", string(text), rideplan.Options{})
	for _, minutes := range []float64{6, 12, 24, 60, 90} {
		b.Run(fmt.Sprintf("%.0fmin", minutes), func(b *testing.B) {
			about := sim.Faults{Wobble: sim.Wobble{LineSD: 0.1, Speed: 0.02}}
			if extra := minutes*60 - float64(p.Total); extra > 0 {
				about.Before, about.After = gait.Seconds(extra/2), gait.Seconds(extra/2)
			}
			tr := sim.Ride(p, about, 1)
			in := logbook.ReviewInput{Sheet: logbook.Given{Name: "sheet", Data: text}, Recorder: "uwb", Simulated: true,
				Track:  &logbook.Given{Name: "ride.csv", Data: sim.Record(tr, sim.Sensor{WhiteSD: 0.08}, 1)},
				Motion: &logbook.Given{Name: "motion.csv", Data: sim.RecordMotion(tr, tr.Legs(p, sim.Going{}, 1), sim.MotionSensor{RateHz: 100, Gyro: true}, 1)}}
			b.ReportAllocs()
			before := testkit.CPUTime(b)
			for b.Loop() {
				res, err := logbook.ReviewRide(context.Background(), in)
				if err != nil || res.Ridden == nil || res.Ridden.Strides == nil {
					b.Fatal(err, res.Problems)
				}
			}
			b.ReportMetric((testkit.CPUTime(b)-before).Seconds()*1000/float64(b.N), "cpu-ms/op")
		})
	}
}
