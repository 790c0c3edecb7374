package measure

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// laid is a recording that lies anywhere, and where points of the arena lie in its frame.
type laid struct {
	rec   *track.Track
	where func(arena.Point) arena.Point
	p     *rideplan.Plan
}

// lay records a ride with nothing that places it: latitude and longitude with the arena turned
// to any side, or, for a radio tag, the hall's own axes, mirrored every other time.
func lay(t *testing.T, p *rideplan.Plan, tr sim.Truth, class string, seed uint64, rng *rand.Rand) laid {
	t.Helper()
	s, err := sim.Profile(class)
	if err != nil {
		t.Fatal(err)
	}
	read := func(data []byte) *track.Track {
		rec, err := track.Import(bytes.NewReader(data), track.ImportOptions{File: "ride.csv"})
		if err != nil {
			t.Fatal(err)
		}
		return rec
	}
	deg := 360 * rng.Float64()
	if class != "uwb" {
		g := sim.InventedGround()
		g.TowardsC = deg
		rec := read(sim.RecordLatLon(tr, s, g, seed))
		plane, _ := rec.Plane()
		return laid{rec, func(q arena.Point) arena.Point { return arena.Point(plane.ToLocal(g.LatLon(q))) }, p}
	}
	rec := read(sim.Record(tr, s, seed))
	rec.Frame = track.FrameLocal
	sin, cos := math.Sincos(deg * math.Pi / 180)
	where := func(q arena.Point) arena.Point {
		if seed%2 == 1 {
			q.X = -q.X
		}
		return arena.Point{X: cos*q.X - sin*q.Y + 31, Y: sin*q.X + cos*q.Y - 12}
	}
	for i := range rec.Fixes {
		rec.Fixes[i].P = track.Local(where(arena.Point(rec.Fixes[i].P)))
	}
	return laid{rec, where, p}
}

// aside is the ride of someone who keeps to one side throughout.
func aside(tr sim.Truth, by arena.Point) sim.Truth {
	tr.Samples = slices.Clone(tr.Samples)
	for i := range tr.Samples {
		tr.Samples[i].Point = tr.Samples[i].Point.Add(by)
	}
	return tr
}

// off is how far a placement is from the truth: the pivot's place in metres along both axes, and
// the turn in radians. Wrong says that the ride lies the other way round, mirrored or metres away.
func (l laid) off(pl match.Placement) (x, y, turn float64, wrong bool) {
	put := func(q arena.Point) arena.Point {
		q = l.where(q)
		if pl.Mirrored {
			q.X = -q.X
		}
		sin, cos := math.Sincos(float64(pl.Rotation))
		return arena.Point{X: cos*q.X - sin*q.Y, Y: sin*q.X + cos*q.Y}.Add(pl.Shift)
	}
	at := put(pl.Pivot)
	ex, ey := put(pl.Pivot.Add(arena.Point{X: 1})).Sub(at), put(pl.Pivot.Add(arena.Point{Y: 1})).Sub(at)
	turn = float64(ex.Heading().Diff(0))
	d := at.Sub(pl.Pivot)
	return d.X, d.Y, turn, ex.Cross(ey) < 0 || math.Abs(turn) > 0.35
}

// placing counts how one class's placements fared.
type placing struct {
	n, refused, wrong, inside int
	xx, yy, rr                float64 // squared errors over doubts
	shifts, turns             float64 // squared errors
	sd, rot                   float64
}

func (p *placing) add(x, y, turn float64, pl match.Placement) float64 {
	sd, rot := math.Hypot(pl.ShiftSD, pl.CorrelatedSD), float64(pl.RotationSD)
	p.n++
	p.xx, p.yy, p.rr = p.xx+sq(x/sd), p.yy+sq(y/sd), p.rr+sq(turn/rot)
	p.shifts, p.turns = p.shifts+(x*x+y*y)/2, p.turns+turn*turn
	p.sd, p.rot = p.sd+sd*sd, p.rot+rot*rot
	z := sq(x/sd) + sq(y/sd) + sq(turn/rot)
	if z < 7.815 { // chi-square of three degrees of freedom, 95 %
		p.inside++
	}
	return z
}

