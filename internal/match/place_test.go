package match_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

func survey(t testing.TB, data []byte) *match.Survey {
	t.Helper()
	s, err := match.ReadArena("arena.json", data)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestPlacesByLetters records a ride in latitude and longitude and places it by its letters.
func TestPlacesByLetters(t *testing.T) {
	p := plan(t)
	g := sim.InventedGround()
	tr := sim.Ride(p, sim.Faults{}, 1)
	gpx, err := sim.RecordGPX(tr, sim.Sensor{WhiteSD: 0.03}, g, 1)
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"gpx": gpx, "csv": sim.RecordLatLon(tr, sim.Sensor{WhiteSD: 0.03}, g, 1)} {
		for _, letters := range [][]string{nil, {"A", "C"}, {"K", "M"}} {
			r, err := match.Align(context.Background(), p, imported(t, data), match.Options{Class: "rtk", Survey: survey(t, sim.ArenaFile(p.Board, g, letters...))})
			if err != nil {
				t.Fatalf("%s with letters %v: %v", name, letters, err)
			}
			if worst := offTruth(r, tr); worst > 0.25 {
				t.Errorf("%s with letters %v: off by up to %.2f m", name, letters, worst)
			}
			for _, res := range r.Placement.Residuals {
				if res.Metres > 0.01 {
					t.Errorf("letter %s is off by %.3f m", res.Letter, res.Metres)
				}
			}
			if r.Placement.Method != "letters" || r.Placement.ShiftSD <= 0 {
				t.Errorf("placement %+v", r.Placement)
			}
		}
	}
}

// offTruth is how far the placed fixes lie from the ride, at most (white noise of 0.03 m included).
func offTruth(r *match.Ridden, tr sim.Truth) float64 {
	var worst float64
	for _, f := range r.Fixes {
		worst = math.Max(worst, float64(f.Point.Dist(tr.At(f.T).Point)))
	}
	return worst
}

// TestLettersQuestioned changes letters over, names one wrongly, mirrors all: each is found and
// named.
func TestLettersQuestioned(t *testing.T) {
	g := sim.InventedGround()
	p := plan(t)
	rec := imported(t, sim.RecordLatLon(sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.03}, g, 1))
	file := func(as ...[2]string) []byte { // letter written, letter really there
		var b strings.Builder
		b.WriteString(`{"width_m": 20, "length_m": 40, "letters": {`)
		for i, a := range as {
			at, ok := arena.Small40.Letter(a[1])
			if !ok {
				t.Fatal(a)
			}
			q := g.LatLon(at)
			if i > 0 {
				b.WriteString(",")
			}
			fmt.Fprintf(&b, `"%s": {"lat_deg": %.9f, "lon_deg": %.9f}`, a[0], q.LatDeg, q.LonDeg)
		}
		b.WriteString("}}")
		return []byte(b.String())
	}
	for _, c := range []struct {
		name, want string
		data       []byte
	}{
		{"mirrored", "mirrored", file([2]string{"A", "A"}, [2]string{"E", "B"}, [2]string{"B", "E"}, [2]string{"C", "C"}, [2]string{"M", "H"})},
		{"changed over", "H and M seem to be changed over", file([2]string{"A", "A"}, [2]string{"E", "E"}, [2]string{"H", "M"}, [2]string{"M", "H"}, [2]string{"B", "B"})},
		{"misnamed", "K lies where F should be", file([2]string{"A", "A"}, [2]string{"E", "E"}, [2]string{"K", "F"}, [2]string{"C", "C"})},
		{"two too close", "apart", file([2]string{"A", "A"}, [2]string{"C", "B"})},
	} {
		_, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk", Survey: survey(t, c.data)})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
}

// TestArenaFile checks what is said of a bad arena file.
func TestArenaFile(t *testing.T) {
	for _, c := range []struct{ data, want string }{
		{`{"width_m": 20,`, "arena.json:1"},
		{`{"letters": {}}`, "width_m"},
		{`{"width_m": 20, "length_m": 50, "letters": {}}`, "20 x 60"},
		{`{"width_m": 20, "length_m": 40, "letters": {}}`, "two or more"},
		{`{"width_m": 20, "length_m": 40, "letters": {"A": {"lat_deg": 1}, "C": {"lat_deg": 1, "lon_deg": 1}}}`, "needs lat_deg and lon_deg"},
		{`{"width_m": 20, "length_m": 40, "letters": {"A": {"lat_deg": 91, "lon_deg": 1}, "C": {"lat_deg": 1, "lon_deg": 1}}}`, "latitude -90 to 90"},
		{`{"width_m": 20, "length_m": 40, "letters": {"S": {"lat_deg": 1, "lon_deg": 1}, "C": {"lat_deg": 1, "lon_deg": 1}}}`, "allowed: A B C"},
		{`{"width_m": "twenty", "length_m": 40}`, "arena.json:1"},
	} {
		if _, err := match.ReadArena("arena.json", []byte(c.data)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.data, err, c.want)
		}
	}
}

