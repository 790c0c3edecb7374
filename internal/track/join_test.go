package track

import (
	"strings"
	"testing"
)

func TestJoin(t *testing.T) {
	pos := importText(t, rows("time,lat,lon", "2026-05-02T09:30:%02dZ,52.%05d,5", 30, func(i int) []any { return []any{i, i} }))
	motion := importText(t, rows("time,ax,ay,az", "2026-05-02T09:30:%02d.%03dZ,0,0,9.8", 400, func(i int) []any { return []any{10 + i/25, i % 25 * 40} }))
	both, err := Join(pos, motion, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(both.Fixes) != 30 || len(both.Motion) != 400 || both.Motion[0].T != 10 || motion.Motion[0].T != 0 || len(both.Notes) != 0 {
		t.Errorf("%d fixes, %d samples from %v s; the motion itself starts at %v; notes %q", len(both.Fixes), len(both.Motion), both.Motion[0].T, motion.Motion[0].T, both.Notes)
	}
	nameless := importText(t, rows("t,ax,ay,az", "%.2f,0,0,9.8", 400, func(i int) []any { return []any{float64(i) / 25} }))
	if both, err = Join(pos, nameless, nil); err != nil || both.Motion[0].T != 0 || !strings.Contains(strings.Join(both.Notes, "|"), "same instant") {
		t.Errorf("without a clock: %v, %q", err, both.Notes)
	}
	other := importText(t, rows("time,ax,ay,az", "2026-05-03T09:30:%02d.%03dZ,0,0,9.8", 400, func(i int) []any { return []any{10 + i/25, i % 25 * 40} }))
	if _, err = Join(pos, other, nil); err == nil || !strings.Contains(err.Error(), "same ride") {
		t.Errorf("another day: %v", err)
	}
	if _, err = Join(motion, pos, nil); err == nil {
		t.Error("the wrong way round is taken")
	}
}

// TestJoinOwnClock: positions in the arena frame keep the clock of their file, which may begin
// anywhere; motion without a time of day starts with the first of them, not a minute and a half before.
func TestJoinOwnClock(t *testing.T) {
	pos := importText(t, rows("t_s,x_m,y_m", "%d,0,%d", 30, func(i int) []any { return []any{100 + i, i} }))
	motion := importText(t, rows("t,ax,ay,az", "%.2f,0,0,9.8", 400, func(i int) []any { return []any{7 + float64(i)/25} }))
	both, err := Join(pos, motion, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := both.Motion[0].T; got != both.Fixes[0].T || got != 100 {
		t.Errorf("motion starts at %v s, the positions at %v s", got, both.Fixes[0].T)
	}
}
