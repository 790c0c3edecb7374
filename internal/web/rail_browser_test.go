package web

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"ringcraft/internal/logbook"
	"ringcraft/internal/recordings"
	"ringcraft/internal/sqlite"
	"ringcraft/internal/testkit"
)

// tackRoom is a server on a fixed port of loopback, over a store on disk, that can be killed and
// started again as a laptop is.
type tackRoom struct {
	t    *testing.T
	dir  string
	addr string
	srv  *http.Server
	db   *sqlite.Store
	book *logbook.Book
	// lose, when set, drops the answer to a batch of notes after it was stored: the connection
	// breaks at the worst moment.
	lose int
}

func newTackRoom(t *testing.T) *tackRoom {
	t.Helper()
	k := &tackRoom{t: t, dir: t.TempDir()}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	k.addr = l.Addr().String()
	l.Close()
	k.start()
	t.Cleanup(k.kill)
	b, _ := railBook(t)
	sheet, _ := b.Sheet(ctx, "s")
	rider, _ := b.Rider(ctx, "r")
	rider.Minor = false
	horse, _ := b.Horse(ctx, "h")
	combo, _ := b.Combination(ctx, "c")
	ride, _ := b.Ride(ctx, "ride")
	for _, err := range []error{k.book.PutSheet(ctx, sheet), k.book.PutRider(ctx, rider), k.book.PutHorse(ctx, horse), k.book.PutCombination(ctx, combo), k.book.PutRide(ctx, ride)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return k
}

func (k *tackRoom) start() {
	k.t.Helper()
	db, err := sqlite.Open(ctx, filepath.Join(k.dir, "book.sqlite"))
	if err != nil {
		k.t.Fatal(err)
	}
	rec, err := recordings.Open(filepath.Join(k.dir, "recordings"))
	if err != nil {
		k.t.Fatal(err)
	}
	k.db = db
	k.book = &logbook.Book{Store: db, Recordings: rec, Now: time.Now, NewID: testBook().NewID}
	l, err := net.Listen("tcp", k.addr)
	if err != nil {
		k.t.Fatal(err)
	}
	lossy := func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if k.lose > 0 && r.Method == "POST" && strings.HasSuffix(r.URL.Path, "/notes") {
				k.lose--
				next.ServeHTTP(discard{http.Header{}}, r)
				panic(http.ErrAbortHandler)
			}
			next.ServeHTTP(w, r)
		})
	}
	k.srv = &http.Server{Handler: New(Config{Book: k.book, Log: slog.New(slog.DiscardHandler), Around: []func(http.Handler) http.Handler{lossy}}),
		ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)}
	go k.srv.Serve(l)
}

func (k *tackRoom) kill() {
	k.srv.Close()
	k.db.Close()
}

// discard is an answer nobody gets.
type discard struct{ h http.Header }

func (d discard) Header() http.Header         { return d.h }
func (d discard) Write(b []byte) (int, error) { return len(b), nil }
func (d discard) WriteHeader(int)             {}

// phone is a real browser with a storage of its own that outlives the page and the browser.
type phone struct {
	t     *testing.T
	dir   string
	c     context.Context
	close func()
}

func newPhone(t *testing.T) *phone {
	p := &phone{t: t, dir: t.TempDir()}
	p.open()
	t.Cleanup(func() { p.close() })
	return p
}

func (p *phone) open() {
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(testkit.Browser(p.t)), chromedp.WindowSize(390, 844),
		chromedp.UserDataDir(p.dir), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-quic", true),
		chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true))
	c, stop1 := chromedp.NewExecAllocator(context.Background(), opts...)
	c, stop2 := chromedp.NewContext(c)
	c, stop3 := context.WithTimeout(c, 90*time.Second)
	p.c = c
	p.close = func() { stop3(); stop2(); stop1() }
	do(p.t, p.c, chromedp.EmulateViewport(390, 844))
}

func (p *phone) goTo(k *tackRoom) {
	p.t.Helper()
	do(p.t, p.c, chromedp.Navigate("http://"+k.addr+"/rides/ride/rail"))
	until(p.t, p.c, `document.querySelector(".state")?.dataset.here !== undefined`)
}

// click presses a button by its words, as the trainer finds it.
// click waits for a button and clicks it: what was tapped before is kept first and shown then.
func (p *phone) click(words string) {
	p.t.Helper()
	q := fmt.Sprintf(`(() => { const b = [...document.querySelectorAll("button")].find(b => b.textContent.trim().startsWith(%q) && !b.hidden); if (!b) return false; b.click(); return true; })()`, words)
	until(p.t, p.c, q)
}

