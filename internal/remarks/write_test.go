package remarks

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// What WriteVTT writes Read reads again, to the millisecond.
func TestWriteVTTRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want []Cue
		at := 0
		for range rapid.IntRange(1, 8).Draw(t, "cues") {
			at += rapid.IntRange(1, 90000).Draw(t, "gap")
			end := at + rapid.IntRange(0, 9000).Draw(t, "length")
			want = append(want, Cue{StartS: float64(at) / 1000, EndS: float64(end) / 1000,
				Voice: rapid.SampledFrom([]string{"", "Ada Holm"}).Draw(t, "voice"),
				Text:  rapid.StringMatching(`[a-z][a-z <>&0-9.,'-]{0,30}[a-z](\n[a-z]{1,9})?`).Draw(t, "text")})
		}
		got, _ := Read("x.vtt", WriteVTT(want))
		if d := cmp.Diff(want, got, cmpopts.IgnoreFields(Cue{}, "Line"), cmpopts.EquateApprox(0, 1e-9)); d != "" {
			t.Fatal(d)
		}
	})
}
