package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestMorePagesFitThePhone opens the pages that follow a ride at the width of a phone: nothing
// sticks out, controls are as large as a gloved thumb needs.
func TestMorePagesFitThePhone(t *testing.T) {
	b, r := saidRide(t)
	tapMarks(t, b, r.ID, "6.5", "7", "7.5")
	h := site(t, b)
	post(t, h, "/rides/"+r.ID+"/marks", typed("-1", "", "C", "6", "7", "6", "6"))
	c, srv := tab(t, h, 390)
	for _, path := range []string{"/rides/" + r.ID + "/marks", "/rides/" + r.ID + "/remarks", "/combinations/" + r.CombinationID + "/shows/new", "/exercises", "/exercises?group=lateral", "/exercises/new", "/eye"} {
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
