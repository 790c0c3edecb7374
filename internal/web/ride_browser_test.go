package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ringcraft/internal/testkit"
)

// tab opens a tab of a real browser of the given width and says where the site is.
func tab(t testing.TB, h http.Handler, width int64) (context.Context, *httptest.Server) {
	t.Helper()
	path := testkit.Browser(t)
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.WindowSize(int(width), 900),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-quic", true))
	c, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	c, cancel = chromedp.NewContext(c)
	t.Cleanup(cancel)
	do(t, c, chromedp.EmulateViewport(width, 900))
	c, cancel = context.WithTimeout(c, 90*time.Second)
	t.Cleanup(cancel)
	return c, srv
}

const said = `document.querySelector('[data-out="said"]').textContent`

// TestAnySecondOfTheRide loads the demo ride, goes to a second by address, by key, by dragging the
// strip and by clicking on the line, and reads what was asked, done and said there.
func TestAnySecondOfTheRide(t *testing.T) {
	c, srv := tab(t, site(t, demoYard(t)), 1280)
	do(t, c, chromedp.Navigate(srv.URL+"/rides/demo-quillon-1#t=50"), chromedp.WaitVisible("[data-scrub-range]"))
	until(t, c, `document.querySelector('[data-out="clock"]').textContent === "0:50"`)
	until(t, c, said+`.includes("That circle is far too large")`)
	until(t, c, `document.querySelector('[data-out="asked"]').textContent.includes("Circle left 10 m")`)
	until(t, c, `/\d\.\d m\/s/.test(document.querySelector('[data-out="done"]').textContent)`)
	until(t, c, `document.querySelector('.rc-drawing .movement.now')?.dataset.movement === "2"`)

	do(t, c, chromedp.Focus("[data-scrub-range]"), chromedp.KeyEvent(kb.ArrowRight), chromedp.KeyEvent(kb.PageUp))
	until(t, c, `document.querySelector('[data-out="clock"]').textContent === "1:01"`)
	do(t, c, chromedp.KeyEvent(kb.PageDown), chromedp.KeyEvent(kb.ArrowLeft))
	until(t, c, `document.querySelector('[data-out="clock"]').textContent === "0:50"`)
	until(t, c, `document.querySelector('[data-scrub-range]').getAttribute("aria-valuetext") === "0:50, movement 2"`)

	dragTo(t, c, 0.5)
	until(t, c, `(() => { const [m, s] = document.querySelector('[data-out="clock"]').textContent.split(":").map(Number); return Math.abs(60 * m + s - 217) < 12; })()`)
	ask[bool](t, c, `(document.querySelector("#m13 [data-jump]").click(), true)`)
	until(t, c, `document.querySelector('[data-out="movement"]').textContent.startsWith("movement 13")`)
	if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("at 1280 px the page is %d px too wide", over)
	}
}

// dragTo presses on the strip and moves to a share of its time.
func dragTo(t *testing.T, c context.Context, share float64) {
	t.Helper()
	box := ask[[]float64](t, c, `(() => { scrollTo(0, 0); const r = document.querySelector(".only-wide svg").getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`)
	x, y := box[0]+box[2]*share, box[1]+box[3]/2
	do(t, c, chromedp.MouseEvent("mousePressed", box[0]+20, y, chromedp.ButtonLeft, chromedp.ClickCount(1)),
		chromedp.MouseEvent("mouseMoved", x, y, chromedp.ButtonLeft),
		chromedp.MouseEvent("mouseReleased", x, y, chromedp.ButtonLeft, chromedp.ClickCount(1)))
}

