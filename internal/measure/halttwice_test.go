package measure

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// TestStepsOnInTheHalt: the horse stands its time at X, goes on by a metre and a half and stands
// for 4 s more. Neither the mean of both places nor the time of both together is true of it.
func TestStepsOnInTheHalt(t *testing.T) {
	p := compiled(t, smallSheet)
	tr := sim.Ride(p, sim.Faults{Pauses: []sim.Pause{{AtM: 21.5, For: 4}}}, 1)
	set := Ride(p, ridden(t, p, tr, sim.Sensor{WhiteSD: 0.03}, "rtk", 1), Options{}).Of(1)
	for _, what := range []string{"halt place", "halt duration"} {
		if m := find(set, what); m == nil || m.Value != nil || !strings.Contains(m.LimitedBy, "did not stay where it halted") {
			t.Errorf("%s: %+v", what, m)
		}
	}
}

// joining is a recording of a ride that begins at a time of it.
func joining(t *testing.T, p *rideplan.Plan, tr sim.Truth, from float64) *match.Ridden {
	t.Helper()
	var b bytes.Buffer
	for _, line := range bytes.Split(sim.Record(tr, sim.Sensor{WhiteSD: 0.03}, 2), []byte("\n")) {
		var at, x, y float64
		if n, _ := fmt.Sscanf(string(line), "%f,%f,%f", &at, &x, &y); n < 3 {
			b.Write(append(line, '\n'))
		} else if at >= from {
			fmt.Fprintf(&b, "%.3f,%.4f,%.4f\n", at-from, x, y)
		}
	}
	rec, err := track.Import(&b, track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRecordingJoins: a recording that begins during the first halt knows where it was and how
// long it lasted at least; one that begins after it knows nothing of it.
func TestRecordingJoins(t *testing.T) {
	p := compiled(t, smallSheet)
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.05, LineM: 8, Speed: 0.01}}, 2)
	halt := 0.0
	for _, s := range tr.Samples {
		if s.PlanM >= 20 {
			halt = float64(s.T)
			break
		}
	}
	set := Ride(p, joining(t, p, tr, halt+2), Options{}).Of(1)
	if m := find(set, "halt place"); m == nil || m.Value == nil || math.Abs(*m.Value) > 0.3 {
		t.Errorf("joining in the halt: %+v", m)
	}
	if m := find(set, "halt duration"); m == nil || !strings.Contains(m.LimitedBy, "begins at the halt") || m.Verdict != OK && m.Verdict != CannotTell {
		t.Errorf("joining in the halt: %+v", m)
	}
	for _, m := range Ride(p, joining(t, p, tr, halt+9), Options{}).Of(1) {
		if strings.HasPrefix(m.What, "halt") && m.Value != nil {
			t.Errorf("joining after the halt: %s is %.2f, which was not recorded", m.What, *m.Value)
		}
	}
}
