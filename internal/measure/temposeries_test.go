package measure

import (
	"math"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/strides"
	"ringcraft/internal/track"
)

// TestTempoSeries counts by hand: trot at 80 strides a minute for 15 s, then at 90, a halt, and
// two strides of walk that are too few.
func TestTempoSeries(t *testing.T) {
	trot := strides.Span{Start: 10, End: 40, Pace: gait.Trot}
	for at := 10.0; at < 40; {
		d := 60.0 / 80
		if at >= 25 {
			d = 60.0 / 90
		}
		trot.Strides = append(trot.Strides, strides.Stride{T: track.Seconds(at), Duration: track.Seconds(d)})
		at += d
	}
	walk := strides.Span{Start: 45, End: 48, Pace: gait.Walk, Strides: []strides.Stride{{T: 45, Duration: 1.1}, {T: 46.1, Duration: 1.1}}}
	rec := &match.Ridden{Strides: &strides.Result{Spans: []strides.Span{trot, {Start: 40, End: 45, Pace: gait.Halt}, walk}}}
	got := TempoSeries(rec, 1)
	if len(got) != 31 || got[0].T != 10 || got[30].T != 40 {
		t.Fatalf("%d points: %v", len(got), got)
	}
	for _, p := range got {
		want := 80.0
		if p.T > 27 {
			want = 90
		}
		if (p.T < 23 || p.T > 27) && (math.Abs(p.PerMinute-want) > 1e-6 || p.Sigma > 0.003*want+1e-6) {
			t.Errorf("%v s: %.2f ± %.2f, want %.0f", p.T, p.PerMinute, p.Sigma, want)
		}
		if p.T > 24.6 && p.T < 25.4 && p.Sigma < 1 { // both tempi in one window: it says so
			t.Errorf("%v s: %.2f ± %.2f hides the change", p.T, p.PerMinute, p.Sigma)
		}
		if p.Pace != gait.Trot {
			t.Errorf("%v s: %s", p.T, p.Pace)
		}
	}
	if TempoSeries(&match.Ridden{}, 1) != nil || TempoSeries(nil, 1) != nil || TempoSeries(rec, 0) != nil {
		t.Error("a tempo without motion data")
	}
}

// TestTempoSeriesGap: twelve seconds without strides inside one span of trot. No tempo is given
// there, and none on either side is made of strides of both.
func TestTempoSeriesGap(t *testing.T) {
	trot := strides.Span{Start: 0, End: 40, Pace: gait.Trot}
	for at := 0.0; at < 40; at += 0.75 {
		if at < 14 || at > 26 {
			trot.Strides = append(trot.Strides, strides.Stride{T: track.Seconds(at), Duration: 0.75})
		}
	}
	got := TempoSeries(&match.Ridden{Strides: &strides.Result{Spans: []strides.Span{trot}}}, 1)
	if len(got) < 25 {
		t.Fatalf("%d points", len(got))
	}
	for _, p := range got {
		if p.T > 15 && p.T < 26 || math.Abs(p.PerMinute-80) > 1e-6 {
			t.Errorf("%v s: %.2f", p.T, p.PerMinute)
		}
	}
}
