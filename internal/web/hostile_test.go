package web

import (
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/recordings"
)

// hostile is what a name can be: markup that ends attributes, elements, scripts and JSON.
const hostile = `x"'></textarea></script><script>alert(1)</script><img src=x onerror=alert(1)>&`

// TestHostileNamesOnEveryPage fills a book with names that are markup and walks every page there
// is: none of it may come out as markup, in HTML or in data inside a page.
func TestHostileNamesOnEveryPage(t *testing.T) {
	b := testBook()
	rec, err := recordings.Open(filepath.Join(t.TempDir(), "recordings"))
	if err != nil {
		t.Fatal(err)
	}
	defer rec.Close()
	b.Recordings = rec
	sheetText := "name: " + hostile + "\narena: 20 x 40\n1  A  Enter in working trot\n   X  Halt, salute " + hostile + "\n2  C  Track left\n"
	gate := NewGate(GateOptions{OwnerOnly: false, Guard: fuzzGuard, Sessions: noSessions{}, QR: func(string) (string, error) { return "", nil }})
	if _, err := fuzzGuard.AddAccount(ctx, hostile[:70], access.Trainer, ""); err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{
		b.PutYard(ctx, logbook.Yard{ID: "y", Name: hostile, Place: hostile, Remark: hostile}),
		b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: hostile, Version: 1, Text: sheetText}),
		b.PutRider(ctx, logbook.Rider{ID: "r", Name: hostile, Remark: hostile}),
		b.PutHorse(ctx, logbook.Horse{ID: "h", Name: hostile, Remark: hostile}),
		b.PutCombination(ctx, logbook.Combination{ID: "c", RiderID: "r", HorseID: "h", YardID: "y", Level: hostile, Remark: hostile}),
		b.PutRide(ctx, logbook.Ride{ID: "ride", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-06-01", Kind: logbook.Training, Place: hostile, MarkedBy: hostile, Taught: true, Opened: b.Now(), Made: b.Now()}),
		b.PutRide(ctx, logbook.Ride{ID: "ride2", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-05-01", Kind: logbook.Show, Place: hostile, Made: b.Now()}),
		b.PutAppointment(ctx, logbook.Appointment{ID: "a", CombinationID: "c", Date: "2026-06-01", Start: "09:00", Minutes: 45, Kind: "lesson", Remark: hostile}),
		b.PutConsent(ctx, logbook.Consent{ID: "k", RiderID: "r", What: "voice", GivenBy: hostile, Given: b.Now()}),
		func() error {
			_, err := b.TakeNotes(ctx, "ride", []logbook.Note{
				{ID: "n1", RideID: "ride", Device: "d", Seq: 1, Kind: logbook.NoteRemark, Movement: 1, Text: hostile, AtS: 3},
				{ID: "n2", RideID: "ride", Device: "d", Seq: 2, Kind: logbook.NoteMark, Movement: 1, Mark: "6.0", Judge: hostile, AtS: 4}})
			return err
		}(),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	h := New(Config{Book: b, Extra: gate.Routes(), Who: func(*http.Request) access.Who { return access.Owner() }})
	ids := map[string]string{"rides": "ride", "combinations": "c", "sheets": "s", "riders": "r", "horses": "h", "lessons": "none"}
	walked := 0
	for _, route := range append(Routes(), gate.Routes()...) {
		if route.Method != "GET" || strings.Contains(route.Pattern, ".pdf") {
			continue
		}
		path := strings.Replace(route.Pattern, "{$}", "", 1)
		path = strings.NewReplacer("{one}", "ride", "{other}", "ride2", "{date}", "2026-06-01").Replace(path)
		path = strings.Replace(path, "{id}", ids[strings.Split(path, "/")[1]], 1)
		path = wildcard.ReplaceAllString(path, "1")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
		if !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			continue
		}
		if w.Code == http.StatusOK {
			walked++
		}
		if w.Code >= 500 {
			t.Errorf("%s: %d", path, w.Code)
		}
		for _, bad := range []string{"<script>alert", "<img src=x", "</textarea></script>"} {
			if at := strings.Index(w.Body.String(), bad); at >= 0 {
				t.Errorf("%s: a name came out as markup: ...%s", path, w.Body.String()[max(0, at-120):at+40])
			}
		}
	}
	if walked < 12 {
		t.Errorf("only %d pages were seen", walked)
	}
	t.Logf("%d pages seen", walked)
}
