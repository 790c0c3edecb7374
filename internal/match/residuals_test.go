package match_test

import (
	"context"
	"encoding/json"
	"math"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
)

// TestDoubtOfResiduals: letters that were surveyed a metre out, with a recorder whose class
// says centimetres. What the residuals show is the least that places are doubted by.
func TestDoubtOfResiduals(t *testing.T) {
	p, g := plan(t), sim.InventedGround()
	tr := sim.Ride(p, sim.Faults{}, 1)
	rec := imported(t, sim.RecordLatLon(tr, sim.Sensor{WhiteSD: 0.03}, g, 1))
	var f map[string]any
	if err := json.Unmarshal(sim.ArenaFile(p.Board, g, "A", "C", "K", "M", "B", "E"), &f); err != nil {
		t.Fatal(err)
	}
	const metre = 1 / 111200.0 // degrees of latitude
	for i, name := range []string{"A", "C", "K", "M", "B", "E"} {
		l := f["letters"].(map[string]any)[name].(map[string]any)
		l["lat_deg"] = l["lat_deg"].(float64) + metre*float64(1-2*(i%2))
	}
	for _, said := range []float64{0, 0.02} {
		f["sd_m"] = said
		data, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk", Survey: survey(t, data)})
		if err != nil {
			t.Fatal(err)
		}
		var ss float64
		for _, x := range r.Placement.Residuals {
			ss += x.Metres * x.Metres
		}
		n := float64(len(r.Placement.Residuals))
		least := math.Sqrt(ss / (2*n - 3))
		if least < 0.4 {
			t.Fatalf("the letters fit too well: %v", r.Placement.Residuals)
		}
		if r.Placement.ShiftSD < least/math.Sqrt(n)-1e-9 {
			t.Errorf("survey said to %g m: shift doubted by %.3f m, the residuals show %.3f", said, r.Placement.ShiftSD, least/math.Sqrt(n))
		}
		if said == 0 && r.Noise.WanderSD < least-1e-9 {
			t.Errorf("wander %.3f m, the residuals show %.3f", r.Noise.WanderSD, least)
		}
	}
}
