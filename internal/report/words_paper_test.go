package report

import (
	"io"
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
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

// Paper says that it has boxes for letters which its typeface lacks, and only then.
func TestPaperSaysItsBoxes(t *testing.T) {
	for name, boxes := range map[string]bool{"Zoë Ηλία Ольга": false, "馬場": true} {
		p := tinyPlan()
		p.Name = name
		text := pdfText(t, written(t, func(w io.Writer) error { return MarkSheetPDF(w, p) }))
		if got := strings.Contains(text, "Boxes on this paper"); got != boxes {
			t.Errorf("%s: boxes said: %v", name, got)
		}
		if got := MissingLetters(p) != ""; got != boxes {
			t.Errorf("%s: missing letters said: %v", name, got)
		}
	}
}

// Papers of a sheet with errors say so on their first page.
func TestPapersSayFaults(t *testing.T) {
	p := rideplan.CompileText("f", "name: F\narena: 20 x 40\n1 A Enter in working trot\n2 Z Circle left 10 m\n", rideplan.Options{})
	script := Caller(p, CallOptions{})
	for name, f := range map[string]func(io.Writer) error{
		"one page": func(w io.Writer) error { return OnePagePDF(w, p) }, "fold": func(w io.Writer) error { return FoldSheetsPDF(w, p) },
		"marks": func(w io.Writer) error { return MarkSheetPDF(w, p) }, "call": func(w io.Writer) error { return CallPDF(w, script) },
	} {
		if got := pdfText(t, written(t, f)); !strings.Contains(got, "Not to be ridden from") || !strings.Contains(got, "line 4") {
			t.Errorf("%s does not say that the sheet has an error in line 4:\n%s", name, got)
		}
	}
}
