package web

import (
	"math"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// ridden stores a simulated ride of the demo's sheet and gives its review.
func ridden(t *testing.T, f sim.Faults, s sim.Sensor) (*logbook.Review, sim.Truth, http.Handler) {
	t.Helper()
	b, h, pair, _, _ := consentYard(t)
	tr := sim.Ride(rideplan.CompileText("s", demo.SheetText(), rideplan.Options{}), f, 7)
	w := sendParts(t, h, pair+"/rides", part{name: "sheet", text: "s"}, part{name: "date", text: "2026-05-31"}, part{name: "kind", text: "training"}, part{name: "recorder", text: "rtk"},
		part{name: "agreed_by", text: "Jo Holm"}, part{name: "guardian", text: "1"}, part{"track", "t.csv", string(sim.Record(tr, s, 7))})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %.300s", w.Code, w.Body)
	}
	rev, err := b.ReviewOf(ctx, strings.TrimPrefix(w.Header().Get("Location"), "/rides/"))
	if err != nil {
		t.Fatal(err)
	}
	return rev, tr, h
}

// drawn are the pieces of a strip's series as seconds of its clock and values, by its label.
func drawn(t *testing.T, s *draw.Scene, label string) [][]draw.Pt {
	t.Helper()
	data := map[string]float64{}
	for _, kv := range s.Data {
		data[kv[0]], _ = strconv.ParseFloat(kv[1], 64)
	}
	var g *draw.Group
	var grid []draw.Pt // two lines of the scale: height and value
	var find func(items []draw.Item)
	find = func(items []draw.Item) {
		for _, it := range items {
			switch it := it.(type) {
			case *draw.Group:
				if it.Class == "series" && it.Title == label {
					g = it
				}
				find(it.Items)
			case draw.Text:
				if v, err := strconv.ParseFloat(it.Words, 64); err == nil && it.Anchor == draw.End {
					grid = append(grid, draw.Pt{X: v, Y: it.At.Y - 0.9})
				}
			}
		}
	}
	find(s.Items)
	if g == nil || len(grid) < 2 {
		t.Fatalf("no series %q, scale %v", label, grid)
	}
	a, z := grid[0], grid[len(grid)-1]
	var out [][]draw.Pt
	for _, it := range g.Items {
		p, ok := it.(draw.Path)
		if !ok || p.Closed {
			continue
		}
		for _, l := range p.Lines {
			var piece []draw.Pt
			for _, q := range l {
				piece = append(piece, draw.Pt{X: data["t0"] + (q.X-data["x0"])/(data["x1"]-data["x0"])*(data["t1"]-data["t0"]), Y: a.X + (q.Y-a.Y)/(z.Y-a.Y)*(z.X-a.X)})
			}
			out = append(out, piece)
		}
	}
	return out
}

// under are the seconds that a drawn series spends under a value between two seconds.
func under(pieces [][]draw.Pt, value, from, to float64) float64 {
	sum := 0.0
	for _, p := range pieces {
		for i := 1; i < len(p); i++ {
			if mid := (p[i].X + p[i-1].X) / 2; mid >= from && mid <= to && (p[i].Y+p[i-1].Y)/2 < value {
				sum += p[i].X - p[i-1].X
			}
		}
	}
	return sum
}

// TestStripOfALateHalt: a ride that halts 2 m late and stands 4 s longer is drawn on its own clock: it
// stands as long as it did, time only runs forward, and a halt is asked before it stands. One that
// circles to try again is asked the same again. The line is broken where nothing was recorded.
func TestStripOfALateHalt(t *testing.T) {
	sensor, err := sim.Profile("rtk")
	if err != nil {
		t.Fatal(err)
	}
	rev, tr, _ := ridden(t, sim.Faults{Halts: []sim.HaltFault{{Movement: 1, Late: 2, Longer: 4}}, Retries: []sim.Excursion{{AtM: 150, Radius: 4, Left: true}}}, sensor)
	strip := speedStrip(rev)
	done, asked := drawn(t, strip, "ridden"), drawn(t, strip, "asked where they were")
	for _, p := range append(done, asked...) {
		for i := 1; i < len(p); i++ {
			if p[i].X < p[i-1].X-1e-6 {
				t.Fatalf("time runs back from %.2f to %.2f s", p[i-1].X, p[i].X)
			}
		}
	}
	stood := 0.0
	for i := 1; i < len(tr.Samples); i++ {
		a, b := tr.Samples[i-1], tr.Samples[i]
		if dt := float64(b.T - a.T); a.Movement == 1 && float64(a.Dist(b.Point)) < 0.3*dt {
			stood += dt
		}
	}
	m1 := rev.Doc.Movements[0]
	if got := under(done, 0.3, *m1.StartS, *m1.EndS); stood < 6 || math.Abs(got-stood) > 0.8 {
		t.Errorf("drawn standing %.1f s, stood %.1f s", got, stood)
	}
	if early := under(asked, 0.3, *m1.StartS, *m1.EndS) - under(done, 0.3, *m1.StartS, *m1.EndS); early < 0.4 {
		t.Errorf("a halt is asked only %.1f s longer than the rider, 2 m late, stands", early)
	}

	sensor.GapEvery, sensor.GapS = 60, 8
	rev, _, _ = ridden(t, sim.Faults{}, sensor)
	pieces := drawn(t, speedStrip(rev), "ridden")
	if len(pieces) < 4 {
		t.Errorf("%d pieces over gaps of 8 s every minute", len(pieces))
	}
	before, in := 0.0, 0.0 // the band of the line
	for _, q := range rev.Line {
		if q.Gap {
			in = max(in, q.Doubt)
		} else if q.T < 50 {
			before = max(before, q.Doubt)
		}
	}
	if in < 10*before {
		t.Errorf("the band is %.2f m in a gap of 8 s, %.2f m where it was recorded", in, before)
	}
	for i := 1; i < len(pieces); i++ {
		if hole := pieces[i][0].X - pieces[i-1][len(pieces[i-1])-1].X; hole < 2 || hole > 12 {
			t.Errorf("a hole of %.1f s for one of 8 s", hole)
		}
	}
}
