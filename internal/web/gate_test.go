package web

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/recordings"
	"ringcraft/internal/sqlite"
)

// door is a site behind its gate, with a store on disk and a clock that tests move.
type door struct {
	t     *testing.T
	site  http.Handler
	guard *access.Guard
	gate  *Gate
	db    *sqlite.Store
	log   bytes.Buffer
	shift time.Duration
	own   string // a ride of rider r1, being ridden
	other string // a closed ride of rider r2
	down  error  // when set, sessions cannot be read
}

// shaky is a session store that fails on demand.
type shaky struct {
	access.SessionStore
	d *door
}

func (s shaky) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	if s.d.down != nil {
		return nil, false, s.d.down
	}
	return s.SessionStore.FindCtx(ctx, token)
}

func newDoor(t *testing.T) *door {
	t.Helper()
	d := &door{t: t}
	db, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "book.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	d.db = db
	now := func() time.Time { return time.Now().Add(d.shift) }
	if d.guard, err = access.NewGuard(db.Access(now), now, rand.Reader); err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.NewTextHandler(&d.log, nil))
	d.gate = NewGate(GateOptions{Guard: d.guard, Sessions: shaky{db.Access(now), d}, Log: log, TLS: true,
		Address: "https://ringcraft-abcd.local:8443", QR: func(string) (string, error) { return "<svg></svg>", nil }, Version: "test"})
	book := testBook()
	book.Store = db
	rec, err := recordings.Open(filepath.Join(t.TempDir(), "recordings"))
	d.must(err)
	t.Cleanup(func() { rec.Close() })
	book.Recordings = rec
	d.fill(book)
	boom := Route{"GET", "/boom", access.Open, nil, func(*server, http.ResponseWriter, *http.Request) error { panic("bang") }}
	d.site = New(Config{Book: book, Who: d.gate.Who, Extra: append(d.gate.Routes(), boom), Around: d.gate.Around(), Log: log})
	return d
}

func (d *door) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d *door) fill(b *logbook.Book) {
	d.t.Helper()
	d.must(b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "Willow", Version: 1, Text: "name: Willow\n1 A Enter in working trot\n"}))
	for _, n := range []string{"1", "2"} {
		d.must(b.PutRider(ctx, logbook.Rider{ID: "r" + n, Name: "Rider " + n}))
		d.must(b.PutHorse(ctx, logbook.Horse{ID: "h" + n, Name: "Horse " + n}))
		d.must(b.PutCombination(ctx, logbook.Combination{ID: "c" + n, RiderID: "r" + n, HorseID: "h" + n}))
	}
	opened := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	d.must(b.PutRide(ctx, logbook.Ride{ID: "own", CombinationID: "c1", SheetID: "s", SheetVersion: 1, Date: "2026-06-01", Kind: logbook.Training, Opened: opened, Made: opened}))
	d.must(b.PutRide(ctx, logbook.Ride{ID: "other", CombinationID: "c2", SheetID: "s", SheetVersion: 1, Date: "2026-06-01", Kind: logbook.Training, Opened: opened, Closed: opened.Add(time.Hour), Made: opened}))
	d.must(b.PutLesson(ctx, logbook.Lesson{ID: "own", CombinationID: "c1", Date: "2026-06-01", Minutes: 45, Plan: "{}", Made: opened}))
	d.must(b.PutLesson(ctx, logbook.Lesson{ID: "other", CombinationID: "c2", Date: "2026-06-01", Minutes: 45, Plan: "{}", Made: opened}))
	d.own, d.other = "own", "other"
}

// browser keeps cookies between requests.
type browser struct {
	d      *door
	cookie *http.Cookie
	from   string
}

func (d *door) browser() *browser { return &browser{d: d, from: "192.168.7.30:5000"} }

func (b *browser) do(method, path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	r.RemoteAddr = b.from
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set("Accept", "text/html")
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if b.cookie != nil {
		r.AddCookie(b.cookie)
	}
	w := httptest.NewRecorder()
	b.d.site.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		b.cookie = c
	}
	return w
}

