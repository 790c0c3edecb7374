package match_test

import (
	"math"
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
)

// TestNominal checks spans without a recording: by the plan's clock, and drawn to taps.
func TestNominal(t *testing.T) {
	p := plan(t)
	for i, s := range match.Nominal(p, match.Options{Start: 10}) {
		mv := p.Movements[i]
		if s.Movement != mv.Number || s.Source != "nominal" || math.Abs(float64(s.Start-mv.StartS-10)) > 1e-9 || math.Abs(float64(s.End-mv.EndS-10)) > 1e-9 {
			t.Errorf("movement %d: %+v", mv.Number, s)
		}
		if i > 0 && s.SD < 0.7 {
			t.Errorf("movement %d is sure to %.2f s without a recording", mv.Number, float64(s.SD))
		}
	}
	taps := map[int]gait.Seconds{3: 60, 4: 95, 9: 200}
	spans := match.Nominal(p, match.Options{Taps: taps})
	for i, s := range spans {
		if want, ok := taps[s.Movement]; ok && math.Abs(float64(s.Start-want)) > 1e-9 {
			t.Errorf("movement %d starts at %.1f, tapped at %.1f", s.Movement, float64(s.Start), float64(want))
		}
		if (s.Source == "taps") != (s.Movement == 3) { // start and end tapped
			t.Errorf("movement %d has source %q", s.Movement, s.Source)
		}
		if i > 0 && s.Start < spans[i-1].Start {
			t.Errorf("movement %d starts before the one before it", s.Movement)
		}
	}
}

// TestCheckTaps checks what is said of taps that cannot be.
func TestCheckTaps(t *testing.T) {
	p := plan(t)
	for _, c := range []struct {
		taps map[int]gait.Seconds
		want string
	}{
		{map[int]gait.Seconds{99: 5}, "movement 99"},
		{map[int]gait.Seconds{2: 50, 3: 40}, "movement 3"},
		{map[int]gait.Seconds{2: gait.Seconds(math.NaN())}, "movement 2"},
	} {
		errs := match.CheckTaps(p, c.taps)
		if len(errs) != 1 || !strings.Contains(errs[0].Error(), c.want) {
			t.Errorf("%v: %v, want one with %q", c.taps, errs, c.want)
		}
	}
	if errs := match.CheckTaps(p, map[int]gait.Seconds{1: 0, 2: 20, 14: 200}); len(errs) != 0 {
		t.Errorf("good taps: %v", errs)
	}
}