func FuzzReadArena(f *testing.F) {
	f.Add([]byte(`{"width_m": 20, "length_m": 40, "letters": {"A": {"lat_deg": 1, "lon_deg": 1}, "C": {"lat_deg": 1, "lon_deg": 1.1}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if s, err := match.ReadArena("a.json", data); err == nil && (s.Board == nil || len(s.Letters) < 1) {
			t.Errorf("accepted %q", data)
		}
	})
}

// TestPlacesItself places rides that nothing places, in any direction, mirrored axes too.
func TestPlacesItself(t *testing.T) {
	p := plan(t)
	faults := sim.Faults{Wobble: sim.Wobble{LineSD: 0.2, Speed: 0.03}, Before: 20, After: 15}
	for _, deg := range []float64{118, 295} {
		g := sim.InventedGround()
		g.TowardsC = deg
		tr := sim.Ride(p, faults, 2)
		rec := imported(t, sim.RecordLatLon(tr, sim.Sensor{WhiteSD: 0.3, WanderSD: 0.5, WanderTau: 120, RateHz: 5}, g, 4))
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "sport"})
		if err != nil {
			t.Errorf("%g degrees: %v", deg, err)
			continue
		}
		checkSelf(t, fmt.Sprintf("%g degrees", deg), r, tr)
	}
	tr := sim.Ride(p, faults, 2)
	rec := imported(t, sim.Record(tr, sim.Sensor{WhiteSD: 0.1}, 4))
	rec.Frame = track.FrameLocal
	for i := range rec.Fixes {
		q := rec.Fixes[i].P
		rec.Fixes[i].P = track.Local{X: 40 - (0.8*q.X - 0.6*q.Y), Y: 0.6*q.X + 0.8*q.Y}
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: "uwb"})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Placement.Mirrored {
		t.Error("mirrored axes not found")
	}
	checkSelf(t, "mirrored", r, tr)
}

func checkSelf(t *testing.T, name string, r *match.Ridden, tr sim.Truth) {
	t.Helper()
	var x, y, n float64
	for _, f := range r.Fixes {
		q := f.Point.Sub(tr.At(f.T).Point)
		x, y, n = x+q.X, y+q.Y, n+1
	}
	off := math.Hypot(x/n, y/n)
	sd := math.Hypot(r.Placement.ShiftSD, r.Placement.CorrelatedSD)
	if r.Placement.Method != match.ByRide || off > 1.2 || off > 3.5*math.Hypot(sd, 0.1) || r.Placement.CorrelatedSD < 0.1 || sd > 1 {
		t.Errorf("%s: placed %.2f m off, %+v", name, off, r.Placement)
	}
}

// TestRefusesAlike gives a ride that fits two ways alike: circles from E are circles from B after
// half a turn.
func TestRefusesAlike(t *testing.T) {
	text := `name: Up and down
arena: 20 x 40
1    A      Enter in working trot
2    C      Track left
3    E      Circle left 20 m
     E      Circle left 20 m
     E      Circle left 20 m
`
	p := rideplan.CompileText("s.txt", text, rideplan.Options{})
	tr := sim.Ride(p, sim.Faults{}, 1)
	rec := imported(t, sim.RecordLatLon(tr, sim.Sensor{WhiteSD: 0.2, RateHz: 5}, sim.InventedGround(), 4))
	var mid []track.Fix
	from := tr.Spans[2].Start
	for _, f := range rec.Fixes {
		if float64(f.T) > float64(from) && float64(f.T) < float64(from)+46 {
			mid = append(mid, f)
		}
	}
	rec.Fixes = mid
	_, err := match.Align(context.Background(), p, rec, match.Options{Class: "sport"})
	if err == nil || !strings.Contains(err.Error(), "alike") && !strings.Contains(err.Error(), "in no position") {
		t.Errorf("error %v, want a refusal", err)
	}
}
