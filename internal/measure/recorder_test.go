package measure

import (
	"bytes"
	"context"
	"math"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// TestRecorderPlace puts the recorder on the poll, well ahead of the body: said so, the halt
// lies where the body stood and its doubt holds the lever's; not said, it lies too far on.
func TestRecorderPlace(t *testing.T) {
	p := compiled(t, smallSheet)
	poll, err := track.PlaceByName("poll")
	if err != nil {
		t.Fatal(err)
	}
	tr := sim.Ride(p, sim.Faults{LeverM: metres(poll.Forward)}, 1)
	rec, err := track.Import(bytes.NewReader(sim.Record(tr, sim.Sensor{WhiteSD: 0.03}, 1)), track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	value := func(recorder, what string, movement int) *Measure {
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk", Recorder: recorder})
		if err != nil {
			t.Fatal(err)
		}
		m := find(Ride(p, r, Options{}).Of(movement), what)
		if m == nil || m.Value == nil {
			t.Fatalf("no %s", what)
		}
		return m
	}
	said := value("poll", "halt place", 1)
	if math.Abs(*said.Value) > 0.1 || *said.Sigma < poll.SD*0.9 || said.LimitedBy != fromLever {
		t.Errorf("on the poll: halt place %.2f ± %.2f, limited by %s", *said.Value, *said.Sigma, said.LimitedBy)
	}
	if m := value("", "halt place", 1); math.Abs(*m.Value-poll.Forward) > 0.1 {
		t.Errorf("not said: halt place %.2f, the recorder stood at %.2f", *m.Value, poll.Forward)
	}
	if m := value("poll", "circle diameter", 3); math.Abs(*m.Value-*m.Asked) > 0.1 {
		t.Errorf("on the poll: circle %.2f m, ridden %.2f", *m.Value, *m.Asked)
	}
}
