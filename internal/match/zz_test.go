package match_test

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

func TestZZLong(t *testing.T) {
	if os.Getenv("PROBE") == "" {
		t.Skip()
	}
	p := plan(t)
	for _, c := range []struct {
		name string
		f    sim.Faults
		s    sim.Sensor
		cls  string
		gap  float64
	}{
		{"1 h before, 1 h after, phone", sim.Faults{Before: 3600, After: 3600}, sim.Sensor{WhiteSD: 0.5, WanderSD: 3, WanderTau: 180, RateHz: 1}, "phone", 0},
		{"3 h before, rtk", sim.Faults{Before: 3 * 3600}, sim.Sensor{WhiteSD: 0.02, RateHz: 1}, "rtk", 0},
		{"gap 25 min", sim.Faults{}, sim.Sensor{WhiteSD: 0.02}, "rtk", 1500},
	} {
		rec := imported(t, sim.Record(sim.Ride(p, c.f, 1), c.s, 1))
		if c.gap > 0 {
			for i := range rec.Fixes {
				if i > len(rec.Fixes)/2 {
					rec.Fixes[i].T += track.Seconds(c.gap)
				}
			}
		}
		runtime.GC()
		var a, b runtime.MemStats
		runtime.ReadMemStats(&a)
		now := time.Now()
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: c.cls})
		runtime.ReadMemStats(&b)
		fmt.Println(c.name, len(rec.Fixes), time.Since(now), (b.TotalAlloc-a.TotalAlloc)>>20, "MB allocated, sys", b.Sys>>20, err)
		if err == nil {
			fmt.Println(len(r.Spans), "spans", r.Spans[0].Start, r.Spans[len(r.Spans)-1].End)
			for i, d := range r.Departures {
				if i < 5 {
					fmt.Println("  ", d.Kind, d.Movement, d.Start, d.End, d.Reason)
				}
			}
		}
	}
}
