package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ringcraft/internal/testkit"
)

// chromium opens a tab of a real browser on a site that is served for this test.
func chromium(t testing.TB, width int) (context.Context, string) {
	t.Helper()
	path := testkit.Browser(t)
	srv := httptest.NewServer(site(t, testBook()))
	t.Cleanup(srv.Close)
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.WindowSize(width, 900),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-quic", true))
	c, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	c, cancel = chromedp.NewContext(c)
	t.Cleanup(cancel)
	c, cancel = context.WithTimeout(c, 90*time.Second)
	t.Cleanup(cancel)
	return c, srv.URL
}

func do(t testing.TB, c context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(c, steps...); err != nil {
		t.Fatal(err)
	}
}

// ask evaluates an expression in the page.
func ask[T any](t testing.TB, c context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(c, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// until waits for an expression to become true.
func until(t testing.TB, c context.Context, expression string) {
	t.Helper()
	if _, err := chromedp.Run(c, chromedp.Poll[bool](expression, chromedp.WithPollingTimeout(20*time.Second))); err != nil {
		t.Fatalf("waiting for %s: %v", expression, err)
	}
}

// lookAt keeps a picture where RINGCRAFT_LOOK names a folder, for people to look at.
func lookAt(t testing.TB, c context.Context, name string) {
	t.Helper()
	dir := os.Getenv("RINGCRAFT_LOOK")
	if dir == "" {
		return
	}
	b, err := chromedp.Run(c, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
		t.Fatal(err)
	}
}

// Typing in a real browser: what is typed is drawn, the line under the cursor lights up with
// its movement, a mistake is listed and can be gone to by a click, and the page works at the
// width of a phone.
func TestEditorInBrowser(t *testing.T) {
	c, base := chromium(t, 1280)
	do(t, c, chromedp.Navigate(base+"/sheets/new"), chromedp.WaitVisible("textarea"))
	until(t, c, `document.querySelectorAll(".rows > div").length === 9 && document.querySelector(".rows > div:nth-child(8)").dataset.number === "8"`)
	ask[bool](t, c, `(() => { const a = document.querySelector("textarea"); a.focus(); a.setSelectionRange(a.value.length, a.value.length); return true; })()`)
	do(t, c, chromedp.KeyEvent("5    B      Circle right 10 m"))
	until(t, c, `document.querySelectorAll("[data-readings] li").length === 5`)
	until(t, c, `document.querySelector("[data-readings] [aria-current]")?.dataset.movement === "5"`)
	until(t, c, `document.querySelectorAll(".seen .movement.lit").length > 0`)
	until(t, c, `document.querySelector("#now").textContent.includes("Circle right 10 m")`)
	lookAt(t, c, "editor_1280.png")
	do(t, c, chromedp.KeyEvent("\r6    B      Cirkle left 10 m"))
	until(t, c, `[...document.querySelectorAll(".problem")].some(p => p.dataset.line === "10")`)
	ask[bool](t, c, `(() => { document.querySelector("textarea").setSelectionRange(0, 0); document.querySelector('.problem[data-line="10"]').click(); return true; })()`)
	ask[bool](t, c, `(() => { document.querySelector("textarea").setSelectionRange(0, 0); document.querySelector('[data-problems] .problem[data-line="10"] button').focus(); return true; })()`)
	do(t, c, chromedp.KeyEvent("\r"))
	if line := ask[int](t, c, `(() => { const a = document.querySelector("textarea"); return a.value.slice(0, a.selectionStart).split("\n").length; })()`); line != 10 {
		t.Errorf("a click on the problem went to line %d", line)
	}
	do(t, c, chromedp.EmulateViewport(390, 844))
	if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("at 390 px the page is %d px too wide", over)
	}
	// A long line breaks inside the text, its number and light go with it, and the text, the reading
	// and the line of the movement are in sight together on half a screen of keys.
	ask[bool](t, c, `(() => { const a = document.querySelector("textarea"); const at = a.value.indexOf("4    FXH") + 30; a.focus(); a.setSelectionRange(at, at); document.dispatchEvent(new Event("selectionchange")); return true; })()`)
	until(t, c, `document.querySelector(".rows .at")?.textContent.includes("free walk")`)
	until(t, c, `document.querySelector("[data-readings] [aria-current]")?.dataset.movement === "4"`)
	if wide := ask[int](t, c, `(() => { const a = document.querySelector("textarea"); return a.scrollWidth - a.clientWidth; })()`); wide > 0 {
		t.Errorf("the text runs %d px off to the right", wide)
	}
	if rows := ask[float64](t, c, `document.querySelector(".rows .at").getBoundingClientRect().height / 24`); rows < 2 {
		t.Errorf("a long line takes %.1f rows at 390 px", rows)
	}
	if off := ask[float64](t, c, `Math.abs(document.querySelector(".rows").scrollHeight - document.querySelector("textarea").scrollHeight)`); off > 1 {
		t.Errorf("the numbered rows and the text differ by %.1f px in height", off)
	}
	do(t, c, chromedp.EmulateViewport(390, 560))
	until(t, c, `document.querySelector("[data-editor]").style.getPropertyValue("--room") === "560px"`)
	ask[bool](t, c, `(() => { document.querySelector(".page-of-text").scrollIntoView({ block: "start", behavior: "instant" }); return true; })()`)
	until(t, c, `Math.abs(document.querySelector(".page-of-text").getBoundingClientRect().top) < 30`)
	until(t, c, `document.querySelector(".here-line svg").getBoundingClientRect().height > 150`)
	until(t, c, `document.querySelector(".here-line svg").getBoundingClientRect().height < 300`)
	if bottom := ask[float64](t, c, `document.querySelector(".here-line svg").getBoundingClientRect().bottom`); bottom > 560 {
		t.Errorf("the line of the movement ends at %.0f px of 560", bottom)
	}
	if !ask[bool](t, c, `(() => { const at = document.querySelector(".rows .at").getBoundingClientRect(), box = document.querySelector("textarea").getBoundingClientRect(); return at.top >= box.top && at.bottom <= box.bottom; })()`) {
		t.Error("the line under the cursor is out of sight when the keys come up")
	}
	lookAt(t, c, "editor_390_keys.png")
	do(t, c, chromedp.EmulateViewport(390, 844))
	lookAt(t, c, "editor_390.png")
}

// keepExample stores the example sheet through the front door and returns its address.
func keepExample(t testing.TB, base string) string {
	t.Helper()
	resp, err := http.PostForm(base+"/sheets", url.Values{"text": {exampleSheet}, "seen": {"0"}})
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	return resp.Request.URL.Path
}

// A sheet's page shows its stages, lets the movement one is at stand out, and neither it nor the
// pages of typing and calling stick out at 320 px (WCAG 2.1, 1.4.10) or with letters of twice the
// size (1.4.4).
func TestSheetPagesInBrowser(t *testing.T) {
	c, base := chromium(t, 1280)
	at := keepExample(t, base)
	do(t, c, chromedp.Navigate(base+at), chromedp.WaitVisible(".stage svg"))
	until(t, c, `document.querySelector("[data-scrub-drawing] .plan .movement.now") !== null`)
	if got := ask[string](t, c, `getComputedStyle(document.querySelector("[data-scrub-drawing] .plan .movement:not(.now)")).opacity`); got != "0.38" {
		t.Errorf("the other movements are drawn at %s", got)
	}
	if got := ask[string](t, c, `getComputedStyle(document.querySelector("[data-scrub-drawing] .plan .movement.now")).opacity`); got != "1" {
		t.Errorf("the movement one is at is drawn at %s", got)
	}
	for _, path := range []string{"/sheets", at, at + "/edit", at + "/call"} {
		for _, as := range []struct {
			width int64
			size  string
		}{{320, ""}, {1280, "200%"}} {
			do(t, c, chromedp.EmulateViewport(as.width, 900), chromedp.Navigate(base+path), chromedp.WaitReady("main"))
			ask[bool](t, c, `(document.documentElement.style.fontSize = "`+as.size+`", true)`)
			if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
				t.Errorf("%s at %d px, letters %s: %d px too wide", path, as.width, as.size, over)
			}
			lookAt(t, c, fmt.Sprintf("large_%s_%d.png", filepath.Base(path), as.width))
		}
	}
}

