package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// TestOneJudgement: the list of a combination gives each comparison the verdict that its page gives,
// and what is said of the weeks does not deny it.
func TestOneJudgement(t *testing.T) {
	b := demoYard(t)
	h := site(t, b)
	c, err := b.CompareOf(ctx, "demo-quillon-1", "demo-quillon-2")
	if err != nil {
		t.Fatal(err)
	}
	verdict := c.Comparison.Total.Verdict
	_, page := get(t, h, "/combinations/demo-ilse-quillon")
	_, line, ok := strings.Cut(page, `href="/compare/demo-quillon-1/demo-quillon-2"`)
	if !ok || !strings.Contains(line[:strings.Index(line, "</a>")], ">"+verdict+"<") {
		t.Errorf("the list does not say %q", verdict)
	}
	has(t, page, logbook.NoLineMoved)
	if strings.Contains(page, "Nothing has moved") {
		t.Error("nothing moved, beside a ride that is better")
	}
	_, page = get(t, h, "/combinations/demo-ilse-quillon/trends")
	has(t, page, logbook.NoLineMoved)
}

// TestLessonFormBeginsWithTheLastRide, and a lesson's blocks and what was left out are said plainly.
func TestLessonFormBeginsWithTheLastRide(t *testing.T) {
	b := demoYard(t)
	h := site(t, b)
	_, page := get(t, h, "/combinations/demo-tom-larkspur/lessons/new")
	has(t, page, `value="demo-larkspur-2" selected`, `min="12"`)
	w := postForm(t, h, "/combinations/demo-tom-larkspur/lessons", url.Values{"minutes": {"45"}, "date": {"2026-06-03"}, "ride": {"demo-larkspur-2"}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	_, page = get(t, h, w.Header().Get("Location"))
	has(t, strings.Join(strings.Fields(page), " "), "45 minutes, from the ride of <a", ">no room</b>")
	if strings.Contains(page, "minutes ,") || strings.Contains(page, "minutes  ,") {
		t.Error("a stray blank before a comma")
	}
	if n := strings.Count(page, "no room: alone"); n > 0 {
		t.Errorf("the reason is repeated %d times", n)
	}
	if got := minutesWords(150); got != "2.5 min" {
		t.Errorf("150 s are %q", got)
	}
	if got := minutesWords(600); got != "10 min" {
		t.Errorf("600 s are %q", got)
	}
}

// TestWarmUpMinutesAreTyped: the form of a start and its page take the trainer's own warm-up.
func TestWarmUpMinutesAreTyped(t *testing.T) {
	b, h, pair := smallYard(t)
	form := url.Values{"date": {"2026-06-08"}, "start": {"10:12"}, "sheet": {"s"}, "warmup": {"50"}}
	w := postForm(t, h, pair+"/shows", form)
	if w.Code != http.StatusSeeOther || !strings.Contains(w.Header().Get("Location"), "warmup=50") {
		t.Fatalf("status %d, to %s", w.Code, w.Header().Get("Location"))
	}
	_, page := get(t, h, w.Header().Get("Location"))
	has(t, page, "warm-up of 50 minutes as you set it", `name="warmup" inputmode="numeric" value="50"`)
	form.Set("warmup", "200")
	if w := postForm(t, h, pair+"/shows", form); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `value="200"`) {
		t.Errorf("200 minutes: status %d", w.Code)
	}
	list, err := b.Appointments(ctx, "2026-06-08", "2026-06-08")
	if err != nil || len(list) != 1 {
		t.Errorf("%d starts (%v)", len(list), err)
	}
}
