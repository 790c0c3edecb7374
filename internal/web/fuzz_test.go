package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// heap keeps recordings in memory: fuzzing has no use for a disk.
type heap map[string][]byte

func (h heap) Put(_ context.Context, r io.Reader, limit int64) (logbook.Blob, error) {
	b, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return logbook.Blob{}, err
	}
	if int64(len(b)) > limit {
		return logbook.Blob{}, logbook.Errorf(logbook.TooLarge, "too large")
	}
	sum := sha256.Sum256(b)
	h[hex.EncodeToString(sum[:])] = b
	return logbook.Blob{SHA256: hex.EncodeToString(sum[:]), Size: int64(len(b))}, nil
}

func (h heap) Open(_ context.Context, sum string) (io.ReadSeekCloser, error) {
	b, ok := h[sum]
	if !ok {
		return nil, logbook.Errorf(logbook.NotFound, "there is no such recording")
	}
	return struct {
		io.ReadSeeker
		io.Closer
	}{bytes.NewReader(b), io.NopCloser(nil)}, nil
}

func (h heap) Read(_ context.Context, sum string, _ int64) ([]byte, error) {
	b, ok := h[sum]
	if !ok {
		return nil, logbook.Errorf(logbook.NotFound, "there is no such recording")
	}
	return b, nil
}

func (h heap) Remove(_ context.Context, sum string) error { delete(h, sum); return nil }

func (h heap) Each(_ context.Context, f func(logbook.Blob) error) error {
	for sum, b := range h {
		if err := f(logbook.Blob{SHA256: sum, Size: int64(len(b))}); err != nil {
			return err
		}
	}
	return nil
}

// target is a site whose book is made anew for every input.
type target struct {
	book   *logbook.Book
	site   http.Handler
	writes []Route
	reads  []Route
}

func newTarget() *target {
	g := &target{book: testBook()}
	gate := NewGate(GateOptions{Guard: fuzzGuard, Sessions: noSessions{}, Log: slog.New(slog.DiscardHandler), QR: func(string) (string, error) { return "", nil }})
	// passwords and codes have fuzz targets of their own: hashing one takes a tenth of a second
	extra := gate.personRoutes()
	for _, r := range append(Routes(), extra...) {
		if r.Method == "GET" {
			g.reads = append(g.reads, r)
		} else {
			g.writes = append(g.writes, r)
		}
	}
	g.site = New(Config{Book: g.book, Extra: extra, Log: slog.New(slog.DiscardHandler), Who: func(*http.Request) access.Who { return access.Owner() }})
	return g
}

