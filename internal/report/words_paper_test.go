package report

import (
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/remarks"
)

// TestKeptWordsLeadTheReport: what the trainer kept for the rider stands in a movement's entry in
// place of what was found; other movements keep theirs.
func TestKeptWordsLeadTheReport(t *testing.T) {
	found := []diagnose.Loss{{Reason: "circle too large", Marks: 1, Reach: diagnose.Now}}
	p := Paper{Words: []remarks.Wording{
		{Movement: 3, Seen: "wide at the fence", Where: "movement 3, E", Do: "look to the post"},
		{Movement: 3, Seen: "nice bend"},
	}}
	got := p.line(&ReviewMovement{Number: 3, Letters: "E", Text: "Circle left 10 m", Lost: found})
	if want := "Wide at the fence. Look to the post. Nice bend."; !strings.HasSuffix(got, want) || strings.Contains(got, "too large") {
		t.Errorf("got %q, want it to end with %q", got, want)
	}
	if got := p.line(&ReviewMovement{Number: 4, Letters: "B", Text: "Circle right 10 m", Lost: found}); !strings.Contains(got, "circle too large") {
		t.Errorf("movement 4: %q", got)
	}
}
