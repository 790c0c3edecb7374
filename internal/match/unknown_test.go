package match_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
)

// TestUnknownMetres: a recorder of unknown class that writes metres is taken for the worse of what its
// jitter allows, and that is said.
func TestUnknownMetres(t *testing.T) {
	p := plan(t)
	tr := sim.Ride(p, sim.Faults{}, 2)
	for _, c := range []struct{ white, least, most float64 }{
		{0.02, 0.03, 0.04}, // carrier phase, surveyed
		{0.04, 0.03, 0.06}, // the same at twice what is declared: the class's own row of the tables
		{0.08, 0.25, 0.31}, // a radio tag
		{0.20, 0.60, 0.80},
	} {
		r, err := match.Align(context.Background(), p, imported(t, sim.Record(tr, sim.Sensor{WhiteSD: c.white, RateHz: 10}, 2)), match.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if w := r.Noise.WanderSD; w < c.least || w > c.most {
			t.Errorf("jitter of %.2f m: slow error of %.3f m, want %.2f to %.2f", c.white, w, c.least, c.most)
		}
		if !strings.Contains(strings.Join(r.Notes, "|"), "class of recorder was not told") {
			t.Errorf("notes %q do not say what was assumed", r.Notes)
		}
	}
	r, err := match.Align(context.Background(), p, imported(t, sim.Record(tr, sim.Sensor{WhiteSD: 0.08, RateHz: 10}, 2)), match.Options{Class: "uwb"})
	if err != nil || math.Abs(r.Noise.WanderSD-0.28) > 0.08 || strings.Contains(strings.Join(r.Notes, "|"), "not told") {
		t.Errorf("told: %v, slow error %.3f m, notes %q", err, r.Noise.WanderSD, r.Notes)
	}
}
