package match_test

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

const sheetText = `name: Willow Ford 2
arena: 20 x 40
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m
4    FXH    Change the rein in medium trot
     H      Working trot
5    B      Circle right 15 m
6    A      Serpentine three loops
7    C      Medium walk
8    MXK    Change the rein, free walk on a long rein
9    K      Working trot
10   A      Working canter left
11   B      Circle left 10 m
12   C      Working trot
13   E      Turn left
     B      Track right
14   A      Down the centre line
     G      Halt, salute
`

func plan(t testing.TB) *rideplan.Plan {
	t.Helper()
	p := rideplan.CompileText("sheet.txt", sheetText, rideplan.Options{})
	if len(p.Samples) < 100 {
		t.Fatal(p.Problems)
	}
	return p
}

func imported(t testing.TB, data []byte) *track.Track {
	t.Helper()
	rec, err := track.Import(bytes.NewReader(data), track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func aligned(t testing.TB, p *rideplan.Plan, f sim.Faults, s sim.Sensor, class string, seed uint64) (*match.Ridden, sim.Truth) {
	t.Helper()
	tr := sim.Ride(p, f, seed)
	r, err := match.Align(context.Background(), p, imported(t, sim.Record(tr, s, seed)), match.Options{Class: class})
	if err != nil {
		t.Fatal(err)
	}
	return r, tr
}

// spanErrors is how far the movements' starts lie from the truth, worst of all.
func spanErrors(t testing.TB, r *match.Ridden, tr sim.Truth) (worst float64, found int) {
	t.Helper()
	got := map[int]match.Span{}
	for _, s := range r.Spans {
		got[s.Movement] = s
	}
	for _, s := range tr.Spans {
		if g, ok := got[s.Movement]; ok {
			found++
			worst = math.Max(worst, math.Abs(float64(g.Start-s.Start)))
		}
	}
	return worst, found
}

// TestFollows checks that the alignment keeps to the ride through what rides bring.
func TestFollows(t *testing.T) {
	p := plan(t)
	fine := sim.Sensor{WhiteSD: 0.05}
	everyday := sim.Wobble{LineSD: 0.15, Speed: 0.02}
	slow := map[gait.Variety]float64{}
	for _, v := range gait.Varieties() {
		slow[v] = 0.65
	}
	for _, c := range []struct {
		name   string
		faults sim.Faults
		sensor sim.Sensor
		class  string
		worst  float64 // seconds
	}{
		{"as planned", sim.Faults{}, fine, "rtk", 0.8},
		{"everyday", sim.Faults{Wobble: everyday}, fine, "rtk", 1},
		{"slow rider", sim.Faults{Wobble: everyday, Speed: slow}, fine, "rtk", 1.5},
		{"before and after", sim.Faults{Wobble: everyday, Before: 45, After: 30}, fine, "rtk", 1.5},
		{"pauses", sim.Faults{Wobble: everyday, Pauses: []sim.Pause{{AtM: 100, For: 8}, {AtM: 300, For: 15}}}, fine, "rtk", 1.5},
		{"all circles small", sim.Faults{Circles: []sim.CircleFault{{Movement: 3, Scale: 0.7}, {Movement: 5, Scale: 0.7}, {Movement: 11, Scale: 0.7}}}, fine, "rtk", 2},
		{"corners cut", sim.Faults{CornerCut: 2, Wobble: everyday}, fine, "rtk", 1.5},
		{"half a metre, wandering", sim.Faults{Wobble: everyday}, sim.Sensor{WhiteSD: 0.3, WanderSD: 0.8, WanderTau: 120}, "sport", 2.5},
		{"three metres, once a second", sim.Faults{Wobble: everyday}, sim.Sensor{WhiteSD: 3, RateHz: 1}, "phone", 5},
		{"phone", sim.Faults{Wobble: everyday}, sim.Sensor{WhiteSD: 0.5, WanderSD: 3, WanderTau: 180, RateHz: 1}, "phone", 6},
		{"gaps and outliers", sim.Faults{Wobble: everyday}, sim.Sensor{WhiteSD: 0.1, OutlierShare: 0.02, OutlierM: 15, GapEvery: 40, GapS: 4}, "uwb", 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, tr := aligned(t, p, c.faults, c.sensor, c.class, 5)
			worst, found := spanErrors(t, r, tr)
			if found != len(p.Movements) || worst > c.worst {
				t.Errorf("%d of %d movements found, starts off by up to %.2f s (allowed %.1f)", found, len(p.Movements), worst, c.worst)
			}
			for _, d := range r.Departures {
				if d.Kind != "stopped" || c.name != "pauses" {
					t.Errorf("departure %s in movement %d at %.1f s: %s", d.Kind, d.Movement, float64(d.Start), d.Reason)
				}
			}
			if c.name == "pauses" && len(r.Departures) != 2 {
				t.Errorf("%d stops found, 2 were made", len(r.Departures))
			}
		})
	}
}

// TestDepartures checks that what was left out, ridden wrongly or again is found with its
// place and time.
func TestDepartures(t *testing.T) {
	p := plan(t)
	for _, c := range []struct {
		name     string
		faults   sim.Faults
		kind     string
		movement int
	}{
		{"circle left out", sim.Faults{LeftOut: []int{3}}, "left out", 3},
		{"small circle left out", sim.Faults{LeftOut: []int{11}}, "left out", 11},
		{"middle circle left out", sim.Faults{LeftOut: []int{5}}, "left out", 5},
		{"wrong turn", sim.Faults{WrongTurns: []sim.Excursion{{AtM: p.MovementByNumber(9).StartM + 6, Radius: 12, Left: false}}}, "wrong turn", 9},
		{"circles to retry", sim.Faults{Retries: []sim.Excursion{{AtM: p.MovementByNumber(13).StartM + 8, Radius: 4, Left: true}}}, "", 13},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.faults.Wobble = sim.Wobble{LineSD: 0.1, Speed: 0.02}
			r, tr := aligned(t, p, c.faults, sim.Sensor{WhiteSD: 0.05}, "rtk", 3)
			found := false
			for _, d := range r.Departures {
				t.Logf("%s in movement %d from %.1f to %.1f s at %.1f, %.1f: %s", d.Kind, d.Movement, float64(d.Start), float64(d.End), d.Place.X, d.Place.Y, d.Reason)
				if (d.Kind == c.kind || c.kind == "") && d.Movement == c.movement {
					found = true
					if d.Start < 0 || float64(d.End) > float64(tr.End)+1 || !p.Board.Contains(d.Place, -3) {
						t.Errorf("place or time of the departure are outside the ride")
					}
				}
			}
			if !found {
				t.Errorf("no %s in movement %d", c.kind, c.movement)
			}
			if len(r.Departures) > 2 {
				t.Errorf("%d departures for one", len(r.Departures))
			}
			worst, n := spanErrors(t, r, tr)
			if n != len(tr.Spans) || worst > 2.5 {
				t.Errorf("%d of %d ridden movements found, starts off by up to %.2f s", n, len(tr.Spans), worst)
			}
		})
	}
}