// The caller's page runs in time, can be driven by keyboard and says nothing aloud.
func TestCallerInBrowser(t *testing.T) {
	c, base := chromium(t, 390)
	at := keepExample(t, base)
	do(t, c, chromedp.EmulateViewport(390, 844), chromedp.Navigate(base+at+"/call"), chromedp.WaitVisible("[data-start]"))
	ask[bool](t, c, `(() => { window.spoken = 0; if (window.speechSynthesis) speechSynthesis.speak = () => { window.spoken++; }; return true; })()`)
	do(t, c, chromedp.KeyEvent(" "))
	until(t, c, `document.querySelector("[data-start]").textContent === "Hold"`)
	ask[bool](t, c, `(() => { document.querySelectorAll(".calls li")[2].click(); return true; })()`)
	want := ask[float64](t, c, `+document.querySelectorAll(".calls li")[2].dataset.begins`)
	until(t, c, fmt.Sprintf(`(() => { const [m, s] = document.querySelector("[data-clock]").textContent.split(":"); return m * 60 + +s >= %d; })()`, int(want)))
	do(t, c, chromedp.KeyEvent(kb.ArrowRight)) // on to the next call
	until(t, c, `document.querySelector(".calls li.saying") !== null`)
	if said, shown := ask[string](t, c, `document.querySelector(".saying .words").textContent`), ask[string](t, c, `document.querySelector("[data-say]").textContent`); said != shown {
		t.Errorf("the page shows %q while %q is to be said", shown, said)
	}
	lookAt(t, c, "caller_390.png")
	ask[bool](t, c, `(() => { const o = document.querySelector("[data-own]"); o.click(); const f = document.querySelectorAll("input.own")[1]; f.value = "my own words"; f.dispatchEvent(new Event("input")); return true; })()`)
	if !ask[bool](t, c, `document.querySelectorAll(".calls .words")[1].textContent === "my own words" && document.querySelector(".running.training") !== null`) {
		t.Error("words of one's own are not used, or not marked as training")
	}
	ask[bool](t, c, `(() => { document.querySelector("[data-own]").click(); return true; })()`)
	if ask[bool](t, c, `document.querySelectorAll(".calls .words")[1].textContent === "my own words" || document.querySelector(".running.training") !== null`) {
		t.Error("the words of the sheet did not come back")
	}
	if n := ask[int](t, c, `window.spoken`); n != 0 {
		t.Errorf("%d calls were spoken without being asked for", n)
	}
	if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("at 390 px the page is %d px too wide", over)
	}
}

