package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ringcraft/internal/logbook"
)

// saidRide is the short ride with a commentary, its times those of the plan; the last cue is no
// remark of the test, the one before holds markup.
func saidRide(t testing.TB) (*logbook.Book, logbook.Ride) {
	t.Helper()
	b, r := shortRide(t)
	vtt := "WEBVTT\n\n00:05.000 --> 00:07.000\nthe halt is crooked\n\n00:40.000 --> 00:43.000\nthat circle is far too large\n\n" +
		"00:44.000 --> 00:45.000\nlost the &lt;b&gt; rhythm\n\n10:00.000 --> 10:02.000\nshall we have a coffee\n"
	if err := b.AddFileTo(ctx, r.ID, logbook.GivenFile{Role: logbook.RoleCommentary, Name: "said.vtt", Data: []byte(vtt)}); err != nil {
		t.Fatal(err)
	}
	return b, r
}

func spokenOf(t testing.TB, b *logbook.Book, ride string) []logbook.Spoken {
	t.Helper()
	rev, err := b.ReviewOf(ctx, ride)
	if err != nil {
		t.Fatal(err)
	}
	out, err := b.SpokenOf(ctx, rev)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// about is the form of one remark.
func about(k logbook.Spoken, more ...string) url.Values {
	f := url.Values{"said": {k.Text}, "at": {atOf(k)}, "index": {fmt.Sprint(k.Index)}}
	for i := 0; i < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

// TestMovingARemark moves a remark to another movement and out of the test: the review is made with
// it, its fault goes with it, and it stays moved.
func TestMovingARemark(t *testing.T) {
	b, r := saidRide(t)
	h := site(t, b)
	at := "/rides/" + r.ID
	status, body := get(t, h, at+"/remarks")
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	clean(t, body)
	has(t, body, "lost the &lt;b&gt; rhythm", "4 remarks", "no movement", "sure", `data-drop="3"`, "shall we have a coffee")
	said := spokenOf(t, b, r.ID)
	circle := said[1]
	for _, to := range []int{2, 3, 0, 1} {
		if w := post(t, h, at+"/remarks", about(circle, "to", fmt.Sprint(to))); w.Code != http.StatusSeeOther {
			t.Fatalf("to %d: status %d: %s", to, w.Code, w.Body)
		}
		k := spokenOf(t, b, r.ID)[1]
		if k.Text != circle.Text || k.Movement != to || !k.Moved || k.Doubtful {
			t.Errorf("to %d: %+v", to, k)
		}
		rev, _ := b.ReviewOf(ctx, r.ID)
		for _, m := range rev.Doc.Movements {
			found := false
			for _, x := range m.Remarks {
				found = found || x.Text == circle.Text
			}
			if found != (m.Number == to) {
				t.Errorf("moved to %d, movement %d has it: %v", to, m.Number, found)
			}
		}
	}
	if rev, _ := b.ReviewOf(ctx, r.ID); len(rev.Notes) != 0 {
		t.Errorf("corrections are shown as notes: %v", rev.Notes)
	}
	for name, f := range map[string]url.Values{"no such movement": about(circle, "to", "9"), "no number": about(circle, "to", "x")} {
		if w := post(t, h, at+"/remarks", f); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "formfault") {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
	gone := about(circle, "to", "1")
	gone.Set("said", "never said")
	if w := post(t, h, at+"/remarks", gone); w.Code != http.StatusConflict {
		t.Errorf("a remark that is not there: status %d", w.Code)
	}
}

// TestWordsForTheRider keeps an edited wording, moves the remark, and takes the wording back.
func TestWordsForTheRider(t *testing.T) {
	b, r := saidRide(t)
	h := site(t, b)
	at := "/rides/" + r.ID
	k := spokenOf(t, b, r.ID)[1]
	if k.Kept || k.Wording.Seen == "" {
		t.Fatalf("suggested: %+v", k.Wording)
	}
	words := about(k, "movement", fmt.Sprint(k.Movement), "seen", "  circle <i>wide</i>\n", "where", "at E", "do", "look to the fence post")
	if w := post(t, h, at+"/wording", words); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	_, body := get(t, h, at+"/remarks")
	has(t, body, "At E: circle &lt;i&gt;wide&lt;/i&gt;. Look to the fence post.", "Rider reads:")
	if status, pdf := get(t, h, at+"/report.pdf"); status != http.StatusOK || !strings.HasPrefix(pdf, "%PDF-") {
		t.Errorf("report: status %d", status)
	}
	to := 1
	if k.Movement == 1 {
		to = 2
	}
	post(t, h, at+"/remarks", about(k, "to", fmt.Sprint(to)))
	if got := spokenOf(t, b, r.ID)[1].Wording; got.Seen != "circle <i>wide</i>" || got.Where != fmt.Sprintf("movement %d, %s", to, map[int]string{1: "A; X", 2: "C"}[to]) {
		t.Errorf("after moving: %+v", got)
	}
	long := about(k, "movement", "1", "seen", strings.Repeat("é", 301), "do", "kept typed")
	if w := post(t, h, at+"/wording", long); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "kept typed") || !strings.Contains(w.Body.String(), "at most 300") {
		t.Errorf("too long: status %d", w.Code)
	}
	if w := post(t, h, at+"/wording", about(k, "seen", " ", "do", "x")); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("nothing seen: status %d", w.Code)
	}
	post(t, h, at+"/wording", about(k, "then", "back"))
	if got := spokenOf(t, b, r.ID)[1]; got.Kept || got.Wording != got.Suggested {
		t.Errorf("taken back: %+v", got)
	}
}

// TestDraggingARemark drags a remark to another movement in a browser, then moves it by the list.
func TestDraggingARemark(t *testing.T) {
	b, r := saidRide(t)
	c, srv := tab(t, site(t, b), 390)
	from := spokenOf(t, b, r.ID)[1].Movement
	to := 2
	if from == 2 {
		to = 1
	}
	do(t, c, chromedp.Navigate(srv.URL+"/rides/"+r.ID+"/remarks"), chromedp.WaitVisible("#r1"))
	if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("the page is %d px too wide", over)
	}
	// The events a pointer makes, in their order: browsers do not let a test hold a drag.
	ask[bool](t, c, fmt.Sprintf(`(() => {
		const card = document.querySelector("#r1"), box = document.querySelector('[data-drop="%d"]'), data = new DataTransfer();
		const send = (el, kind) => el.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: data }));
		send(card, "dragstart");
		if (send(box, "dragover")) return false; // not taken
		return box.classList.contains("over") && (setTimeout(() => send(box, "drop")), true);
	})()`, to))
	do(t, c, chromedp.WaitVisible(fmt.Sprintf(`[data-drop="%d"] #r1`, to)))
	if k := spokenOf(t, b, r.ID)[1]; k.Movement != to || !k.Moved {
		t.Errorf("dragged to %d: %+v", to, k)
	}
	do(t, c, chromedp.SetValue("#to-1", "0"), chromedp.Focus("#r1 [data-move] button"), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(`[data-drop="0"] #r1`))
	if k := spokenOf(t, b, r.ID)[1]; k.Movement != 0 {
		t.Errorf("moved out of the test: %+v", k)
	}
}
