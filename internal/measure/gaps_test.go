package measure

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// Whatever a gap hides, a review can be written down: no number in it is endless, and what is asked
// does not hang on what was recorded.
func TestGapsLeaveNumbersThatCanBeWritten(t *testing.T) {
	p := compiled(t, longSheet)
	asked := map[string]float64{}
	for seed := range uint64(6) {
		s, err := sim.Profile("rtk")
		if err != nil {
			t.Fatal(err)
		}
		if seed > 0 {
			s.GapEvery, s.GapS = 15+5*gait.Seconds(seed), 8
		}
		rec, err := track.Import(bytes.NewReader(sim.Record(sim.Ride(p, sim.Faults{}, seed), s, seed)), track.ImportOptions{File: "ride.csv"})
		if err != nil {
			t.Fatal(err)
		}
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk"})
		if err != nil {
			t.Fatal(err)
		}
		set := Ride(p, r, Options{})
		if _, err := json.Marshal(set); err != nil {
			t.Errorf("gaps of 8 s every %.0f s: %v", s.GapEvery, err)
		}
		if _, err := json.Marshal(Paces(p, r, Options{})); err != nil {
			t.Errorf("paces, gaps of 8 s every %.0f s: %v", s.GapEvery, err)
		}
		for _, m := range set {
			for _, x := range m.Measures {
				if x.What != "gain" && x.What != "held" || x.Asked == nil {
					continue
				}
				if want, ok := asked[fmt.Sprint(m.Number, " ", x.What)]; ok && want != *x.Asked {
					t.Errorf("gaps every %.0f s, movement %d: %s asked %g, without gaps %g", s.GapEvery, m.Number, x.What, *x.Asked, want)
				}
				asked[fmt.Sprint(m.Number, " ", x.What)] = *x.Asked
			}
		}
	}
	if len(asked) == 0 {
		t.Error("the sheet asks no gain")
	}
}