func (p *phone) mark(m int) {
	p.t.Helper()
	do(p.t, p.c, chromedp.Click(fmt.Sprintf(`[data-mark="%d"]`, m)))
}

// waitKept waits until n notes in all are kept, on the phone or in the book.
func (p *phone) waitKept(n int) {
	p.t.Helper()
	until(p.t, p.c, fmt.Sprintf(`(() => { const d = document.querySelector(".state").dataset; return +d.here + +d.book === %d; })()`, n))
}

func (p *phone) waitBook(n int) {
	p.t.Helper()
	until(p.t, p.c, fmt.Sprintf(`(() => { const d = document.querySelector(".state").dataset; return +d.here === 0 && +d.book === %d; })()`, n))
}

// inBook reads the store and checks that the notes are there once and in sequence.
func inBook(t *testing.T, k *tackRoom, want int) []logbook.Note {
	t.Helper()
	notes, err := k.book.Notes(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{}
	for i, n := range notes {
		if ids[n.ID] {
			t.Errorf("note %s is there twice", n.ID)
		}
		ids[n.ID] = true
		if n.Seq != int64(i+1) {
			t.Errorf("note %d has number %d of its sequence", i+1, n.Seq)
		}
	}
	if len(notes) != want {
		t.Errorf("%d notes in the book, want %d", len(notes), want)
	}
	return notes
}

// A ride is noted from start to end in a real browser: two taps a mark, faults, now, undo.
func TestRailInBrowser(t *testing.T) {
	k := newTackRoom(t)
	p := newPhone(t)
	p.goTo(k)
	lookAt(t, p.c, "rail_390_before.png")
	p.click("Start")
	p.waitKept(1)
	p.mark(6)
	do(t, p.c, chromedp.Click(".half"))
	p.waitKept(3)
	if got := ask[string](t, p.c, `document.querySelector(".given").textContent`); got != "mark 6.5" {
		t.Errorf("after two taps: %q", got)
	}
	p.click("Now: 2 begins")
	p.waitKept(4)
	p.click("Now: 3 begins")
	p.waitKept(5)
	until(t, p.c, `document.querySelector(".this .number").textContent === "3"`) // kept first, shown then
	if got := ask[string](t, p.c, `document.querySelector(".this .number").textContent + document.querySelector(".this .coefficient").textContent`); got != "3×2" {
		t.Errorf("this movement: %q", got)
	}
	if n := ask[int](t, p.c, `document.querySelectorAll(".faults button").length`); n < 3 || n > 8 {
		t.Errorf("%d fault keys at first", n)
	}
	do(t, p.c, chromedp.Click(".faults button"))
	p.waitKept(6)
	p.mark(5)
	p.waitKept(7)
	p.click("Error of course")
	p.waitKept(8)
	lookAt(t, p.c, "rail_390.png")
	// The words that this movement is prone to can be tapped without scrolling.
	if hidden := ask[int](t, p.c, `(() => { const foot = document.querySelector(".railfoot").getBoundingClientRect().top; return [...document.querySelectorAll(".fault")].slice(0, 6).filter(b => b.getBoundingClientRect().bottom > foot + 1).length; })()`); hidden > 0 {
		t.Errorf("%d of the first six words lie under the foot", hidden)
	}
	p.click("Undo")
	p.waitKept(9)
	p.waitBook(9)
	// A gloved finger wants 12 mm both ways: 71 px on a phone whose 390 px are 66 mm.
	if small := ask[string](t, p.c, `[...document.querySelectorAll("button, input, summary")].filter(b => b.offsetParent && (b.offsetHeight < 71 || b.offsetWidth < 71)).map(b => b.textContent + " " + b.offsetWidth + "x" + b.offsetHeight).join(", ")`); small != "" {
		t.Errorf("smaller than a gloved finger: %s", small)
	}
	if over := ask[int](t, p.c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("the page is %d px too wide", over)
	}
	if bottom := ask[float64](t, p.c, `document.querySelector(".now").getBoundingClientRect().bottom`); bottom > 844 {
		t.Errorf("the now key ends at %.0f px, below the screen", bottom)
	}
	notes := logbook.Standing(inBook(t, k, 9))
	var said []string
	for _, n := range notes {
		said = append(said, fmt.Sprintf("%s %d %s", n.Kind, n.Movement, n.Mark))
	}
	want := "now 1 |mark 1 6.0|mark 1 6.5|now 2 |now 3 |fault 3 |mark 3 5.0"
	if got := strings.Join(said, "|"); got != want {
		t.Errorf("in the book: %s\nwant:        %s", got, want)
	}
}

// The book is away for most of a ride: server killed, page killed, browser killed, page opened
// again with nothing but the phone. Everything kept comes in, once, in order.
func TestRailOfflineLosesNothing(t *testing.T) {
	k := newTackRoom(t)
	p := newPhone(t)
	p.goTo(k)
	until(t, p.c, `navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready.then(() => true)`)
	until(t, p.c, `caches.open("pages").then(c => c.keys()).then(k => k.length > 0)`)
	p.goTo(k) // a second visit runs under the worker: the page itself is kept
	p.click("Start")
	p.waitBook(1)
	k.kill() // the laptop is shut
	p.mark(7)
	p.waitKept(2)
	p.click("Now: 2 begins")
	p.waitKept(3)
	if s := ask[string](t, p.c, `document.querySelector(".state").textContent`); !strings.Contains(s, "2 kept on this phone") || !strings.Contains(s, "1 in the book") {
		t.Errorf("the states read %q", s)
	}
	lookAt(t, p.c, "rail_390_offline.png")
	p.goTo(k) // the page is killed and opened without the book
	p.waitKept(3)
	if n := ask[string](t, p.c, `document.querySelector(".this .number").textContent`); n != "2" {
		t.Errorf("after the page was killed it is at movement %s", n)
	}
	if !ask[bool](t, p.c, `document.querySelector(".start").hidden`) {
		t.Error("the clock stopped when the page was killed")
	}
	p.mark(6)
	p.waitKept(4)
	p.close() // the whole browser is killed
	p.open()
	p.goTo(k)
	p.waitKept(4)
	p.mark(5) // a correction
	p.waitKept(5)
	k.lose = 1 // and when the book is back, its first answer is lost on the way
	k.start()
	p.click("Send now")
	p.waitBook(5)
	notes := inBook(t, k, 5)
	for i := 1; i < len(notes); i++ {
		if notes[i].AtS < notes[i-1].AtS {
			t.Errorf("the ride's clock went back from %g to %g s", notes[i-1].AtS, notes[i].AtS)
		}
	}
}

// A phone whose wall clock is years off, and jumps while riding, still keeps the ride's time.
func TestRailWithWrongClock(t *testing.T) {
	k := newTackRoom(t)
	p := newPhone(t)
	p.goTo(k)
	ask[bool](t, p.c, `(() => { const real = Date.now; window.off = -9 * 365 * 864e5; Date.now = () => real() + window.off; return true; })()`)
	p.click("Start")
	p.mark(6)
	p.waitKept(2)
	ask[bool](t, p.c, `(() => { window.off = 5 * 3600e3; return true; })()`) // set right, and wrong again
	p.mark(7)
	p.waitKept(3)
	p.waitBook(3)
	for _, n := range inBook(t, k, 3) {
		if n.AtS < 0 || n.AtS > 60 {
			t.Errorf("a note of the first minute is at %g s", n.AtS)
		}
	}
	// opened again under yet another clock: the gap is not believed, and it is said
	if _, err := chromedp.Run(p.c, chromedp.Evaluate[bool](`(async () => { const m = await import(document.querySelector("script[type=module]").src.replace("rail.js", "clock.js")); const c = new m.RideClock({ elapsed: 100, wall: Date.now() + 864e5, running: true }); return c.doubt && c.now() < 101 && c.now() >= 100; })()`, chromedp.EvalAwaitPromise)); err != nil {
		t.Fatal(err)
	}
	if ok, _ := chromedp.Run(p.c, chromedp.Evaluate[bool](`(async () => { const m = await import(document.querySelector("script[type=module]").src.replace("rail.js", "clock.js")); const c = new m.RideClock({ elapsed: 100, wall: Date.now() + 864e5, running: true }); return c.doubt && c.now() < 101 && c.now() >= 100; })()`, chromedp.EvalAwaitPromise)); !ok {
		t.Error("a clock that went back a day is believed")
	}
}

// Sound is recorded in pieces that are kept at once, sent when somebody agreed, and replayed from
// a remark.
func TestRailRecordsSound(t *testing.T) {
	k := newTackRoom(t)
	p := newPhone(t)
	p.goTo(k)
	p.click("Record")
	until(t, p.c, `document.querySelector("dialog[open] input") !== null`)
	lookAt(t, p.c, "rail_390_consent.png")
	ask[bool](t, p.c, `(() => { document.querySelector("dialog input").value = "Ida Moor"; document.querySelector("dialog form").requestSubmit(); return true; })()`)
	until(t, p.c, `document.querySelector(".record").textContent === "Recording"`)
	p.mark(6)
	// the page goes away in the middle of a piece: what was recorded up to then is kept
	until(t, p.c, `document.querySelector(".clock").textContent >= "0:09"`)
	p.click("Recording")
	until(t, p.c, `document.querySelector(".record").textContent === "Record"`)
	until(t, p.c, `document.querySelector(".state").dataset.sound === "0"`)
	p.waitBook(2)
	ride, err := k.book.Ride(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	pieces := ride.FilesOf(logbook.RoleAudio)
	if len(pieces) < 2 {
		t.Fatalf("%d pieces of sound in the book", len(pieces))
	}
	for i, f := range pieces {
		if i > 0 && (f.AtS <= pieces[i-1].AtS || f.AtS-pieces[i-1].AtS > 5.5) {
			t.Errorf("piece %d begins at %g s, the one before at %g s", i, f.AtS, pieces[i-1].AtS)
		}
	}
	do(t, p.c, chromedp.Navigate("http://"+k.addr+"/rides/ride/listen"))
	until(t, p.c, `document.querySelectorAll("#listen-notes button").length > 0`)
	until(t, p.c, `document.getElementById("listen-state").textContent.includes("pieces of sound")`)
	ask[bool](t, p.c, `(() => { document.querySelector("#listen-notes button").click(); return true; })()`)
	until(t, p.c, `document.getElementById("sound").readyState >= 2`)
	if e := ask[string](t, p.c, `document.getElementById("sound").error?.message ?? ""`); e != "" {
		t.Errorf("the sound cannot be played: %s", e)
	}
}

// The clock follows the plan, and a tap of "now" re-times it.
func TestFollowerRetimes(t *testing.T) {
	k := newTackRoom(t)
	p := newPhone(t)
	p.goTo(k)
	type at struct{ Before, After, Late float64 }
	got, err := chromedp.Run(p.c, chromedp.Evaluate[at](`(async () => {
		const { Follower } = await import(document.querySelector("script[type=module]").src.replace("rail.js", "clock.js"));
		const ms = [0, 20, 40, 60, 80].map((s, i) => ({ number: i + 1, start_s: s }));
		const f = new Follower(ms);
		const Before = f.indexAt(41);
		f.setTaps([{ kind: "now", movement: 1, at_s: 0 }, { kind: "now", movement: 3, at_s: 50 }]);
		return { Before, After: f.startOf(3), Late: f.indexAt(51) };
	})()`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	// 40 s planned took 50 s; with the prior of 30 s the pace is (30+50)/(30+40) = 8/7
	if got.Before != 2 || got.Late != 2 || got.After < 72.8 || got.After > 72.9 {
		t.Errorf("%+v", got)
	}
}

// A tap is on the phone's disk soon after the thumb: the time from a click to "kept", in a real
// browser, with the book away. The figures are in docs/perf/trust.md (RINGCRAFT_LOOK also takes
// pictures in the dark and wide).
func TestTapIsKeptSoon(t *testing.T) {
	k := newTackRoom(t)
	p := newPhone(t)
	p.goTo(k)
	p.click("Start")
	p.waitBook(1)
	k.kill()
	took, err := chromedp.Run(p.c, chromedp.Evaluate[[]float64](`(async () => {
		const took = [];
		for (let i = 0; i < 40; i++) {
			const want = "mark " + (i % 10) + ".0", began = performance.now();
			document.querySelector('[data-mark="' + (i % 10) + '"]').click();
			while (!document.querySelector(".given").textContent.startsWith(want)) await new Promise((f) => setTimeout(f, 1));
			took.push(performance.now() - began);
		}
		return took.sort((a, b) => a - b);
	})()`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("a tap is kept and shown after %.1f ms in the median, %.1f ms at worst of %d", took[len(took)/2], took[len(took)-1], len(took))
	p.waitKept(41)
	ask[bool](t, p.c, `(() => { document.documentElement.dataset.theme = "dark"; return true; })()`)
	lookAt(t, p.c, "rail_390_dark.png")
	do(t, p.c, chromedp.EmulateViewport(1280, 900))
	lookAt(t, p.c, "rail_1280_dark.png")
}
