package match_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// What of these invented sheets is recorded, from one movement's start to another's end, rides alike
// after half a turn: the entry at A is lost.
var symmetric = []struct {
	name, text  string
	first, last int
}{
	{"circles at E and B", `name: Two Oaks
arena: 20 x 60
1    A      Enter in working trot
2    C      Track left
3    E      Circle left 20 m
4    B      Circle left 20 m
5    E      Circle left 20 m
6    B      Circle left 20 m
7    A      Down the centre line
     X      Halt, salute
`, 3, 5},
	{"the whole track", `name: Round and Round
arena: 20 x 60
1    A      Enter in working trot
2    C      Track right
3    A      Working trot
4    C      Working trot
5    A      Working trot
6    C      Working trot
7    A      Down the centre line
     X      Halt, salute
`, 3, 5},
	{"circles in the middle", `name: Round the Well
arena: 20 x 40
1    A      Enter in working trot
2    C      Track left
3    E      Circle left 20 m
     E      Circle left 20 m
     E      Circle left 20 m
4    A      Down the centre line
     X      Halt, salute
`, 3, 3},
}

// laidOut is a ride at an invented place with the arena turned by some degrees.
func laidOut(t *testing.T, p *rideplan.Plan, class string, seed uint64) (*track.Track, sim.Truth, sim.Ground) {
	t.Helper()
	s, err := sim.Profile(class)
	if err != nil {
		t.Fatal(err)
	}
	g := sim.InventedGround()
	g.TowardsC = float64(37 * seed % 360)
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.2, Speed: 0.03}}, seed)
	return imported(t, sim.RecordLatLon(tr, s, g, seed)), tr, g
}

func cut(rec *track.Track, from, to float64) {
	var kept []track.Fix
	for _, f := range rec.Fixes {
		if float64(f.T) >= from && float64(f.T) <= to {
			kept = append(kept, f)
		}
	}
	rec.Fixes = kept
}

// TestSymmetricRefused: rides that lie in the arena two ways alike are refused, with what would settle
// it; the whole recording of the same sheets, with its entry, is placed, and the right way round.
// RINGCRAFT_RIDES of each print the table of docs/RECORDINGS.md.
func TestSymmetricRefused(t *testing.T) {
	n, classes := 1, []string{"sport"}
	if v, err := strconv.Atoi(os.Getenv("RINGCRAFT_RIDES")); err == nil {
		n, classes = v, []string{"rtk", "sport", "phone"}
	}
	for _, c := range symmetric {
		p := rideplan.CompileText("s.txt", c.text, rideplan.Options{})
		line := "| " + c.name
		for _, class := range classes {
			refused, whole, wrong := 0, 0, 0
			for seed := range uint64(n) {
				rec, tr, g := laidOut(t, p, class, seed+1)
				full := *rec
				cut(rec, float64(tr.Spans[c.first-1].Start)+1, float64(tr.Spans[c.last-1].End)-1)
				_, err := match.Align(context.Background(), p, rec, match.Options{Class: class})
				if err != nil && (strings.Contains(err.Error(), "settles which way round")) {
					refused++
				}
				if r, err := match.Align(context.Background(), p, &full, match.Options{Class: class}); err == nil {
					whole++
					if turnedRound(r.Placement, g) {
						wrong++
					}
				}
			}
			line += fmt.Sprintf(" | %d of %d, %d of %d placed, %d wrongly", refused, n, whole, n, wrong)
			if refused < n && class != "phone" || wrong > 0 {
				t.Errorf("%s, %s: %d of %d refused, %d of the whole rides placed the wrong way round", c.name, class, refused, n, wrong)
			}
		}
		t.Log(line + " |")
	}
}

// turnedRound reports whether a ride was laid with C where A is, or mirrored.
func turnedRound(pl match.Placement, g sim.Ground) bool {
	want := arena.Angle(g.TowardsC * math.Pi / 180) // y towards C lies so far east of north
	return pl.Mirrored || math.Abs(float64(pl.Rotation.Diff(want))) > 0.5
}

// TestOneLetterSettles: one surveyed letter is too little to place a ride by and enough to say which
// end is A.
func TestOneLetterSettles(t *testing.T) {
	c := symmetric[0]
	p := rideplan.CompileText("s.txt", c.text, rideplan.Options{})
	for i, letter := range []string{"A", "K"} {
		rec, tr, g := laidOut(t, p, "sport", uint64(i)+1)
		cut(rec, float64(tr.Spans[c.first-1].Start)+1, float64(tr.Spans[c.last-1].End)-1)
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "sport", Survey: survey(t, sim.ArenaFile(p.Board, g, letter))})
		if err != nil {
			t.Errorf("letter %s: %v", letter, err)
			continue
		}
		if turnedRound(r.Placement, g) || r.Placement.Method != match.ByRide {
			t.Errorf("letter %s: placed wrongly, %+v", letter, r.Placement)
		}
	}
	rec, _, g := laidOut(t, p, "sport", 3)
	g.A.LatDeg += 0.001
	_, err := match.Align(context.Background(), p, rec, match.Options{Class: "sport", Survey: survey(t, sim.ArenaFile(p.Board, g, "A"))})
	if err == nil || !strings.Contains(err.Error(), "letter A") {
		t.Errorf("a letter 110 m off: error %v, want one that names it", err)
	}
}

// TestEarthIsNeverMirrored: a hall's own axes may run either way, latitude and longitude may not. A
// ride whose longitudes were changed over fits only mirrored, and is refused or laid unmirrored.
func TestEarthIsNeverMirrored(t *testing.T) {
	p := plan(t)
	rec, _, _ := laidOut(t, p, "rtk", 4)
	mirror := *rec
	mirror.Fixes = append([]track.Fix(nil), rec.Fixes...)
	for i := range mirror.Fixes {
		mirror.Fixes[i].P.X = -mirror.Fixes[i].P.X
	}
	if r, err := match.Align(context.Background(), p, &mirror, match.Options{Class: "rtk"}); err == nil && r.Placement.Mirrored {
		t.Errorf("latitude and longitude laid mirrored: %+v", r.Placement)
	}
	mirror.Frame = track.FrameLocal
	r, err := match.Align(context.Background(), p, &mirror, match.Options{Class: "rtk"})
	if err != nil || !r.Placement.Mirrored {
		t.Errorf("a hall's mirrored axes not found: %v", err)
	}
}