// as pairs a browser in a role, through the front door.
func (d *door) as(role access.Role) *browser {
	d.t.Helper()
	b := d.browser()
	switch role {
	case access.Nobody:
		return b
	case access.Guest:
		token, _, err := d.guard.NewLink(ctx, d.own, "owner", 0)
		d.must(err)
		if w := b.do("GET", "/guest/"+token, nil); w.Code != http.StatusSeeOther {
			d.t.Fatalf("guest link: %d", w.Code)
		}
		return b
	}
	a, err := d.guard.AddAccount(ctx, "person "+string(role)+fmt.Sprint(len(d.log.String())), role, map[access.Role]string{access.Rider: "r1"}[role])
	d.must(err)
	code, _, err := d.guard.NewPairing(ctx, a.ID)
	d.must(err)
	if w := b.do("POST", "/pair", url.Values{"code": {code}, "device": {"phone"}}); w.Code != http.StatusSeeOther {
		d.t.Fatalf("pairing as %s: %d %s", role, w.Code, w.Body)
	}
	return b
}

// may is the rule table by hand for this test's things: which roles pass, for the own ride being
// ridden and for the other, closed one.
var may = map[access.Rule][2]string{
	access.Open:       {"nobody guest rider scribe trainer", "nobody guest rider scribe trainer"},
	access.SignedIn:   {"rider scribe trainer", "rider scribe trainer"},
	access.RideWrite:  {"scribe trainer", "trainer"},
	access.RideRead:   {"rider scribe trainer", "trainer"},
	access.ReportRead: {"guest rider trainer", "trainer"},
	access.Homework:   {"rider trainer", "trainer"},
	access.TrainerDo:  {"trainer", "trainer"},
}

var wildcard = regexp.MustCompile(`\{[a-z]+\.{0,3}\}`)

// TestEveryRouteAsEveryRole walks all routes as every role and as nobody, for a ride of one's own
// and for another's: whom the rule does not name is refused, whom it names is not.
func TestEveryRouteAsEveryRole(t *testing.T) {
	d := newDoor(t)
	walked := 0
	for _, role := range access.Everyone() {
		name := string(role)
		if role == access.Nobody {
			name = "nobody"
		}
		b := d.as(role)
		for _, route := range append(Routes(), d.gate.Routes()...) {
			if route.Pattern == "/sign-out" || route.Pattern == "/guest/{token}" {
				continue // changes who one is; has tests of its own
			}
			allowed, known := may[route.Rule]
			if !known {
				t.Errorf("%s %s: rule %q is not in this test's table", route.Method, route.Pattern, route.Rule)
				continue
			}
			for i, id := range []string{d.own, d.other} {
				path := strings.Replace(route.Pattern, "{$}", "", 1)
				path = strings.Replace(path, "{id}", id, 1)
				path = wildcard.ReplaceAllString(path, "1")
				form := url.Values(nil)
				if route.Method != "GET" {
					form = url.Values{}
				}
				w := b.do(route.Method, path, form)
				walked++
				// a rule's refusal, told from the book's own (no consent, ride closed) by its words
				refused := (w.Code == http.StatusUnauthorized || w.Code == http.StatusForbidden) && saysRefusal(w.Body.String())
				if route.Pattern == "/sign-in" || route.Pattern == "/pair" {
					refused = false // these say 401 to wrong secrets; anyone may try
				}
				if want := !strings.Contains(allowed[i], name); refused != want {
					t.Errorf("%s %s (%s) as %s: status %d, rule %s", route.Method, path, id, name, w.Code, route.Rule)
				}
				if strings.Contains(route.Pattern, "{") {
					continue
				}
				break // an address without a ride is walked once
			}
		}
	}
	t.Logf("%d requests", walked)
}

