package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// A start written into a day gets its page, paper and calendar; a lesson has none; in dangerous
// heat nothing is planned and the page says why.
func TestShowDayPage(t *testing.T) {
	b := testBook()
	h := site(t, b)
	sheet := post(t, h, "/sheets", url.Values{"text": {exampleSheet}, "seen": {"0"}}).Header().Get("Location")
	c, err := b.AddCombination(ctx, logbook.NewCombination{Rider: "Žofie <b>Ray</b>", Horse: "Ольга"})
	if err != nil {
		t.Fatal(err)
	}
	add := func(kind string) string {
		a, err := b.AddAppointment(ctx, logbook.Appointment{CombinationID: c.ID, Date: "2026-06-07", Start: "13:05", Minutes: 10, Kind: kind, SheetID: strings.TrimPrefix(sheet, "/sheets/")})
		if err != nil {
			t.Fatal(err)
		}
		return "/day/2026-06-07/" + a.ID + "/show"
	}
	show := add("show")
	status, body := get(t, h, show+"?travel=40")
	if status != http.StatusOK {
		t.Fatalf("status %d: %s", status, body)
	}
	has(t, body, "Start at 13:05", "Žofie &lt;b&gt;Ray&lt;/b&gt; on Ольга", "13:05", "Willow Ford 2", "Little time to prepare", show+"/calendar.ics?travel=40", "Helmet")
	for file, begins := range map[string]string{"paper.pdf": "%PDF", "calendar.ics": "BEGIN:VCALENDAR\r\n"} {
		if status, body := get(t, h, show+"/"+file); status != http.StatusOK || !strings.HasPrefix(body, begins) {
			t.Errorf("%s: status %d, begins %.20q", file, status, body)
		}
	}
	if _, cal := get(t, h, show+"/calendar.ics"); !strings.Contains(cal, "DTSTAMP:20260601T090000Z") || !strings.Contains(cal, "DTSTART:20260607T130500Z") {
		t.Errorf("calendar without the stamp or the start:\n%s", cal)
	}
	if status, body := get(t, h, show+"?temp=40&humidity=80"); status != http.StatusForbidden || !strings.Contains(body, "formfault") {
		t.Errorf("40 degrees: status %d", status)
	}
	if status, _ := get(t, h, add("lesson")); status != http.StatusNotFound {
		t.Errorf("a lesson's show day: status %d", status)
	}
}
