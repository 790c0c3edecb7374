package match_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/sim"
)

// TestEndsOnce: after the salute the rider walks on up the centre line, over the line that
// opened the test, and out by the track. The test has been ridden whole all the same.
func TestEndsOnce(t *testing.T) {
	p := plan(t)
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.1, Speed: 0.02}}, 3)
	var b bytes.Buffer
	b.Write(sim.Record(tr, sim.Sensor{WhiteSD: 0.03}, 3))
	rng := rand.New(rand.NewPCG(3, 3))
	x, y, at := float64(tr.Samples[len(tr.Samples)-1].X), 20.0, float64(tr.End)+14
	for i := range 300 { // down to A, up the centre line again, to the left at C
		s := 1.6 * 0.1 * float64(i)
		px, py := x, y-14+s
		if py > 38 {
			px, py = x-(py-38), 38
		}
		fmt.Fprintf(&b, "%.3f,%.3f,%.3f\n", at+0.1*float64(i), px+0.03*rng.NormFloat64(), py+0.03*rng.NormFloat64())
	}
	r, err := match.Align(context.Background(), p, imported(t, b.Bytes()), match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	if worst, found := spanErrors(t, r, tr); found != len(p.Movements) || worst > 1 {
		t.Errorf("%d of %d movements, worst start %.1f s", found, len(p.Movements), worst)
	}
	for _, d := range r.Departures {
		if d.Kind != "stopped" {
			t.Errorf("%+v", d)
		}
	}
}

// TestHalfSpeed: a green horse goes through the whole test at half and at a third of the
// plan's speed; its trot is no walk elsewhere.
func TestHalfSpeed(t *testing.T) {
	p := plan(t)
	for _, k := range []float64{0.5, 0.33} {
		slow := map[gait.Variety]float64{}
		for _, v := range gait.Varieties() {
			slow[v] = k
		}
		r, tr := aligned(t, p, sim.Faults{Speed: slow, Wobble: sim.Wobble{LineSD: 0.1, Speed: 0.02}}, sim.Sensor{WhiteSD: 0.05}, "rtk", 4)
		if worst, found := spanErrors(t, r, tr); found != len(p.Movements) || worst > 2.5 {
			t.Errorf("%g of the speed: %d of %d movements, worst start %.1f s", k, found, len(p.Movements), worst)
		}
		for _, d := range r.Departures {
			t.Errorf("%g of the speed: %+v", k, d)
		}
	}
}

// TestTwoRides: a recorder left running over two rides of the test. The second counts from
// its own entry, and the going back is said.
func TestTwoRides(t *testing.T) {
	p := plan(t)
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.1, Speed: 0.02}}, 5)
	first := sim.Record(tr, sim.Sensor{WhiteSD: 0.03}, 5)
	later := float64(tr.End) + 60
	var b bytes.Buffer
	b.Write(first)
	for _, line := range bytes.Split(first, []byte("\n"))[2:] {
		var at, x, y float64
		if n, _ := fmt.Sscanf(string(line), "%f,%f,%f", &at, &x, &y); n == 3 {
			fmt.Fprintf(&b, "%.3f,%.4f,%.4f\n", at+later, x, y)
		}
	}
	r, err := match.Align(context.Background(), p, imported(t, b.Bytes()), match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Spans) != len(p.Movements) || float64(r.Spans[0].Start) < later-1 {
		t.Errorf("%d movements, the first from %.0f s; the second ride enters at %.0f s", len(r.Spans), float64(r.Spans[0].Start), later)
	}
	said := false
	for _, d := range r.Departures {
		said = said || d.Kind == "ridden again"
		if d.Kind == "left out" {
			t.Errorf("%+v", d)
		}
	}
	if !said || !strings.Contains(r.SecondRide(), "second ride") {
		t.Errorf("two rides, and nothing is said of it: %+v", r.Departures)
	}
}
