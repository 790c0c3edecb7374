package web

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestEveryNumberShowsItsPlace presses one number of each kind of measure of the demo's rides, by
// mouse, by key and by touch, and asks each time that the clock is at its second, that its words come
// first, and that its place is marked on the line.
func TestEveryNumberShowsItsPlace(t *testing.T) {
	b := demoYard(t)
	c, srv := tab(t, site(t, b), 1280)
	at := srv.URL + "/rides/demo-quillon-1"
	do(t, c, chromedp.Navigate(at), chromedp.WaitVisible("[data-scrub-range]"))
	kinds := ask[[]string](t, c, `[...new Set([...document.querySelectorAll("button.number")].map((b) => b.dataset.what))]`)
	if len(kinds) < 15 {
		t.Fatalf("only %d kinds of measures: %q", len(kinds), kinds)
	}
	if dead := ask[[]string](t, c, `[...document.querySelectorAll(".measure dd .value b")].map((b) => b.closest(".measure").textContent)`); len(dead) > 0 {
		t.Errorf("numbers that show nothing: %q", dead)
	}
	wrong := ask[[]string](t, c, `[...new Set([...document.querySelectorAll("button.number")].map((b) => b.dataset.what))].filter((what) => {
		const b = document.querySelector('button.number[data-what="' + what + '"]'), s = window.ringcraftScrubber;
		s.go(0);
		b.click();
		const words = document.querySelector('[data-out="done"]').textContent.toLowerCase();
		return !(s.t > 0 && (b.dataset.clock !== "ride" || Math.abs(s.t - Number(b.dataset.jump)) < 0.06) && words.includes(what.toLowerCase() + " ") && document.querySelector(".lit-line").getAttribute("d").length > 15);
	})`)
	if len(wrong) > 0 {
		t.Errorf("numbers that do not show their place and words: %q", wrong)
	}
	pressed(t, c, kinds[0], func(sel string) { do(t, c, chromedp.Focus(sel), chromedp.KeyEvent(kb.Enter)) })
	pressed(t, c, kinds[1], func(sel string) { do(t, c, chromedp.Click(sel)) })

	do(t, c, chromedp.EmulateViewport(390, 844, chromedp.EmulateTouch), chromedp.Navigate(at), chromedp.WaitVisible("[data-scrub-range]"))
	for _, what := range kinds[:2] {
		pressed(t, c, what, func(sel string) { tap(t, c, sel) })
		until(t, c, `(() => { // words, then the place under them, both in sight
			const top = (sel) => document.querySelector(sel).getBoundingClientRect();
			const words = top("[data-scrub-readout]"), box = top("[data-scrub-drawing] svg"), place = top("[data-scrub-drawing] svg .lit-line");
			return words.top > -2 && words.bottom <= box.top && box.bottom < innerHeight + 1 && place.top > box.top && place.bottom < box.bottom;
		})()`)
	}
}

// TestNothingLiesOverTheReadout: on a phone the words of the second chosen are not cut off or covered.
func TestNothingLiesOverTheReadout(t *testing.T) {
	c, srv := tab(t, site(t, demoYard(t)), 390)
	for _, path := range []string{"/rides/demo-quillon-1", "/sheets/demo-sheet"} {
		do(t, c, chromedp.Navigate(srv.URL+path), chromedp.WaitVisible("[data-scrub-range]"))
		got := ask[string](t, c, `(() => {
			const r = document.querySelector("[data-scrub-readout]");
			r.scrollIntoView({ block: "start", behavior: "instant" });
			if (r.scrollHeight > r.clientHeight + 1) return "cut off";
			const b = r.getBoundingClientRect();
			for (let y = b.top + 4; y < Math.min(b.bottom, innerHeight) - 4; y += 8) if (!r.contains(document.elementFromPoint(b.left + 30, y))) return "covered at " + y;
			return "";
		})()`)
		if got != "" {
			t.Errorf("%s: the readout is %s", path, got)
		}
	}
}

// pressed presses the first number of a kind and checks what follows.
func pressed(t *testing.T, c context.Context, what string, press func(sel string)) {
	t.Helper()
	sel := `button.number[data-what="` + what + `"]`
	press(sel)
	until(t, c, `(() => {
		const b = document.querySelector(`+"`"+sel+"`"+`), s = window.ringcraftScrubber;
		return Math.abs(s.t - (b.dataset.clock === "ride" ? Number(b.dataset.jump) : s.t)) < 0.06 && s.chosen?.what === b.dataset.what && b.getAttribute("aria-current") === "true";
	})()`)
	words := ask[string](t, c, `document.querySelector('[data-out="done"]').textContent.toLowerCase()`)
	if !strings.Contains(words, strings.ToLower(what)+" ") {
		t.Errorf("%s: the words there do not say it: %q", what, words)
	}
	if ok := ask[bool](t, c, `document.querySelector(".lit-line").getAttribute("d").length > 15 && !!document.querySelector("[data-out-card]:not([hidden])")`); !ok {
		t.Errorf("%s: its place is not marked on the line", what)
	}
}

// tap touches the middle of an element.
func tap(t *testing.T, c context.Context, sel string) {
	t.Helper()
	at := ask[[]float64](t, c, `(() => { const e = document.querySelector(`+"`"+sel+"`"+`); e.scrollIntoView({ block: "center", behavior: "instant" }); const r = e.getBoundingClientRect(); return [r.left + 20, r.top + r.height / 2]; })()`)
	do(t, c, chromedp.TapXY(at[0], at[1]))
}