// saysRefusal looks for the reasons that rules give.
func saysRefusal(body string) bool {
	for _, rule := range access.Rules() {
		for _, role := range access.Everyone() {
			for _, thing := range []access.Thing{{}, {RideID: "own", RiderID: "r1", Riding: true}, {RideID: "other", RiderID: "r2"}} {
				d := access.Allow(rule, access.Who{Role: role, RideID: "own", RiderID: "r1"}, thing)
				if !d.Allowed && strings.Contains(body, d.Reason) {
					return true
				}
			}
		}
	}
	return false
}

func TestRouteWithoutRuleDoesNotStart(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a site with a route without a rule started")
		}
	}()
	New(Config{Book: testBook(), Extra: []Route{{Method: "GET", Pattern: "/open-to-all", Handler: (*server).favicon}}})
}

func TestPairingFlow(t *testing.T) {
	d := newDoor(t)
	a, err := d.guard.AddAccount(ctx, "Bea", access.Scribe, "")
	d.must(err)
	code, _, err := d.guard.NewPairing(ctx, a.ID)
	d.must(err)
	b := d.browser()
	w := b.do("GET", "/pair?code="+code, nil)
	has(t, w.Body.String(), `value="`+code+`"`, "pair.js")
	if w.Header().Get("Referrer-Policy") != "no-referrer" {
		t.Error("the code may leave by the referrer")
	}
	w = b.do("POST", "/pair", url.Values{"code": {strings.ToLower(code)}, "device": {"<script>phone"}})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/me" {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	c := b.cookie
	if c.Name != "__Host-ringcraft" || !c.Secure || !c.HttpOnly || c.Path != "/" || c.Domain != "" || c.SameSite != http.SameSiteLaxMode {
		t.Errorf("cookie %+v", c)
	}
	if left := time.Until(c.Expires); left < access.PairedLife-time.Hour {
		t.Errorf("a paired phone is let in for %v only", left)
	}
	if w := b.do("GET", "/me", nil); w.Code != http.StatusOK {
		t.Errorf("/me: %d", w.Code)
	}
	if w := d.browser().do("POST", "/pair", url.Values{"code": {code}}); w.Code != http.StatusUnauthorized {
		t.Errorf("second use: %d", w.Code)
	}
	trainer := d.as(access.Trainer)
	page := trainer.do("GET", "/devices", nil).Body.String()
	has(t, page, "&lt;script&gt;phone", "Bea")
	id := regexp.MustCompile(`name="device" value="([0-9a-f]+)"`)
	for _, m := range id.FindAllStringSubmatch(page, -1) {
		dev, _ := d.guard.Store().Device(ctx, m[1])
		if dev.Account == a.ID {
			trainer.do("POST", "/devices/out", url.Values{"device": {m[1]}})
		}
	}
	if w := b.do("GET", "/me", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("a device that was put out gets %d", w.Code)
	}
}

func TestSignInAndOut(t *testing.T) {
	d := newDoor(t)
	_, err := d.guard.SetPassword(ctx, "Tess", "rain on the roof")
	d.must(err)
	b := d.browser()
	if w := b.do("POST", "/sign-in", url.Values{"name": {"Tess"}, "password": {"rain on the roo"}}); w.Code != http.StatusUnauthorized || b.cookie != nil {
		t.Errorf("wrong password: %d, cookie %v", w.Code, b.cookie)
	}
	// a session that was there before (here: a guest's) is not carried over
	token, _, err := d.guard.NewLink(ctx, d.own, "x", 0)
	d.must(err)
	b.do("GET", "/guest/"+token, nil)
	before := b.cookie.Value
	if w := b.do("POST", "/sign-in", url.Values{"name": {"tess"}, "password": {"rain on the roof"}}); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/" {
		t.Fatalf("%d", w.Code)
	}
	if b.cookie.Value == before {
		t.Error("the session token did not change at sign-in")
	}
	if w := b.do("GET", "/", nil); w.Code != http.StatusOK {
		t.Errorf("start page: %d", w.Code)
	}
	copied := *b
	b.do("POST", "/sign-out", url.Values{})
	if w := copied.do("GET", "/", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("a copied cookie still works after sign-out: %d", w.Code)
	}
}

