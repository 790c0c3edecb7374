package measure

import (
	"bytes"
	"context"
	"math"
	"testing"

	"ringcraft/internal/arena"
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

// TestRecorderTurnsWithTheHorse carries the recorder left of the rider's middle, or on a head that
// leans into the bends by two thirds of what v²/(r g) asks (a rider sits in line with a horse that
// leans so; the share is an assumption): circles come out smaller or larger all round, and the
// interval of their size holds the true one. A straight line's drift is none the worse for it.
func TestRecorderTurnsWithTheHorse(t *testing.T) {
	p := compiled(t, smallSheet)
	for _, c := range []struct {
		recorder   string
		left, lean float64
	}{{"pocket", 0.13, 0}, {"pocket", -0.13, 0}, {"helmet", 0, 0.67}} {
		tr := sim.Ride(p, sim.Faults{}, 1)
		for i := range tr.Samples {
			s := &tr.Samples[i]
			left := s.Heading.Unit().Left()
			off := c.left
			if !math.IsNaN(s.PlanM) {
				at := p.SampleAtM(metres(s.PlanM))
				off += c.lean * (2.3 - 1.3) * float64(at.Speed) * float64(at.Speed) * at.Curvature / 9.81
			}
			s.Point = arena.Point{X: s.X + off*left.X, Y: s.Y + off*left.Y}
		}
		rec, err := track.Import(bytes.NewReader(sim.Record(tr, sim.Sensor{WhiteSD: 0.01}, 1)), track.ImportOptions{File: "ride.csv"})
		if err != nil {
			t.Fatal(err)
		}
		r, err := match.Align(context.Background(), p, rec, match.Options{Class: "survey", Recorder: c.recorder})
		if err != nil {
			t.Fatal(err)
		}
		circles := 0
		for _, m := range compare(tr, Ride(p, r, Options{})) {
			switch plain(m.What) {
			case "circle diameter":
				circles++
				if math.Abs(*m.Value-m.truth) < 0.04 {
					t.Errorf("%+v: the circle of movement %d does not show the carrying at all", c, m.movement)
				}
				if math.Abs(*m.Value-m.truth) > 1.96**m.Sigma {
					t.Errorf("%+v: %s of movement %d is %.2f ± %.2f, true %.2f", c, m.What, m.movement, *m.Value, *m.Sigma, m.truth)
				}
			case "centre line drift", "line drift":
				if *m.Sigma > 0.1 {
					t.Errorf("%+v: %s ± %.2f", c, m.What, *m.Sigma)
				}
			}
		}
		if circles == 0 {
			t.Error("no circle was measured")
		}
	}
}
