package measure

import (
	"math"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/sim"
	"ringcraft/internal/strides"
	"ringcraft/internal/terms"
	"ringcraft/internal/track"
)

// TestTempoLoss: strides of 1.1 s before a turn and of 1.1, 1.4 s in it.
func TestTempoLoss(t *testing.T) {
	p := compiled(t, turnsSheet)
	n := movementWith(t, p, terms.TurnOnHaunches)
	tr := sim.Ride(p, sim.Faults{}, 1)
	r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.02, Heading: true, HeadingSDDeg: 1}, "survey", 1)
	at := find(Ride(p, r, Options{}).Of(n), "turn size").AtS
	for _, c := range []struct {
		inTurn, want float64
		verdict      string
	}{{1.1, 0, OK}, {1.4, 100 * (1 - 1.1/1.4), "losing tempo"}} {
		span := strides.Span{Start: track.Seconds(*at - 20), End: track.Seconds(*at + 20), Pace: gait.Walk}
		for s := *at - 20; s < *at+20; {
			d := 1.1
			if math.Abs(s+d/2-*at) < 3.4 {
				d = c.inTurn
			}
			span.Strides = append(span.Strides, strides.Stride{T: track.Seconds(s), Duration: track.Seconds(d)})
			s += d
		}
		r.Strides = &strides.Result{RateHz: 100, Spans: []strides.Span{span}}
		m := find(Ride(p, r, Options{}).Of(n), "tempo loss")
		if m == nil || m.Value == nil || math.Abs(*m.Value-c.want) > 4 || m.Verdict != c.verdict {
			t.Errorf("strides of %.1f s in the turn: %+v, want %.1f %s", c.inTurn, m, c.want, c.verdict)
		}
	}
	r.Strides = nil
	if m := find(Ride(p, r, Options{}).Of(n), "tempo loss"); m == nil || m.Value != nil || m.LimitedBy == "" {
		t.Errorf("without motion data: %+v", m)
	}
}