// TestPagesFitThePhone opens every page at the width of a phone and asks that nothing sticks out,
// that controls are as large as a gloved thumb needs, and that no script failed.
func TestPagesFitThePhone(t *testing.T) {
	b := demoYard(t)
	c, srv := tab(t, site(t, b), 390)
	lesson := "/lessons/" + firstLesson(t, b, "demo-ilse-quillon").ID
	for _, path := range []string{"/", "/sheets", "/sheets/demo-sheet", "/combinations/demo-ilse-quillon", "/combinations/new", "/combinations/demo-ilse-quillon/rides/new",
		"/combinations/demo-ilse-quillon/lessons/new", "/rides/demo-quillon-1", "/rides/demo-quillon-3", "/compare/demo-quillon-1/demo-quillon-2", "/recorders", lesson, lesson + "/run", lesson + "/homework", "/day"} {
		do(t, c, chromedp.Navigate(srv.URL+path), chromedp.WaitReady("main"))
		if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
			t.Errorf("%s is %d px too wide", path, over)
		}
		small := ask[[]string](t, c, `[...document.querySelectorAll("button, .button, select, input:not([type=hidden], [type=checkbox], [type=radio])")]
			.filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 47.5).map((e) => e.outerHTML.slice(0, 80))`)
		if len(small) > 0 {
			t.Errorf("%s: controls under 48 px: %s", path, strings.Join(small, "; "))
		}
	}
}

// TestTeachingWithoutASignal begins a lesson, loses the server, ticks on, kills the page, and
// finds every tick in the book once when the server is back.
func TestTeachingWithoutASignal(t *testing.T) {
	b := demoYard(t)
	down := false
	h := site(t, b)
	c, srv := tab(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if down && r.Method == "POST" {
			http.Error(w, "no", http.StatusServiceUnavailable)
			return
		}
		h.ServeHTTP(w, r)
	}), 390)
	lesson := firstLesson(t, b, "demo-ilse-quillon")
	state := `document.querySelector("[data-run-state]").textContent`
	click := func(what string) {
		ask[bool](t, c, `(document.querySelector('[data-run-do="`+what+`"]').click(), true)`)
	}
	do(t, c, chromedp.Navigate(srv.URL+"/lessons/"+lesson.ID+"/run"), chromedp.WaitVisible(`[data-run-do="begin"]`))
	click("begin")
	until(t, c, state+`.startsWith("All in the book")`)
	down = true
	click("good")
	click("next")
	until(t, c, state+`.startsWith("3 kept on this phone")`)
	do(t, c, chromedp.Navigate("about:blank")) // the page is gone
	down = false
	do(t, c, chromedp.Navigate(srv.URL+"/lessons/"+lesson.ID+"/run"))
	until(t, c, state+`.startsWith("All in the book")`)
	steps, err := b.Steps(ctx, lesson.ID)
	if err != nil {
		t.Fatal(err)
	}
	var kinds []string
	for _, s := range steps {
		kinds = append(kinds, string(s.Kind))
	}
	if got := strings.Join(kinds, " "); got != "begun good done begun" {
		t.Errorf("steps in the book: %s", got)
	}
	until(t, c, `!document.querySelector('[data-run-block="1"]').hidden`)
}

// TestDayWithoutAServer opens the day, stops the server and opens it again.
func TestDayWithoutAServer(t *testing.T) {
	c, srv := tab(t, site(t, demoYard(t)), 390)
	do(t, c, chromedp.Navigate(srv.URL+"/day"))
	until(t, c, `document.querySelector("[data-offline-state]").textContent === "Kept on this phone"`)
	srv.CloseClientConnections()
	srv.Close()
	do(t, c, chromedp.Navigate(srv.URL+"/day"), chromedp.WaitVisible(".day-item"))
	for _, want := range []string{"Ilse Bramwell on Quillon", "Pell Meadow", "leave the rein-back alone"} {
		if !ask[bool](t, c, `document.body.textContent.includes("`+want+`")`) {
			t.Errorf("the day without a server lacks %q", want)
		}
	}
	lesson := ask[string](t, c, `document.querySelector("[data-keep]").getAttribute("href")`)
	do(t, c, chromedp.Navigate(srv.URL+lesson), chromedp.WaitVisible("[data-run-clock]"))
}
