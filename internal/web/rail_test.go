package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/recordings"
)

const railSheet = `name: Willow Ford 2
arena: 20 x 40
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m                          x2
4    FXH    Change the rein in working trot
5    A      Down the centre line
     X      Halt, salute
collective: Rider x2
`

// railBook is a book with one ride that is being ridden.
func railBook(t testing.TB) (*logbook.Book, string) {
	t.Helper()
	b := testBook()
	rec, err := recordings.Open(filepath.Join(t.TempDir(), "recordings"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { rec.Close() })
	b.Recordings = rec
	put := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	put(b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "Willow Ford 2", Version: 1, Text: railSheet}))
	put(b.PutRider(ctx, logbook.Rider{ID: "r", Name: "Ida <b>Moor</b>", Minor: true}))
	put(b.PutHorse(ctx, logbook.Horse{ID: "h", Name: "Tarn"}))
	put(b.PutCombination(ctx, logbook.Combination{ID: "c", RiderID: "r", HorseID: "h"}))
	put(b.PutRide(ctx, logbook.Ride{ID: "ride", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-06-01", Kind: logbook.Training, Opened: b.Now(), Made: b.Now()}))
	return b, "ride"
}

func send2(t testing.TB, h http.Handler, method, path, media, body string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", media)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func noteJSON(id string, seq int, more string) string {
	return fmt.Sprintf(`{"id":%q,"ride_id":"ride","device":"d","seq":%d,"at_s":%d%s}`, id, seq, seq, more)
}

func TestRailData(t *testing.T) {
	b, _ := railBook(t)
	_, body := get(t, site(t, b), "/rides/ride/rail.json")
	var rail logbook.Rail
	if err := json.Unmarshal([]byte(body), &rail); err != nil {
		t.Fatal(err)
	}
	if len(rail.Movements) != 5 || rail.Movements[2].Coefficient != 2 || len(rail.Collectives) != 1 || !rail.Riding || rail.Voice || !rail.Minor {
		t.Errorf("%+v", rail)
	}
	for i, m := range rail.Movements {
		if m.EndS <= m.StartS || (i > 0 && m.StartS < rail.Movements[i-1].StartS) {
			t.Errorf("movement %d runs from %g to %g s", m.Number, m.StartS, m.EndS)
		}
	}
	if p := rail.Movements[2].Prone; len(p) == 0 {
		t.Error("a circle is prone to nothing")
	}
	if len(rail.Faults) < 20 {
		t.Errorf("%d fault words", len(rail.Faults))
	}
}

// Notes come in once, however often and in whatever company they are sent; each is answered for.
func TestNotesOnceAndEachAnswered(t *testing.T) {
	b, _ := railBook(t)
	h := site(t, b)
	post := func(notes ...string) notesAnswer {
		t.Helper()
		w := send2(t, h, "POST", "/rides/ride/notes", "application/json", `{"notes":[`+strings.Join(notes, ",")+`]}`)
		var a notesAnswer
		if w.Code != http.StatusOK || json.Unmarshal(w.Body.Bytes(), &a) != nil {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		return a
	}
	one, two := noteJSON("a", 1, `,"kind":"mark","movement":1,"mark":"6.5"`), noteJSON("b", 2, `,"kind":"now","movement":2`)
	if a := post(one, two); len(a.Kept) != 2 {
		t.Errorf("%+v", a)
	}
	if a := post(one, two); len(a.Kept) != 2 || len(a.Refused) != 0 {
		t.Errorf("again: %+v", a)
	}
	clash := noteJSON("x", 2, `,"kind":"later"`)
	bad := noteJSON("y", 3, `,"kind":"mark","mark":"eleven"`)
	good := noteJSON("z", 4, `,"kind":"remark","text":"late"`)
	a := post(clash, bad, good)
	if len(a.Kept) != 1 || a.Kept[0] != "z" || len(a.Refused) != 2 || a.Refused[0].Why == "" {
		t.Errorf("%+v", a)
	}
	notes, _ := b.Notes(ctx, "ride")
	if len(notes) != 3 {
		t.Errorf("%d notes in the book", len(notes))
	}
}

func TestNotesBadBodies(t *testing.T) {
	b, _ := railBook(t)
	h := site(t, b)
	many := make([]string, logbook.MaxNotes+1)
	for i := range many {
		many[i] = noteJSON(fmt.Sprint("m", i), i+1, `,"kind":"later"`)
	}
	for name, c := range map[string]struct {
		body string
		want int
	}{
		"not JSON":      {"hello", 422},
		"empty":         {"", 422},
		"wrong type":    {`{"notes":"x"}`, 422},
		"deep":          {strings.Repeat(`{"notes":[`, 20000), 422},
		"trailing":      {`{"notes":[]} {}`, 422},
		"too many":      {`{"notes":[` + strings.Join(many, ",") + `]}`, 413},
		"too large":     {`{"notes":[{"text":"` + strings.Repeat("x", maxNotesBody) + `"}]}`, 413},
		"huge number":   {`{"notes":[{"seq":1e999}]}`, 422},
		"nothing":       {`{"notes":[]}`, 200},
		"foreign field": {`{"notes":[],"x":1}`, 200},
	} {
		if w := send2(t, h, "POST", "/rides/ride/notes", "application/json", c.body); w.Code != c.want {
			t.Errorf("%s: %d %s", name, w.Code, w.Body)
		}
	}
	if w := send2(t, h, "POST", "/rides/none/notes", "application/json", `{"notes":[]}`); w.Code != http.StatusNotFound {
		t.Errorf("unknown ride: %d", w.Code)
	}
}

// Sound is taken only when somebody agreed, for a minor a guardian; it comes back byte for byte;
// withdrawing the consent takes it out of the book and off the disk.
func TestSoundNeedsConsent(t *testing.T) {
	b, _ := railBook(t)
	h := site(t, b)
	piece := "\x1aE\xdf\xa3" + strings.Repeat("sound", 100)
	put := func(seq int, body string) int {
		return send2(t, h, "PUT", fmt.Sprintf("/rides/ride/sound/%d?at_s=12.5", seq), "audio/webm;codecs=opus", body).Code
	}
	if code := put(1, piece); code != http.StatusForbidden {
		t.Errorf("without consent: %d", code)
	}
	consent := func(guardian bool) int {
		return send2(t, h, "POST", "/rides/ride/consent", "application/json", fmt.Sprintf(`{"id":"k","given_by":"Jo Moor","guardian":%v}`, guardian)).Code
	}
	if code := consent(false); code != http.StatusForbidden {
		t.Errorf("a minor's own consent: %d", code)
	}
	if code := consent(true); code != http.StatusOK {
		t.Errorf("a guardian's: %d", code)
	}
	for range 2 {
		if code := put(1, piece); code != http.StatusOK {
			t.Errorf("with consent: %d", code)
		}
	}
	if code := put(1, "other bytes"); code != http.StatusConflict {
		t.Errorf("another piece under the same number: %d", code)
	}
	if code := put(2, strings.Repeat("x", maxSoundPiece+1)); code != http.StatusRequestEntityTooLarge {
		t.Errorf("too large a piece: %d", code)
	}
	status, body := get(t, h, "/rides/ride/sound/1")
	if status != http.StatusOK || body != piece {
		t.Errorf("sound came back as %d, %d bytes", status, len(body))
	}
	removed, err := b.WithdrawConsent(ctx, "r", logbook.ConsentVoice)
	if err != nil || removed != 1 {
		t.Errorf("withdrawn: %d %v", removed, err)
	}
	left := 0
	b.Recordings.Each(ctx, func(logbook.Blob) error { left++; return nil })
	if status, _ := get(t, h, "/rides/ride/sound/1"); status != http.StatusNotFound || left > 1 {
		t.Errorf("after withdrawal: status %d, %d recordings on disk", status, left)
	}
	if code := put(3, piece); code != http.StatusForbidden {
		t.Errorf("after withdrawal: %d", code)
	}
}

// TestForgetting removes a rider, a horse, a ride with all that belongs to them.
func TestForgetting(t *testing.T) {
	for name, forget := range map[string]func(*logbook.Book) error{
		"rider": func(b *logbook.Book) error { return b.ForgetRider(ctx, "r") },
		"horse": func(b *logbook.Book) error { return b.ForgetHorse(ctx, "h") },
		"ride":  func(b *logbook.Book) error { return b.ForgetRide(ctx, "ride") },
	} {
		b, _ := railBook(t)
		for _, err := range []error{
			b.NoteConsent(ctx, logbook.Consent{RiderID: "r", What: logbook.ConsentVoice, GivenBy: "Jo", Guardian: true}),
			func() error {
				_, err := b.AddSound(ctx, "ride", 1, 0, "audio/webm", strings.NewReader("s"))
				return err
			}(),
			func() error {
				_, err := b.TakeNotes(ctx, "ride", []logbook.Note{{ID: "a", RideID: "ride", Device: "d", Seq: 1, Kind: logbook.NoteLater}})
				return err
			}(),
			forget(b),
		} {
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		rides, _ := b.Rides(ctx, logbook.RideFilter{})
		notes, _ := b.Notes(ctx, "ride")
		left := 0
		b.Recordings.Each(ctx, func(logbook.Blob) error { left++; return nil })
		if len(rides)+len(notes)+left != 0 {
			t.Errorf("%s forgotten; left: %d rides, %d notes, %d recordings", name, len(rides), len(notes), left)
		}
	}
}

func TestNotesFileIntoAnotherBook(t *testing.T) {
	b, _ := railBook(t)
	h := site(t, b)
	post := func(text string) *httptest.ResponseRecorder {
		var body bytes.Buffer
		m := multipart.NewWriter(&body)
		f, _ := m.CreateFormFile("file", "notes.json")
		f.Write([]byte(text))
		m.Close()
		return send2(t, h, "POST", "/rides/ride/notes-file", m.FormDataContentType(), body.String())
	}
	from := strings.ReplaceAll(noteJSON("a", 1, `,"kind":"later"`), `"ride"`, `"elsewhere"`)
	for range 2 {
		if w := post(`{"format":"ringcraft notes","notes":[` + from + `]}`); w.Code != http.StatusSeeOther {
			t.Errorf("%d %s", w.Code, w.Body)
		}
	}
	if notes, _ := b.Notes(ctx, "ride"); len(notes) != 1 {
		t.Errorf("%d notes", len(notes))
	}
	for _, bad := range []string{"", "x", `{"format":"other","notes":[]}`, `[]`} {
		if w := post(bad); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", bad, w.Code)
		}
	}
}

func TestCloseAndReopen(t *testing.T) {
	b, _ := railBook(t)
	h := site(t, b)
	for _, c := range []struct {
		path   string
		riding bool
	}{{"close", false}, {"close", false}, {"reopen", true}, {"reopen", true}} {
		if w := send2(t, h, "POST", "/rides/ride/"+c.path, "", ""); w.Code != http.StatusSeeOther {
			t.Errorf("%s: %d", c.path, w.Code)
		}
		if r, _ := b.Ride(ctx, "ride"); r.Riding() != c.riding {
			t.Errorf("%s: riding %v", c.path, r.Riding())
		}
	}
}

// The vendored library is the one that was looked at: idb 8.0.4, build/index.js, ISC.
func TestVendoredChecksum(t *testing.T) {
	b, err := assetFiles.ReadFile("assets/idb.js")
	if err != nil {
		t.Fatal(err)
	}
	if sum := sha256.Sum256(b); hex.EncodeToString(sum[:]) != "e01b45d2e088a7197e8b41ba9b51a0876969da67cc08e6efbc3d5d7ab6ac836c" {
		t.Error("idb.js was changed")
	}
}

func TestWorkerNamesOnlyFilesThatExist(t *testing.T) {
	h := site(t, testBook())
	_, body := get(t, h, "/sw.js")
	list := body[strings.Index(body, "["):strings.Index(body, "];")]
	files := strings.Split(strings.Trim(list, "[]"), ",")
	if len(files) < 10 {
		t.Fatalf("files: %v", files)
	}
	for _, f := range files {
		if status, _ := get(t, h, strings.Trim(f, `"`)); status != http.StatusOK {
			t.Errorf("%s: %d", f, status)
		}
	}
}

func FuzzNotesBody(f *testing.F) {
	f.Add(`{"notes":[` + noteJSON("a", 1, `,"kind":"mark","movement":1,"mark":"6.5"`) + `]}`)
	f.Add(`{"notes":[{"at_s":-1e300,"seq":-1,"kind":"undo"}]}`)
	f.Add(`[`)
	b, _ := railBook(f)
	h := New(Config{Book: b})
	f.Fuzz(func(t *testing.T, body string) {
		w := send2(t, h, "POST", "/rides/ride/notes", "application/json", body)
		if w.Code >= 500 {
			t.Fatalf("%q: %d %s", body, w.Code, w.Body)
		}
	})
}

func FuzzConsentBody(f *testing.F) {
	f.Add(`{"id":"k","given_by":"Jo","guardian":true}`)
	f.Add(`{"given_by":"\u0000"}`)
	b, _ := railBook(f)
	h := New(Config{Book: b})
	f.Fuzz(func(t *testing.T, body string) {
		if w := send2(t, h, "POST", "/rides/ride/consent", "application/json", body); w.Code >= 500 {
			t.Fatalf("%q: %d %s", body, w.Code, w.Body)
		}
	})
}
