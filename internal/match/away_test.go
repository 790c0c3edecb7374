package match_test

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// dayOut puts hours at grass around a ride: the recorder was left on. The way there and back takes a
// minute each.
func dayOut(ride *track.Track, before, after, hz float64) *track.Track {
	rng := rand.New(rand.NewPCG(5, 5))
	field := func(t float64) track.Local {
		return track.Local{X: 150 + 40*math.Sin(t/600) + 5*math.Sin(t/17) + 0.08*rng.NormFloat64(), Y: 60 + 30*math.Sin(t/460) + 0.08*rng.NormFloat64()}
	}
	mix := func(a, b track.Local, u float64) track.Local {
		return track.Local{X: a.X + u*(b.X-a.X), Y: a.Y + u*(b.Y-a.Y)}
	}
	out := *ride
	out.Fixes = nil
	first, last := ride.Fixes[0], ride.Fixes[len(ride.Fixes)-1]
	for k := 0; float64(k)/hz < before; k++ {
		t := float64(k) / hz
		out.Fixes = append(out.Fixes, track.Fix{T: track.Seconds(t), P: mix(first.P, field(t), min(1, (before-t)/60))})
	}
	for _, f := range ride.Fixes {
		f.T += track.Seconds(before) - first.T
		out.Fixes = append(out.Fixes, f)
	}
	end := before + float64(last.T-first.T)
	for k := 1; float64(k)/hz < after; k++ {
		t := float64(k) / hz
		out.Fixes = append(out.Fixes, track.Fix{T: track.Seconds(end + t), P: mix(last.P, field(t), min(1, t/60))})
	}
	return &out
}

// TestRecorderLeftOn: a ride inside hours at grass is found and gives the lines it gives alone, the
// hours are left out and said, and a recording that was never near is still refused.
func TestRecorderLeftOn(t *testing.T) {
	p := plan(t)
	tr := sim.Ride(p, sim.Faults{}, 1)
	ride := imported(t, sim.Record(tr, sim.Sensor{WhiteSD: 0.08}, 1))
	alone, err := match.Align(context.Background(), p, ride, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	const before = 4 * 3600
	day := dayOut(ride, before, 2*3600, 10)
	in, err := match.Align(context.Background(), p, day, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	if len(in.Fixes) > len(alone.Fixes)+2*1300 || !strings.Contains(strings.Join(in.Notes, "|"), "358 minutes far from the arena were left out") {
		t.Errorf("%d fixes of %d are looked at (the ride has %d); notes %q", len(in.Fixes), len(day.Fixes), len(alone.Fixes), in.Notes)
	}
	if len(in.Spans) != len(alone.Spans) {
		t.Fatalf("%d movements, %d in the ride alone", len(in.Spans), len(alone.Spans))
	}
	for i, s := range in.Spans {
		if off := float64(s.Start-alone.Spans[i].Start) - before + float64(ride.Fixes[0].T); math.Abs(off) > 0.5 {
			t.Errorf("movement %d begins %.2f s off", s.Movement, off)
		}
	}
	never := *day
	never.Fixes = day.Fixes[:3*36000]
	if _, err := match.Align(context.Background(), p, &never, match.Options{Class: "rtk"}); err == nil || !strings.Contains(err.Error(), "does not overlap") {
		t.Errorf("a day at grass: %v", err)
	}
}

// TestShortWaysStay: less than ten minutes elsewhere is part of the ride, nothing is left out of it.
func TestShortWaysStay(t *testing.T) {
	p := plan(t)
	ride := imported(t, sim.Record(sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.08}, 1))
	rec := dayOut(ride, 400, 400, 10)
	in, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	if len(in.Fixes) != len(rec.Fixes) || strings.Contains(strings.Join(in.Notes, "|"), "left out") {
		t.Errorf("%d of %d fixes, notes %q", len(in.Fixes), len(rec.Fixes), in.Notes)
	}
}

// TestTooLongToPlaceByRide: a day that nothing but the ride could place is refused at once, with what to do.
func TestTooLongToPlaceByRide(t *testing.T) {
	p := plan(t)
	day := dayOut(imported(t, sim.Record(sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.08}, 1)), 3*3600, 100, 1)
	_, err := match.Align(context.Background(), p, day, match.Options{Class: "rtk", PlaceByRide: true})
	if err == nil || !strings.Contains(err.Error(), "may last 3 h: cut it to the ride") {
		t.Errorf("%v", err)
	}
}
