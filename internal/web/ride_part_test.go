package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"ringcraft/internal/logbook"
)

// TestRidePart: the part of a recording can be said anew on the ride's page and taken back; a part in which
// nothing is keeps the ride as it was.
func TestRidePart(t *testing.T) {
	b := ownDemo(t)
	h := site(t, b)
	at := "/rides/demo-quillon-1"
	_, body := get(t, h, at)
	has(t, body, "Which part of the recording is the ride", "the whole recording", `action="`+at+`/part"`)
	say := func(from, to string, want int) string {
		t.Helper()
		w := sendParts(t, h, at+"/part", part{name: "from", text: from}, part{name: "to", text: to})
		if w.Code != want {
			t.Errorf("%s to %s: %d %.500s", from, to, w.Code, w.Body)
		}
		return w.Body.String()
	}
	if words := say("59:00", "", http.StatusUnprocessableEntity); !strings.Contains(words, "59:00") {
		t.Errorf("%.1000s", words)
	}
	say("six", "", http.StatusUnprocessableEntity)
	if said, err := b.PartsOf(ctx, "demo-quillon-1"); err != nil || len(said) != 1 {
		t.Errorf("%v, %v", said, err)
	}
	say("0:00", "3:00", http.StatusSeeOther)
	_, body = get(t, h, at)
	has(t, body, "from 0:00 to 3:00", "Said before:", "Back to the whole recording")
	say("", "", http.StatusSeeOther)
	if said, err := b.PartsOf(ctx, "demo-quillon-1"); err != nil || len(said) != 3 || said[2] != (logbook.RidePart{}) {
		t.Errorf("%v, %v", said, err)
	}
}

// TestRidePartInBrowser says a part with the keyboard, sees the ride reckoned in it, and takes it back with one press.
func TestRidePartInBrowser(t *testing.T) {
	c, srv := tab(t, site(t, ownDemo(t)), 390)
	do(t, c, chromedp.Navigate(srv.URL+"/rides/demo-quillon-1"), chromedp.WaitVisible("#part"), chromedp.Click("#part summary"),
		chromedp.SendKeys("#part #to", "3:00\r"), chromedp.WaitReady(`#part form:not(.stack) button`))
	until(t, c, `document.querySelector("#part summary")?.textContent.includes("up to 3:00")`)
	do(t, c, chromedp.Click("#part summary"))
	lookAt(t, c, "ride-part-390.png")
	do(t, c, chromedp.Click(`#part form:not(.stack) button`), chromedp.WaitReady(`#part input[type=hidden][value="3:00"]`))
	until(t, c, `document.querySelector("#part summary")?.textContent.includes("the whole recording")`)
}

// ownDemo is the demo yard for a test that changes it.
func ownDemo(t *testing.T) *logbook.Book {
	t.Helper()
	b, err := loadDemo()
	if err != nil {
		t.Fatal(err)
	}
	return b
}