// TestTokensAreHashedInStore reads the store's file: it holds no session token, code or link.
func TestTokensAreHashedInStore(t *testing.T) {
	d := newDoor(t)
	b := d.as(access.Scribe)
	token, _, err := d.guard.NewLink(ctx, d.own, "x", 0)
	d.must(err)
	copyPath := filepath.Join(t.TempDir(), "copy.sqlite")
	d.must(d.db.CopyTo(ctx, copyPath))
	file := readFile(t, copyPath)
	for _, secret := range []string{b.cookie.Value, token} {
		if bytes.Contains(file, []byte(secret)) {
			t.Errorf("the store holds a secret as it is")
		}
	}
}

func TestGuessingIsSlowed(t *testing.T) {
	d := newDoor(t)
	_, err := d.guard.SetPassword(ctx, "Tess", "rain on the roof")
	d.must(err)
	for _, path := range []string{"/sign-in", "/pair"} {
		b := d.browser()
		form := url.Values{"name": {"Tess"}, "password": {"wrong guess"}, "code": {"AAAA-AAAA"}}
		codes := map[int]int{}
		var last *httptest.ResponseRecorder
		for range 8 {
			last = b.do("POST", path, form)
			codes[last.Code]++
		}
		if codes[http.StatusUnauthorized] != 5 || codes[http.StatusTooManyRequests] != 3 || last.Header().Get("Retry-After") == "" {
			t.Errorf("%s: %v", path, codes)
		}
	}
	stranger, refused := d.browser(), 0
	stranger.from = "192.168.7.66:5000"
	for range 8 { // tokens of guest links
		if w := stranger.do("GET", "/guest/"+strings.Repeat("A", 43), nil); strings.Contains(w.Body.String(), "Too many tries") {
			refused++
		}
	}
	if refused != 3 {
		t.Errorf("of 8 guessed links %d were slowed, want 3", refused)
	}
	elsewhere := d.browser()
	elsewhere.from = "192.168.7.31:5000"
	if w := elsewhere.do("POST", "/sign-in", url.Values{"name": {"Tess"}, "password": {"rain on the roof"}}); w.Code != http.StatusSeeOther {
		t.Errorf("the trainer is locked out by another's guessing: %d", w.Code)
	}
	d.shift = time.Minute
	if w := d.browser().do("POST", "/pair", url.Values{"code": {"AAAA-AAAA"}}); w.Code != http.StatusUnauthorized {
		t.Errorf("after the wait: %d", w.Code)
	}
}

func TestGuestSeesOneReportUntilItEnds(t *testing.T) {
	d := newDoor(t)
	b := d.as(access.Guest)
	if w := b.do("GET", "/rides/"+d.own+"/report.pdf", nil); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "%PDF") {
		t.Errorf("the linked report: %d", w.Code)
	}
	if w := b.do("GET", "/rides/"+d.other+"/report.pdf", nil); w.Code == http.StatusOK {
		t.Error("a guest reads another report")
	}
	if w := b.do("GET", "/", nil); w.Code != http.StatusForbidden {
		t.Errorf("a guest on the start page: %d", w.Code)
	}
	d.shift = access.LinkLife + time.Minute
	if w := b.do("GET", "/", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("after its end: %d", w.Code)
	}
	if w := d.browser().do("GET", "/guest/none", nil); w.Code != http.StatusNotFound {
		t.Errorf("unknown link: %d", w.Code)
	}
}

