package logbook

import (
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
)

// TestOutsideTheBoards: a ride of the whole test may come from elsewhere and go there again; one that is
// elsewhere in the test, or of which a movement was not found, is probably in another arena.
func TestOutsideTheBoards(t *testing.T) {
	plan := rideplan.CompileText("sheet", "name: Corner\narena: 20 x 40\n1 A Enter in working trot\n2 C Track left\n3 A Down the centre line\n X Halt, salute\n", rideplan.Options{})
	ride := func(spans int, outsideFrom, outsideTo int) *match.Ridden {
		r := &match.Ridden{}
		for k := range 100 {
			s := match.Sample{T: gait.Seconds(k), Point: arena.Point{X: 0, Y: 20}}
			if k >= outsideFrom && k < outsideTo {
				s.Point = arena.Point{X: 40, Y: 20}
			}
			r.Samples = append(r.Samples, s)
		}
		for i := range spans {
			r.Spans = append(r.Spans, match.Span{Movement: i + 1, Start: gait.Seconds(40 + 10*i), End: gait.Seconds(50 + 10*i)})
		}
		return r
	}
	for _, c := range []struct {
		name      string
		ridden    *match.Ridden
		complains bool
	}{
		{"all inside", ride(3, 0, 0), false},
		{"rode up to it for 40 s", ride(3, 0, 40), false},
		{"half of the test outside", ride(3, 50, 70), true},
		{"rode up, and a movement not found", ride(2, 0, 40), true},
	} {
		if got := outsideTheBoards("f", plan, c.ridden); len(got) > 0 != c.complains {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