func sq(v float64) float64 { return v * v }

// TestPlacingItself lays rides anywhere and compares where the ride itself places them with
// where they were. RINGCRAFT_CALIBRATE placements a class print the table of docs/RECORDINGS.md.
func TestPlacingItself(t *testing.T) {
	n, full := 1, false
	if v, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE")); err == nil && v > 0 {
		n, full = v, true
	}
	var plans []*rideplan.Plan
	for _, text := range []string{smallSheet, longSheet, loopsSheet, advancedSheet, turnsSheet} {
		plans = append(plans, compiled(t, text))
	}
	if full {
		fmt.Printf("\n| class | placed | refused | wrong | shift off, m | stated | turn off, deg | stated | shift over doubt, x, y | turn over doubt | 95 %% ellipsoid holds %% |\n|---|---|---|---|---|---|---|---|---|---|---|\n")
	}
	for k, class := range []string{"rtk", "uwb", "sport", "phone"} {
		var all placing
		for i := range n {
			seed := uint64(40000 + 1000*k + i)
			p := plans[i%len(plans)]
			rng := rand.New(rand.NewPCG(seed, 97))
			tr := aside(sim.Ride(p, randomFaults(p, rng), seed), arena.Point{X: 0.1 * rng.NormFloat64(), Y: 0.1 * rng.NormFloat64()})
			l := lay(t, p, tr, class, seed, rng)
			r, err := match.Align(context.Background(), p, l.rec, match.Options{Class: class})
			if err != nil {
				all.refused++
				if os.Getenv("RINGCRAFT_SHOW") != "" || !full {
					t.Logf("%s, ride %d: %v", class, seed, err)
				}
				continue
			}
			x, y, turn, wrong := l.off(r.Placement)
			if wrong {
				all.wrong++
				t.Logf("%s, ride %d, sheet %d: placed wrongly: %.2f %.2f m, %.2f rad, %+v", class, seed, i%len(plans), x, y, turn, r.Placement)
				continue
			}
			if z := all.add(x, y, turn, r.Placement); !full && z > 25 { // one in 60,000
				t.Errorf("%s, ride %d: off by %.2f and %.2f m and %.3f rad, stated %+v", class, seed, x, y, turn, r.Placement)
			}
			if strings.Contains(os.Getenv("RINGCRAFT_SHOW"), class) {
				fmt.Printf("%s %d sheet %d: x %.3f y %.3f turn %.4f, stated %.3f %.3f %.4f\n", class, seed, i%len(plans), x, y, turn, r.Placement.ShiftSD, r.Placement.CorrelatedSD, float64(r.Placement.RotationSD))
			}
		}
		all.check(t, class, n, full)
	}
}

func (p *placing) check(t *testing.T, class string, n int, full bool) {
	t.Helper()
	m := math.Max(1, float64(p.n))
	deg := 180 / math.Pi
	if full {
		fmt.Printf("| %s | %d | %d | %d | %.2f | %.2f | %.2f | %.2f | %.2f, %.2f | %.2f | %s |\n", class, p.n, p.refused, p.wrong, math.Sqrt(p.shifts/m), math.Sqrt(p.sd/m),
			math.Sqrt(p.turns/m)*deg, math.Sqrt(p.rot/m)*deg, math.Sqrt(p.xx/m), math.Sqrt(p.yy/m), math.Sqrt(p.rr/m), percent(p.inside, p.n))
	}
	if held := float64(p.inside) / m; p.n >= 100 && (held < 0.9 || held > 0.995) {
		t.Errorf("%s: the 95 %% ellipsoid holds %.1f %%", class, 100*held)
	}
	if 200*p.wrong > n {
		t.Errorf("%s: %d of %d placed wrongly", class, p.wrong, n)
	}
}