// TestNoSecretInLog does everything that involves a secret and looks for it in the log.
func TestNoSecretInLog(t *testing.T) {
	d := newDoor(t)
	_, err := d.guard.SetPassword(ctx, "Tess", "rain on the roof")
	d.must(err)
	b := d.browser()
	b.do("POST", "/sign-in", url.Values{"name": {"Tess"}, "password": {"rain on the wall"}})
	b.do("POST", "/sign-in", url.Values{"name": {"Tess"}, "password": {"rain on the roof"}})
	page := b.do("POST", "/devices/pair", url.Values{"name": {"Bea"}, "role": {"scribe"}}).Body.String()
	code := regexp.MustCompile(`[0-9A-Z]{4}-[0-9A-Z]{4}`).FindString(page)
	link := regexp.MustCompile(`/guest/([\w-]{43})`).FindStringSubmatch(b.do("POST", "/links", url.Values{"ride": {d.own}, "note": {"owner"}}).Body.String())
	if code == "" || link == nil {
		t.Fatalf("no code or link on the page: %q %v", code, link)
	}
	d.browser().do("GET", "/pair?code="+code, nil)
	p := d.browser()
	p.do("POST", "/pair", url.Values{"code": {code}})
	d.browser().do("GET", "/guest/"+link[1], nil)
	d.down = errors.New("disk away")
	b.do("GET", "/guest/"+link[1], nil)
	log := d.log.String()
	for name, secret := range map[string]string{"wrong password": "rain on the wall", "password": "rain on the roof", "code": code,
		"link": link[1], "session": b.cookie.Value, "phone's session": p.cookie.Value} {
		if strings.Contains(log, secret) || strings.Contains(log, url.QueryEscape(secret)) {
			t.Errorf("the log holds the %s", name)
		}
	}
	for _, want := range []string{"sign-in refused", `route="POST /pair"`, "role=trainer", "status=303", `route="GET /guest/{token}"`} {
		if !strings.Contains(log, want) {
			t.Errorf("the log lacks %q:\n%s", want, log)
		}
	}
}

func TestStoreAwayIsNotPutOut(t *testing.T) {
	d := newDoor(t)
	b := d.as(access.Scribe)
	d.down = errors.New("database is locked")
	if w := b.do("GET", "/me", nil); w.Code != http.StatusServiceUnavailable {
		t.Errorf("store away: %d", w.Code)
	}
	d.down = nil
	if w := b.do("GET", "/me", nil); w.Code != http.StatusOK {
		t.Errorf("store back: %d", w.Code)
	}
}

func TestForeignOriginAndHost(t *testing.T) {
	d := newDoor(t)
	r := httptest.NewRequest("POST", "/sign-in", strings.NewReader("name=x"))
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	w := httptest.NewRecorder()
	d.site.ServeHTTP(w, r)
	if w.Code != http.StatusForbidden {
		t.Errorf("a form of another site: %d", w.Code)
	}
	own := NewGate(GateOptions{OwnerOnly: true, Hosts: []string{"localhost", "127.0.0.1", "::1"}, Log: slog.New(slog.DiscardHandler), Sessions: d.db.Access(time.Now)})
	h := New(Config{Book: testBook(), Who: own.Who, Extra: own.Routes(), Around: own.Around()})
	for host, want := range map[string]int{"localhost:8080": 200, "127.0.0.1:8080": 200, "[::1]:8080": 200, "evil.example": 421, "evil.example:8080": 421, "localhost.evil.example": 421} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("host %s: %d, want %d", host, w.Code, want)
		}
	}
}

func TestPanicIsCaughtAndLogged(t *testing.T) {
	d := newDoor(t)
	w := d.browser().do("GET", "/boom", nil)
	if w.Code != http.StatusInternalServerError || !strings.Contains(w.Body.String(), "nothing was changed") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	if !strings.Contains(d.log.String(), "bang") || !strings.Contains(d.log.String(), "status=500") {
		t.Error("not logged")
	}
}

