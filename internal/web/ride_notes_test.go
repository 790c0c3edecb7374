package web

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// TestNotesAreFolded: what was guessed of a file is on the page and folded; what is wrong is never.
func TestNotesAreFolded(t *testing.T) {
	list := []logbook.Problem{
		{File: "ride.csv", Severity: "note", Message: "the x and y columns give no unit <and> were taken as centimetres"},
		{File: "ride.csv", Severity: "warning", Message: "far outside"},
		{File: "ride.csv", Severity: "note", Message: "2 rows without a position were left out"},
	}
	var folded, open bytes.Buffer
	if err := rideNotes(problemsOf(list, "note")).Render(context.Background(), &folded); err != nil {
		t.Fatal(err)
	}
	if err := problems(problemsBut(list, "note")).Render(context.Background(), &open); err != nil {
		t.Fatal(err)
	}
	for _, w := range []string{"<details", "2 notes on how", "no unit &lt;and&gt; were", "2 rows without"} {
		if !strings.Contains(folded.String(), w) {
			t.Errorf("the notes lack %q:\n%s", w, folded.String())
		}
	}
	if strings.Contains(folded.String(), "far outside") || !strings.Contains(open.String(), "far outside") || strings.Contains(open.String(), "rows") {
		t.Errorf("folded %s, open %s", folded.String(), open.String())
	}
	folded.Reset()
	if err := rideNotes(nil).Render(context.Background(), &folded); err != nil || folded.Len() != 0 {
		t.Errorf("nothing to say, yet %q (%v)", folded.String(), err)
	}
}
