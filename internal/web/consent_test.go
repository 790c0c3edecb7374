package web

import (
	"net/http"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/recordings"
)

// consentYard is a book with a minor, a sheet, and a recording to give.
func consentYard(t *testing.T) (b *logbook.Book, h http.Handler, pair, rider, track string) {
	t.Helper()
	b = testBook()
	rec, err := recordings.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { rec.Close() })
	b.Recordings = rec
	c, err := b.AddCombination(ctx, logbook.NewCombination{Rider: "Pia Holm", Horse: "Bo", Minor: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "S", Version: 1, Text: demo.SheetText(), Saved: b.Now()}); err != nil {
		t.Fatal(err)
	}
	_, track = get(t, site(t, demoYard(t)), "/rides/demo-quillon-1/files/track/0")
	return b, site(t, b), "/combinations/" + c.ID, c.RiderID, track
}

// TestRecordingNeedsConsent walks a recording of a minor through the form: refused without a
// guardian, taken with one, asked once, and gone when the consent is withdrawn.
func TestRecordingNeedsConsent(t *testing.T) {
	b, h, pair, rider, track := consentYard(t)
	base := []part{{name: "sheet", text: "s"}, {name: "date", text: "2026-05-31"}, {name: "kind", text: "training"}, {name: "recorder", text: "rtk"}}
	send := func(more ...part) (int, string, string) {
		w := sendParts(t, h, pair+"/rides", append(append([]part(nil), base...), more...)...)
		return w.Code, w.Body.String(), w.Header().Get("Location")
	}
	stored := func() (rides, blobs int) {
		all, err := b.Rides(ctx, logbook.RideFilter{})
		if err != nil {
			t.Fatal(err)
		}
		b.Recordings.Each(ctx, func(logbook.Blob) error { blobs++; return nil })
		return len(all), blobs
	}
	for name, more := range map[string][]part{
		"nobody":             nil,
		"the minor":          {{name: "agreed_by", text: "Pia Holm"}, {name: "guardian", text: "1"}},
		"no guardian":        {{name: "agreed_by", text: "Jo Holm"}},
		"a guardian unnamed": {{name: "agreed_by", text: "  "}, {name: "guardian", text: "1"}},
	} {
		status, body, _ := send(append(more, part{"track", "t.csv", track})...)
		if status != http.StatusForbidden || !strings.Contains(body, "minor") || !strings.Contains(body, `role="alert"`) {
			t.Errorf("%s agreed: status %d", name, status)
		}
		if rides, blobs := stored(); rides+blobs != 0 {
			t.Fatalf("%s agreed: %d rides and %d files are stored", name, rides, blobs)
		}
	}
	if status, body, _ := send(part{"motion", "m.csv", "t_s,ax_mps2,ay_mps2,az_mps2\n0,0,0,9.8\n0.1,0,0,9.8\n"}); status != http.StatusForbidden {
		t.Errorf("motion that nobody agreed to: status %d: %.200s", status, body)
	}
	if status, body, _ := send(part{"marks", "m.csv", "movement,judge,mark\n1,C,6.5\n"}); status != http.StatusSeeOther {
		t.Errorf("marks need no consent: status %d: %.200s", status, body)
	}
	status, body, at := send(part{name: "agreed_by", text: "Jo Holm"}, part{name: "guardian", text: "1"}, part{name: "worn", text: "helmet"}, part{"track", "t.csv", track})
	if status != http.StatusSeeOther {
		t.Fatalf("with a guardian: status %d: %.400s", status, body)
	}
	if _, form := get(t, h, pair+"/rides/new"); strings.Contains(form, `name="agreed_by"`) {
		t.Error("who agreed is asked again")
	}
	_, page := get(t, h, at)
	has(t, page, "circle diameter")
	list, err := b.Consents(ctx, rider)
	if err != nil || len(list) != 1 || list[0].GivenBy != "Jo Holm" || !list[0].Guardian {
		t.Errorf("noted: %+v (%v)", list, err)
	}

	n, err := b.WithdrawConsent(ctx, rider, logbook.ConsentRide)
	if err != nil || n != 1 {
		t.Fatalf("withdrawn: %d files, %v", n, err)
	}
	if _, blobs := stored(); blobs != 1 { // the marks
		t.Errorf("%d files are left, want the marks alone", blobs)
	}
	if _, page = get(t, h, at); strings.Contains(page, "circle diameter") {
		t.Error("what was measured is still shown")
	}
	w := sendParts(t, h, at+"/files", part{"track", "t.csv", track})
	if w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "nobody has noted") {
		t.Errorf("a recording given later, after withdrawal: status %d", w.Code)
	}
	w = sendParts(t, h, at+"/files", part{"track", "t.csv", track}, part{name: "agreed_by", text: "Jo Holm"}, part{name: "guardian", text: "1"}, part{name: "worn", text: "saddle"}, part{name: "recorder", text: "uwb"})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("given later with consent: status %d: %.300s", w.Code, w.Body)
	}
	ride, err := b.Ride(ctx, strings.TrimPrefix(at, "/rides/"))
	if worn := ride.AboutTrack().Worn; err != nil || worn != "saddle" || ride.Recorder != "uwb" {
		t.Errorf("worn %q, recorder %q (%v)", worn, ride.Recorder, err)
	}
}

// TestNewlyMinor: who is said to be a minor later is one from then on, and an own consent counts no
// longer.
func TestNewlyMinor(t *testing.T) {
	b := testBook()
	c, err := b.AddCombination(ctx, logbook.NewCombination{Rider: "Ada", Horse: "Bo"})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.NoteConsent(ctx, logbook.Consent{RiderID: c.RiderID, What: logbook.ConsentRide, GivenBy: "Ada"}); err != nil {
		t.Fatal(err)
	}
	if ok, err := b.Agreed(ctx, c.RiderID, logbook.ConsentRide); err != nil || !ok {
		t.Fatalf("agreed %v, %v", ok, err)
	}
	if _, err := b.AddCombination(ctx, logbook.NewCombination{Rider: "ada", Horse: "Cy", Minor: true}); err != nil {
		t.Fatal(err)
	}
	if ok, err := b.Agreed(ctx, c.RiderID, logbook.ConsentRide); err != nil || ok {
		t.Errorf("a minor's own consent counts: %v, %v", ok, err)
	}
}
