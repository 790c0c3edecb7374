package match_test

import (
	"context"
	"math"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// rightSheet ends with a long side and the centre line from C: invented.
const rightSheet = `name: Elder Reach 4
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
     C      Track right
2    MB     Travers right
3    B      Circle right 8 m
4    A      Medium walk
5    E      Turn on the haunches right
6    F      Collected trot
7    C      Down the centre line
     D      Halt, salute
`

// TestDriftIsNotGoingBack: a phone whose slow error, 3 m as declared, moves by 7 m while the last
// long side is ridden lays it on the centre line. It is the long side all the same, and no second
// entry.
func TestDriftIsNotGoingBack(t *testing.T) {
	p := rideplan.CompileText("s.txt", rightSheet, rideplan.Options{})
	tr := sim.Ride(p, sim.Faults{}, 3)
	from := float64(tr.Spans[5].Start)
	for _, lean := range []float64{-6.5, -7.5} {
		rec := imported(t, sim.Record(tr, sim.Sensor{WhiteSD: 0.4, RateHz: 1}, 3))
		for i := range rec.Fixes {
			share := math.Max(0, math.Min(1, (float64(rec.Fixes[i].T)-from+15)/15))
			rec.Fixes[i].P.X += lean * share
		}
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "phone"})
		if err != nil {
			t.Fatal(err)
		}
		worst, found := spanErrors(t, r, tr)
		if found != len(p.Movements) || worst > 6 || len(r.Departures) > 0 {
			t.Errorf("drift of %g m: %d movements found, starts off by up to %.1f s, departures %+v", lean, found, worst, r.Departures)
		}
	}
}

// wrongAtC follows rightSheet the wrong way at C and halts at E when the bell rings.
const wrongAtC = `name: The other hand
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
     C      Track left
2    E      Halt, salute
`

// TestWrongWayAtC: tracked left instead of right, halted at E, came back to the centre line and
// tracked right. One error of course, with its place; nothing was ridden again and no halt of the test
// was held where it goes on.
func TestWrongWayAtC(t *testing.T) {
	p := rideplan.CompileText("s.txt", rightSheet, rideplan.Options{})
	wrong := sim.Ride(rideplan.CompileText("w.txt", wrongAtC, rideplan.Options{}), sim.Faults{}, 5)
	right := sim.Ride(p, sim.Faults{}, 5)
	for class, s := range map[string]sim.Sensor{"rtk": {WhiteSD: 0.02, RateHz: 5}, "sport": {WhiteSD: 0.3, RateHz: 5}, "phone": {WhiteSD: 0.5, RateHz: 1}} {
		rec := imported(t, sim.Record(wrong, s, 5))
		last := rec.Fixes[len(rec.Fixes)-1]
		again := imported(t, sim.Record(right, s, 6))
		back := func(f track.Fix) bool { return f.P.Y > 40 && f.T > 15 } // on the centre line, under way to C
		var joined []track.Fix
		var later float64
		for _, f := range again.Fixes {
			if len(joined) == 0 && !back(f) {
				continue
			}
			if len(joined) == 0 {
				const way = 6.0 // seconds from E back to the centre line
				later = float64(last.T) + way - float64(f.T)
				for k := 1.0; k < way; k++ {
					q := arena.Point(last.P).Lerp(arena.Point(f.P), k/way)
					joined = append(joined, track.Fix{T: last.T + track.Seconds(k), P: track.Local(q)})
				}
			}
			f.T += track.Seconds(later)
			joined = append(joined, f)
		}
		rec.Fixes = append(rec.Fixes, joined...)
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: class})
		if err != nil {
			t.Fatal(class, err)
		}
		if len(r.Departures) != 1 || r.Departures[0].Kind != "wrong turn" || r.Departures[0].Movement != 1 || math.Abs(r.Departures[0].Place.Y-56) > 6 {
			t.Errorf("%s: %+v", class, r.Departures)
		}
		for _, sp := range r.Spans {
			if want := float64(right.Spans[sp.Movement-1].Start) + later; sp.Movement > 1 && math.Abs(float64(sp.Start)-want) > 4 {
				t.Errorf("%s: movement %d starts at %.1f s, truth %.1f", class, sp.Movement, float64(sp.Start), want)
			}
		}
		if len(r.Spans) != len(p.Movements) {
			t.Errorf("%s: %d movements found", class, len(r.Spans))
		}
	}
}
