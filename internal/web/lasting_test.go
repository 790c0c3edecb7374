package web

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// stuck is a store of recordings that keeps and gives nothing until it is let go or given up.
type stuck struct {
	logbook.Recordings
	asked, let chan struct{}
}

func stick(b *logbook.Book) *stuck {
	s := &stuck{b.Recordings, make(chan struct{}, 9), make(chan struct{})}
	b.Recordings = s
	return s
}

func (s *stuck) wait(ctx context.Context) error {
	s.asked <- struct{}{}
	select {
	case <-s.let:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s *stuck) Put(ctx context.Context, r io.Reader, limit int64) (logbook.Blob, error) {
	if err := s.wait(ctx); err != nil {
		return logbook.Blob{}, err
	}
	return s.Recordings.Put(ctx, r, limit)
}

func (s *stuck) Read(ctx context.Context, sum string, limit int64) ([]byte, error) {
	if err := s.wait(ctx); err != nil {
		return nil, err
	}
	return s.Recordings.Read(ctx, sum, limit)
}

// impatient is a site on which everything lasts.
func impatient(b *logbook.Book) http.Handler {
	return New(Config{Book: b, Patience: 20 * time.Millisecond, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
}

// browse asks as a browser does, from a page of the site.
func browse(h http.Handler, method, path string, body io.Reader, head ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, body)
	r.Header.Set("Accept", "text/html,*/*")
	r.Header.Set("Referer", "http://"+r.Host+"/from/here")
	for i := 0; i+1 < len(head); i += 2 {
		r.Header.Set(head[i], head[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// lastingRide sends a ride with a recording and returns the address of its work, and the store that holds it up.
func lastingRide(t *testing.T) (b *logbook.Book, h http.Handler, s *stuck, at string) {
	t.Helper()
	b, _, pair := smallYard(t)
	s, h = stick(b), impatient(b)
	form, kind := multipartOf(t, rideFields(part{"marks", "m.csv", "movement,judge,mark,remark\n1,C,7.0,\n"})...)
	w := browse(h, "POST", pair+"/rides", form, "Content-Type", kind)
	<-s.asked
	at = w.Header().Get("Location")
	if w.Code != http.StatusSeeOther || !strings.HasPrefix(at, "/underway/") {
		t.Fatalf("%d to %q: %.300s", w.Code, at, w.Body)
	}
	return b, h, s, at
}

func ridesIn(t *testing.T, b *logbook.Book) int {
	t.Helper()
	rides, err := b.Rides(ctx, logbook.RideFilter{})
	if err != nil {
		t.Fatal(err)
	}
	return len(rides)
}

// overSoon waits for a work to be over.
func overSoon(t *testing.T, h http.Handler, at string) workState {
	t.Helper()
	for range 1000 {
		w := browse(h, "GET", at, nil, "Accept", "application/json")
		var st workState
		if err := json.Unmarshal(w.Body.Bytes(), &st); err != nil {
			t.Fatalf("%d: %.300s", w.Code, w.Body)
		}
		if st.Done {
			return st
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("the work does not end")
	return workState{}
}

// TestLastingUpload: an upload that lasts is a page with its stage; let go, it leads to the ride.
func TestLastingUpload(t *testing.T) {
	b, h, s, at := lastingRide(t)
	page := browse(h, "GET", at, nil)
	has(t, page.Body.String(), "<h1>Keeping the ride</h1>", `http-equiv="refresh"`, `role="status"`, "<progress", "Cancel</button>")
	clean(t, page.Body.String())
	if n := ridesIn(t, b); n != 0 {
		t.Errorf("%d rides while it is kept", n)
	}
	close(s.let)
	st := overSoon(t, h, at)
	if ridesIn(t, b) != 1 || !strings.HasPrefix(st.Go, "/rides/") || st.Cancelled {
		t.Errorf("%d rides, %+v", ridesIn(t, b), st)
	}
	if w := browse(h, "GET", at, nil); w.Code != http.StatusSeeOther || w.Header().Get("Location") != st.Go {
		t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
	}
	if w := browse(h, "GET", at, nil); w.Code != http.StatusNotFound {
		t.Errorf("given twice: %d", w.Code)
	}
}

// TestLastingCancelled: cancelled, nothing is stored, and the page leads back to where it was asked for.
func TestLastingCancelled(t *testing.T) {
	b, h, _, at := lastingRide(t)
	if w := browse(h, "POST", at+"/cancel", nil); w.Code != http.StatusSeeOther {
		t.Fatalf("%d", w.Code)
	}
	if st := overSoon(t, h, at); !st.Cancelled || st.Go != "" {
		t.Errorf("%+v", st)
	}
	page := browse(h, "GET", at, nil).Body.String()
	has(t, page, "Cancelled. Nothing was stored, and nothing was changed.", `href="/from/here"`)
	if strings.Contains(page, "refresh") || ridesIn(t, b) != 0 {
		t.Errorf("%d rides: %s", ridesIn(t, b), page)
	}
}

// TestLastingRefused: what cannot be read is refused after a while with the same form as at once.
func TestLastingRefused(t *testing.T) {
	b, _, pair := smallYard(t)
	h := New(Config{Book: b, Patience: time.Nanosecond, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	form, kind := multipartOf(t, rideFields(part{"marks", "m.csv", "movement,judge,mark,remark\n1,C,7.3,\n"})...)
	w := browse(h, "POST", pair+"/rides", form, "Content-Type", kind)
	if at := w.Header().Get("Location"); w.Code == http.StatusSeeOther {
		overSoon(t, h, at)
		w = browse(h, "GET", at, nil)
	}
	if w.Code != http.StatusUnprocessableEntity || ridesIn(t, b) != 0 {
		t.Errorf("%d, %d rides", w.Code, ridesIn(t, b))
	}
	has(t, w.Body.String(), "7.3", `name="marks"`, `value="2026-05-31"`)
}

// TestLastingPageIsJoined: a page opened again while it is reckoned is the same work, and its answer is given at
// its own address.
func TestLastingPageIsJoined(t *testing.T) {
	b, r := shortRide(t)
	if err := b.AddFileTo(ctx, r.ID, logbook.GivenFile{Role: logbook.RoleMarks, Name: "m.csv", Data: []byte("movement,judge,mark,remark\n1,C,7.0,\n")}); err != nil {
		t.Fatal(err)
	}
	s := stick(b)
	h := impatient(b)
	one, other := browse(h, "GET", "/rides/"+r.ID, nil), browse(h, "GET", "/rides/"+r.ID, nil)
	at := one.Header().Get("Location")
	if one.Code != http.StatusSeeOther || other.Header().Get("Location") != at || len(s.asked) != 1 {
		t.Fatalf("%d to %q, then to %q; reckoned %d times", one.Code, at, other.Header().Get("Location"), len(s.asked))
	}
	close(s.let)
	if st := overSoon(t, h, at); st.Go != "/rides/"+r.ID {
		t.Errorf("%+v", st)
	}
	if w := browse(h, "GET", at, nil); w.Header().Get("Location") != "/rides/"+r.ID {
		t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
	}
	if w := browse(h, "GET", "/rides/"+r.ID, nil); w.Code != http.StatusOK {
		t.Errorf("%d", w.Code)
	} else {
		has(t, w.Body.String(), "Movement by movement")
	}
}

// TestLastingIsNobodyElses: another's work is not there, to look at or to cancel.
func TestLastingIsNobodyElses(t *testing.T) {
	b, r := shortRide(t)
	if err := b.AddFileTo(ctx, r.ID, logbook.GivenFile{Role: logbook.RoleMarks, Name: "m.csv", Data: []byte("movement,judge,mark,remark\n1,C,7.0,\n")}); err != nil {
		t.Fatal(err)
	}
	s := stick(b)
	who := access.Owner()
	h := New(Config{Book: b, Patience: 20 * time.Millisecond, Who: func(*http.Request) access.Who { return who }, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	at := browse(h, "GET", "/rides/"+r.ID, nil).Header().Get("Location")
	for _, who = range []access.Who{{}, {Role: access.Trainer, Account: "other"}, {Role: access.Rider, Account: "r", RiderID: "x"}} {
		if g, c := browse(h, "GET", at, nil), browse(h, "POST", at+"/cancel", nil); g.Code != http.StatusNotFound || c.Code != http.StatusNotFound {
			t.Errorf("%v: %d, %d", who, g.Code, c.Code)
		}
	}
	who = access.Owner()
	close(s.let)
	if st := overSoon(t, h, at); st.Cancelled {
		t.Error("it was cancelled by another")
	}
}

// TestLastingEndsWithTheProgram: what is under way ends when the program does, and is waited for.
func TestLastingEndsWithTheProgram(t *testing.T) {
	b, _, pair := smallYard(t)
	s := stick(b)
	alive, end := context.WithCancel(ctx)
	over := make(chan struct{})
	h := New(Config{Book: b, Patience: 20 * time.Millisecond, Alive: alive, Beside: func(f func()) { go func() { f(); close(over) }() }, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	form, kind := multipartOf(t, rideFields(part{"marks", "m.csv", "movement,judge,mark,remark\n1,C,7.0,\n"})...)
	browse(h, "POST", pair+"/rides", form, "Content-Type", kind)
	<-s.asked
	end()
	<-over
	if n := ridesIn(t, b); n != 0 {
		t.Errorf("%d rides", n)
	}
}

// TestLastingFormKeepsItsFiles: in a browser the form shows the work above itself; cancelled, the chosen file
// is still chosen, and sent again it is kept.
func TestLastingFormKeepsItsFiles(t *testing.T) {
	b, _, pair := smallYard(t)
	s := stick(b)
	c, srv := tab(t, impatient(b), 390)
	file := t.TempDir() + "/m.csv"
	if err := os.WriteFile(file, []byte("movement,judge,mark,remark\n1,C,7.0,\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	send := chromedp.Click(`form[data-keep-files] button:not([type=button])`)
	do(t, c, chromedp.Navigate(srv.URL+pair+"/rides/new"), chromedp.WaitVisible("#marks"), chromedp.SetUploadFiles("#marks", []string{file}), send, chromedp.WaitVisible("[data-work] progress"))
	if !ask[bool](t, c, `document.activeElement.matches("[data-work]")`) {
		t.Error("the focus is not on what is going on")
	}
	lookAt(t, c, "lasting-form-390.png")
	do(t, c, chromedp.Click("[data-work] button"))
	until(t, c, `document.querySelector(".formfault")?.textContent.includes("Nothing was stored")`)
	if n := ask[int](t, c, `document.querySelector("#marks").files.length`); n != 1 || ridesIn(t, b) != 0 {
		t.Errorf("%d files are still chosen, %d rides", n, ridesIn(t, b))
	}
	close(s.let)
	do(t, c, send, chromedp.WaitVisible(".score"))
}

// TestLastingPageInBrowser: a ride that is being reckoned shows how far it is, and then itself.
func TestLastingPageInBrowser(t *testing.T) {
	for _, width := range []int64{390, 1280} {
		b, r := shortRide(t)
		if err := b.AddFileTo(ctx, r.ID, logbook.GivenFile{Role: logbook.RoleMarks, Name: "m.csv", Data: []byte("movement,judge,mark,remark\n1,C,7.0,\n")}); err != nil {
			t.Fatal(err)
		}
		s := stick(b)
		c, srv := tab(t, impatient(b), width)
		do(t, c, chromedp.Navigate(srv.URL+"/rides/"+r.ID), chromedp.WaitVisible("progress"))
		lookAt(t, c, fmt.Sprintf("lasting-page-%d.png", width))
		close(s.let)
		do(t, c, chromedp.WaitVisible(".score"))
		until(t, c, `location.pathname === "/rides/`+r.ID+`"`)
	}
}