// longSheet is an invented test of 26 movements.
func longSheet() string {
	var b strings.Builder
	b.WriteString("name: Keystroke test (invented)\narena: 20 x 60\n1 | A | Enter in working trot\n  | X | Halt, salute. Proceed in working trot\n2 | C | Track left\n")
	for n := 3; n <= 26; n += 4 {
		fmt.Fprintf(&b, "%d | E | Circle left 20 m\n%d | FXH | Change the rein in medium trot\n%d | B | Circle right 15 m\n%d | KXM | Change rein, working trot\n", n, n+1, n+2, n+3)
	}
	return b.String()
}

// BenchmarkKeystroke measures in a real browser from the key to the new drawing on the page
// being painted (the page's own performance.measure), on a sheet of 26 movements.
func BenchmarkKeystroke(b *testing.B) {
	c, base := chromium(b, 1280)
	do(b, c, chromedp.Navigate(base+"/sheets/new"), chromedp.WaitVisible("textarea"))
	ask[bool](b, c, `(() => { const a = document.querySelector("textarea"); a.value = `+fmt.Sprintf("%q", longSheet())+`; a.focus(); a.dispatchEvent(new Event("input")); return true; })()`)
	until(b, c, `document.querySelectorAll("[data-readings] li").length === 26`)
	ask[bool](b, c, `(() => { performance.clearMeasures(); return true; })()`)
	n := 0
	for b.Loop() {
		do(b, c, chromedp.KeyEvent(string(rune('a'+n%26))))
		n++
		until(b, c, fmt.Sprintf(`performance.getEntriesByName("keystroke").length >= %d`, n))
	}
	ms := ask[[]float64](b, c, `performance.getEntriesByName("keystroke").map(e => e.duration)`)
	slices.Sort(ms)
	b.ReportMetric(ms[len(ms)/2], "ms/key-median")
	b.ReportMetric(ms[len(ms)*95/100], "ms/key-95th")
	b.ReportMetric(ms[len(ms)*99/100], "ms/key-99th")
	b.ReportMetric(ms[len(ms)-1], "ms/key-worst")
}

// BenchmarkPreview is the server's share of a keystroke on a sheet of 26 movements.
func BenchmarkPreview(b *testing.B) {
	h := site(b, testBook())
	n, cpu := 0, cpuTime(b)
	defer func() { b.ReportMetric(float64((cpuTime(b)-cpu).Microseconds())/1000/float64(n), "cpu-ms/op") }()
	for b.Loop() {
		n++ // another text each time, as when typing
		if w := post(b, h, "/sheets/try", url.Values{"text": {longSheet() + fmt.Sprintf("# %d", n)}}); w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}

// cpuTime is what this process has used of the processors, which other work on the machine hardly
// changes.
func cpuTime(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