// What is stored about a person is shown; a name that is markup stays text; consent is noted and
// withdrawn; removal asks for the name and takes the way in along.
func TestPersonPages(t *testing.T) {
	d := newDoor(t)
	d.must(d.db.PutRider(ctx, logbook.Rider{ID: "r1", Name: "<script>Ida", Minor: true}))
	rider := d.as(access.Rider)
	b := d.as(access.Trainer)
	page := b.do("GET", "/riders/r1", nil).Body.String()
	has(t, page, "&lt;script&gt;Ida", "Rides", "All of it as a file")
	if strings.Contains(page, "<script>Ida") {
		t.Error("a name is markup")
	}
	if w := b.do("POST", "/riders/r1/consent", url.Values{"what": {"voice"}, "given_by": {"Jo"}}); w.Code != http.StatusForbidden {
		t.Errorf("a minor without a guardian: %d", w.Code)
	}
	if w := b.do("POST", "/riders/r1/consent", url.Values{"what": {"voice"}, "given_by": {"Jo"}, "guardian": {"on"}}); w.Code != http.StatusSeeOther {
		t.Errorf("guardian: %d", w.Code)
	}
	has(t, b.do("GET", "/riders/r1", nil).Body.String(), "voice: Jo agreed", "as guardian", "Withdraw")
	b.do("POST", "/riders/r1/withdraw", url.Values{"what": {"voice"}})
	has(t, b.do("GET", "/riders/r1", nil).Body.String(), "withdrawn on")
	if w := b.do("POST", "/riders/r1/forget", url.Values{"name": {"somebody"}}); w.Code != http.StatusForbidden {
		t.Errorf("removed without the name: %d", w.Code)
	}
	if w := b.do("POST", "/riders/r1/forget", url.Values{"name": {"<script>ida"}}); w.Code != http.StatusSeeOther {
		t.Errorf("removal: %d %s", w.Code, w.Body)
	}
	if w := rider.do("GET", "/me", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("the removed rider still comes in: %d", w.Code)
	}
	if _, err := d.db.Ride(ctx, d.own); logbook.CodeOf(err) != logbook.NotFound {
		t.Errorf("the removed rider's ride is still there: %v", err)
	}
	has(t, b.do("GET", "/people", nil).Body.String(), "Rider 2", "Horse 1")
}

func TestHealth(t *testing.T) {
	d := newDoor(t)
	w := d.browser().do("GET", "/health", nil)
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), `"status":"ok"`) {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	d.gate.o.Health = func(context.Context) error { return logbook.Errorf(logbook.Busy, "the disk is full") }
	w = d.browser().do("GET", "/health", nil)
	if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "the disk is full") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

// FuzzStrangersForm throws bytes at the form a stranger can reach.
func FuzzStrangersForm(f *testing.F) {
	g := NewGate(GateOptions{Log: slog.New(slog.DiscardHandler), Sessions: noSessions{}, Guard: fuzzGuard})
	g.pairs = access.NewLimit(time.Nanosecond, 1<<30) // every input is looked at
	h := New(Config{Book: testBook(), Who: g.Who, Extra: g.Routes(), Around: g.Around(), Log: slog.New(slog.DiscardHandler)})
	for _, s := range []string{"name=x&password=y", "code=7KQ2-M9XD", "%zz", "code=" + strings.Repeat("A", 5000), "name=%00%ff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, body string) {
		r := httptest.NewRequest("POST", "/pair", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code >= 500 || w.Code < 400 {
			t.Fatalf("%q: %d", body, w.Code)
		}
		if strings.Contains(w.Body.String(), "<script>") {
			t.Fatalf("%q is on the page unescaped", body)
		}
	})
}

var fuzzGuard = func() *access.Guard {
	g, err := access.NewGuard(access.NewMemory(), time.Now, rand.Reader)
	if err != nil {
		panic(err)
	}
	return g
}()

// noSessions is a session store without sessions.
type noSessions struct{}

func (noSessions) FindCtx(context.Context, string) ([]byte, bool, error)      { return nil, false, nil }
func (noSessions) CommitCtx(context.Context, string, []byte, time.Time) error { return nil }
func (noSessions) DeleteCtx(context.Context, string) error                    { return nil }
func (noSessions) Find(string) ([]byte, bool, error)                          { return nil, false, nil }
func (noSessions) Commit(string, []byte, time.Time) error                     { return nil }
func (noSessions) Delete(string) error                                        { return nil }

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
