package web

import (
	"log/slog"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"ringcraft/internal/access"
)

// A trainer signs in, shows a code, a scribe's phone pairs with it, is listed and put out: all in
// a real browser, with the cookies and the policy it enforces.
func TestPairingInBrowser(t *testing.T) {
	d := newDoor(t)
	_, err := d.guard.SetPassword(ctx, "Tess", "rain on the roof")
	d.must(err)
	gate := NewGate(GateOptions{Guard: d.guard, Sessions: d.db.Access(d.guard.Now), Log: slog.New(slog.DiscardHandler), Address: "https://ringcraft-7k2q.local:8443",
		TrustURL: "http://ringcraft-7k2q.local:8081/", Fingerprint: strings.TrimSpace(strings.Repeat("A0 ", 32)),
		QR: func(string) (string, error) {
			return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 3 3" role="img" aria-label="QR code"><path d="M0 0h1v1h-1z"/></svg>`, nil
		}})
	book := testBook()
	book.Store = d.db
	srv := httptest.NewServer(New(Config{Book: book, Who: gate.Who, Extra: gate.Routes(), Around: gate.Around(), Log: slog.New(slog.DiscardHandler)}))
	t.Cleanup(srv.Close)
	p := newPhone(t)
	do(t, p.c, chromedp.Navigate(srv.URL+"/devices"))
	until(t, p.c, `document.querySelector('a[href="/sign-in"]') !== null`)
	do(t, p.c, chromedp.Click(`main a[href="/sign-in"]`), chromedp.WaitVisible("#name"))
	lookAt(t, p.c, "signin_390.png")
	do(t, p.c, chromedp.SendKeys("#name", "tess"), chromedp.SendKeys("#password", "rain on the roof\r"))
	arrive(t, p, `location.pathname === "/"`)
	do(t, p.c, chromedp.Navigate(srv.URL+"/devices"), chromedp.Click("details summary"), chromedp.SendKeys("#new-name", "Bea"), chromedp.Click("details form button"))
	arrive(t, p, `document.querySelector(".big") !== null && document.querySelector(".qr svg") !== null`)
	code := ask[string](t, p.c, `document.querySelector(".big").textContent`)
	lookAt(t, p.c, "devices_390.png")
	if over := ask[int](t, p.c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("the page of devices is %d px too wide", over)
	}
	do(t, p.c, chromedp.EmulateViewport(1280, 900))
	lookAt(t, p.c, "devices_1280.png")
	scribe := newPhone(t)
	do(t, scribe.c, chromedp.Navigate(srv.URL+"/pair?code="+code), chromedp.WaitVisible("#code"))
	until(t, scribe.c, `location.search === "" && document.querySelector("#code").value !== ""`)
	lookAt(t, scribe.c, "pair_390.png")
	do(t, scribe.c, chromedp.Click("#pair-form button"))
	arrive(t, scribe, `location.pathname === "/me"`)
	lookAt(t, scribe.c, "me_390.png")
	do(t, p.c, chromedp.Navigate(srv.URL+"/devices"))
	devices, err := d.guard.Store().Devices(ctx)
	d.must(err)
	for _, dev := range devices {
		if who, _ := d.guard.WhoHas(ctx, dev.ID); who.Role == access.Scribe {
			ask[bool](t, p.c, `(() => { document.querySelector('input[name="device"][value="`+dev.ID+`"]').form.requestSubmit(); return true; })()`)
		}
	}
	arrive(t, p, `document.body.textContent.includes("Put out: 1")`)
	do(t, scribe.c, chromedp.Navigate(srv.URL+"/me"))
	until(t, scribe.c, `document.querySelector('a[href="/sign-in"]') !== null`)
	for _, c := range []string{"/people", "/riders/r1"} {
		do(t, p.c, chromedp.EmulateViewport(390, 844), chromedp.Navigate(srv.URL+c))
		lookAt(t, p.c, strings.ReplaceAll(strings.Trim(c, "/"), "/", "_")+"_390.png")
	}
}

// arrive waits for a page that a form leads to; the page before it may vanish while it is asked.
func arrive(t *testing.T, p *phone, expression string) {
	t.Helper()
	for range 5 {
		if _, err := chromedp.Run(p.c, chromedp.Poll[bool](expression, chromedp.WithPollingTimeout(20*time.Second))); err == nil {
			return
		}
	}
	until(t, p.c, expression)
}