// fresh fills the book as it was for every other input.
func (g *target) fresh(t testing.TB) {
	t.Helper()
	b := g.book
	b.Store, b.Recordings = logbook.NewMemory(), heap{}
	now := b.Now()
	for _, err := range []error{
		b.PutYard(ctx, logbook.Yard{ID: "y", Name: "Ashgrove"}),
		b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "Willow Ford 2", Version: 1, Text: railSheet}),
		b.PutRider(ctx, logbook.Rider{ID: "r", Name: "Ida"}),
		b.PutHorse(ctx, logbook.Horse{ID: "h", Name: "Tarn"}),
		b.PutCombination(ctx, logbook.Combination{ID: "c", RiderID: "r", HorseID: "h", YardID: "y"}),
		b.PutRide(ctx, logbook.Ride{ID: "ride", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-06-01", Kind: logbook.Training, Opened: now, Made: now}),
		b.PutRide(ctx, logbook.Ride{ID: "ride2", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-05-01", Kind: logbook.Show, Made: now}),
		b.PutLesson(ctx, logbook.Lesson{ID: "l", CombinationID: "c", Date: "2026-06-01", Minutes: 45, Plan: "{}", Made: now}),
		b.PutConsent(ctx, logbook.Consent{ID: "k", RiderID: "r", What: logbook.ConsentVoice, GivenBy: "Ida", Given: now}),
		b.PutConsent(ctx, logbook.Consent{ID: "k2", RiderID: "r", What: logbook.ConsentRide, GivenBy: "Ida", Given: now}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

// path fills a pattern: with things that are there, or with what the input says.
func (g *target) path(pattern, wild string) string {
	if wild == "" {
		ids := map[string]string{"rides": "ride", "combinations": "c", "sheets": "s", "riders": "r", "horses": "h", "lessons": "l"}
		pattern = strings.NewReplacer("{one}", "ride", "{other}", "ride2", "{date}", "2026-06-01", "{role}", "track").Replace(pattern)
		pattern = strings.Replace(pattern, "{id}", ids[strings.Split(pattern, "/")[1]], 1)
		wild = "1"
	}
	return wildcard.ReplaceAllLiteralString(strings.Replace(pattern, "{$}", "", 1), url.PathEscape(wild))
}

// send asks, and holds the answer to what every answer promises: no fault inside, and whatever was
// sent never comes out as markup that does something.
func (g *target) send(t *testing.T, method, path, media, body string) {
	t.Helper()
	r := httptest.NewRequest(method, "/", strings.NewReader(body))
	u, err := url.Parse(path)
	if err != nil {
		return // no client can ask that
	}
	r.URL, r.RequestURI = u, path
	r.Header.Set("Content-Type", media)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := httptest.NewRecorder()
	g.site.ServeHTTP(w, r)
	if w.Code >= 500 {
		t.Fatalf("%s %s (%s) %q: %d %s", method, path, media, body, w.Code, w.Body)
	}
	if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		for _, bad := range forbidden(w.Body.String()) {
			t.Fatalf("%s %s (%s) %q: %s", method, path, media, body, bad)
		}
	}
}

// bodies are what the forms of the site send, one after the other, and what nobody should.
func bodies() (forms, multiparts, jsons []string) {
	all := url.Values{}
	for k, v := range map[string]string{"name": "Ida", "rider": "r", "horse": "h", "yard": "y", "sheet": "s", "text": railSheet, "date": "2026-06-01", "start": "09:30",
		"at": "3.5", "minutes": "45", "kind": "lesson", "movement": "1", "mark": "6.5", "judge": "C", "what": "voice", "given_by": "Jo", "guardian": "on",
		"to": "2", "index": "0", "days": "7", "load": "2", "level": "novice", "lines": "A | Enter", "then": "x", "seen": "1", "replaces": "", "temp": "21",
		"humidity": "60", "id": "own-1", "place": "indoors", "usual": "x", "commentary": "x", "clip1": "6.0"} {
		all.Set(k, v)
	}
	forms = []string{all.Encode(), "name=" + url.QueryEscape(hostile), "%zz", "name=%00%ff&name=2", "mark=NaN&minutes=1e9&date=9999-99-99", strings.Repeat("a=b&", 3000)}
	var file strings.Builder
	for k := range all {
		file.WriteString("--b\r\nContent-Disposition: form-data; name=\"" + k + "\"\r\n\r\n" + all.Get(k) + "\r\n")
	}
	for k, v := range map[string]string{"track": "t_s,x_m,y_m\n0,0,0\n1,0,2\n", "marks": "movement,judge,mark,remark\n1,C,6.5,x\n", "file": `{"format":"ringcraft notes","notes":[]}`} {
		file.WriteString("--b\r\nContent-Disposition: form-data; name=\"" + k + "\"; filename=\"../../" + k + "\"\r\nContent-Type: text/plain\r\n\r\n" + v + "\r\n")
	}
	multiparts = []string{file.String() + "--b--\r\n", "--b\r\n", "--b\r\nContent-Disposition: form-data; name=\"x\"; filename=\"\x00\"\r\n\r\n", ""}
	jsons = []string{`{"notes":[` + noteJSON("a", 1, `,"kind":"mark","movement":1,"mark":"6.5"`) + `]}`, `{"steps":[{"id":"a","lesson_id":"l","seq":1,"kind":"begun","block":0,"at_s":1}]}`,
		`{"id":"k","given_by":"Jo","guardian":true}`, `[`, strings.Repeat("[", 20000), `{"notes":[{"at_s":-1e300}]}`}
	return forms, multiparts, jsons
}

// FuzzForms sends any bytes to every address that changes something, as each kind of body.
func FuzzForms(f *testing.F) {
	g := newTarget()
	forms, multiparts, jsons := bodies()
	kinds := []string{"application/x-www-form-urlencoded", "multipart/form-data; boundary=b", "application/json", "text/plain"}
	for i := range g.writes {
		for kind, list := range [][]string{forms, multiparts, jsons} {
			for _, body := range list {
				f.Add(uint8(i), uint8(kind), "", body)
			}
		}
	}
	f.Fuzz(func(t *testing.T, route, kind uint8, wild, body string) {
		g.fresh(t)
		r := g.writes[int(route)%len(g.writes)]
		path := g.path(r.Pattern, wild)
		g.send(t, r.Method, path, kinds[int(kind)%len(kinds)], body)
		pages := []string{"/", "/people", "/rides/ride", "/combinations/c", "/day/2026-06-01"} // what was stored is shown
		g.send(t, "GET", pages[(int(route)+int(kind)+len(body))%len(pages)], "", "")
	})
}

// FuzzAddresses asks for every address that reads, with any bytes in its places and its query.
func FuzzAddresses(f *testing.F) {
	g := newTarget()
	for i := range g.reads {
		for _, wild := range []string{"", "none", "..", hostile, "\x00", "9999-99-99", strings.Repeat("x", 3000)} {
			f.Add(uint8(i), wild, "at=3&name=x&page=-1")
		}
		f.Add(uint8(i), "", "minutes=1e9&date="+url.QueryEscape(hostile)+"&x=%zz")
	}
	f.Fuzz(func(t *testing.T, route uint8, wild, query string) {
		g.fresh(t)
		g.send(t, "GET", g.path(g.reads[int(route)%len(g.reads)].Pattern, wild)+"?"+query, "", "")
	})
}

// FuzzSession throws bytes at the cookie and at the link of a guest: nobody comes in by it, and
// nothing breaks.
func FuzzSession(f *testing.F) {
	g := NewGate(GateOptions{Log: slog.New(slog.DiscardHandler), Sessions: noSessions{}, Guard: fuzzGuard, TLS: true})
	g.pairs = access.NewLimit(time.Nanosecond, 1<<30) // every input is looked at
	h := New(Config{Book: testBook(), Who: g.Who, Extra: g.Routes(), Around: g.Around(), Log: slog.New(slog.DiscardHandler)})
	for _, s := range []string{"", "x", strings.Repeat("A", 43), "\x00", "a; ringcraft=b", strings.Repeat("long", 4000)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, secret string) {
		for _, path := range []string{"/", "/me", "/guest/" + url.PathEscape(secret)} {
			r := httptest.NewRequest("GET", "/", nil)
			u, err := url.Parse(path)
			if err != nil {
				continue
			}
			r.URL = u
			r.RemoteAddr = "192.168.7.30:5000"
			r.Header.Set("Cookie", "__Host-ringcraft="+secret)
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			if w.Code < 300 || w.Code >= 500 && w.Code != http.StatusServiceUnavailable {
				t.Fatalf("%q at %s: %d", secret, path, w.Code)
			}
		}
	})
}