// TestRefuses checks what cannot be aligned.
func TestRefuses(t *testing.T) {
	p := plan(t)
	good := imported(t, sim.Record(sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.05}, 1))
	change := func(f func(*track.Track)) *track.Track {
		c := *good
		c.Fixes = append([]track.Fix(nil), good.Fixes...)
		f(&c)
		return &c
	}
	for _, c := range []struct {
		name, want string
		rec        *track.Track
		o          match.Options
	}{
		{"elsewhere", "does not overlap", change(func(t *track.Track) {
			for i := range t.Fixes {
				t.Fixes[i].P.X += 500
			}
		}), match.Options{}},
		{"not a number", "not a number", change(func(t *track.Track) { t.Fixes[7].P.X = math.NaN() }), match.Options{}},
		{"backwards", "backwards", change(func(t *track.Track) { t.Fixes[9].T = 0.1 }), match.Options{}},
		{"too short", "fewer than 8", change(func(t *track.Track) { t.Fixes = t.Fixes[:5] }), match.Options{}},
		{"class", "allowed", good, match.Options{Class: "gps"}},
		{"place", "allowed", good, match.Options{Recorder: "boot"}},
	} {
		_, err := match.Align(context.Background(), p, c.rec, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
}

// TestCancel checks that a long alignment can be stopped.
func TestCancel(t *testing.T) {
	p := plan(t)
	rec := imported(t, sim.Record(sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.05}, 1))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := match.Align(ctx, p, rec, match.Options{}); err != context.Canceled {
		t.Errorf("error %v, want context canceled", err)
	}
}
