package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/recordings"
)

// smallSheet is invented: two movements, one of them double, and a collective mark.
const smallSheet = `name: Reed Hollow 1
arena: 20 x 40
rules: club

1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left                                x2
3    E      Circle left 20 m
collective: Rider x2
`

// shortRide is a book with one pair and one ride of the small sheet, without anything given.
func shortRide(t testing.TB) (*logbook.Book, logbook.Ride) {
	t.Helper()
	b := testBook()
	var err error
	if b.Recordings, err = recordings.Open(t.TempDir()); err != nil {
		t.Fatal(err)
	}
	sh, _, err := b.SaveSheet(ctx, "", 0, smallSheet)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.AddCombination(ctx, logbook.NewCombination{Rider: "Žofie <b>Ray</b>", Horse: "Ольга"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.AddRide(ctx, logbook.NewRide{CombinationID: c.ID, SheetID: sh.ID, Date: "2026-05-30", Kind: logbook.Show})
	if err != nil {
		t.Fatal(err)
	}
	return b, r
}

// typed is the form of a sheet with marks for its four lines.
func typed(seen, replaces, judge string, marks ...string) url.Values {
	f := url.Values{"seen": {seen}, "replaces": {replaces}, "judge": {judge}, "place": {""}}
	for i, what := range []string{"1", "2", "3", "collective:Rider"} {
		n := string(rune('0' + i))
		f.Set("what-"+n, what)
		f.Set("mark-"+n, marks[i])
	}
	return f
}

// TestMarksFromPaper types two judges' sheets and finds the totals: C gave 6.5, 7 (twice), 6 and 6
// (twice) of 60, which is 38.5 / 60 = 64.167 %; E 7, 6, 6 and 7: 39 / 60 = 65 %.
func TestMarksFromPaper(t *testing.T) {
	b, r := shortRide(t)
	h := site(t, b)
	at := "/rides/" + r.ID + "/marks"
	status, body := get(t, h, at)
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	clean(t, body)
	has(t, body, "Reed Hollow 1", "Žofie &lt;b&gt;Ray&lt;/b&gt; on Ольга", `name="mark-3"`, "Rider", "0 to 10 in steps of 0.5", `name="seen" value="-1"`, "error of course")

	first := typed("-1", "", "C", "6,5", "7", "6", "6")
	first.Set("remark-1", `late, "hollow"; <i>flat</i>`)
	if w := post(t, h, at, first); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	second := typed("0", "", "E", "7", "6", "6", "7")
	if w := post(t, h, at, second); w.Code != http.StatusSeeOther {
		t.Fatalf("second judge: status %d", w.Code)
	}
	_, body = get(t, h, at+"?judge=c")
	has(t, body, "64.167 %", "65.000 %", "all judges 64.584", `late, &#34;hollow&#34;; &lt;i&gt;flat&lt;/i&gt;`)
	rev, err := b.ReviewOf(ctx, r.ID)
	if err != nil {
		t.Fatal(err)
	}
	// 64.167 and 65.000, each judge rounded first as the rule set says, then their mean.
	if d := rev.Doc.Total; d == nil || len(d.Judges) != 2 || abs(d.Percent-64.58) > 0.011 {
		t.Errorf("the review says %+v", d)
	}
	if files := rev.Ride.FilesOf(logbook.RoleMarks); len(files) != 2 {
		t.Errorf("%d marks files; each keeping of a sheet is one", len(files))
	}
	// Two marks more for the double collective, two off for the first error of course.
	correct := typed("1", "C", "C", "6.5", "7", "6", "7")
	correct.Set("error-0", "error")
	correct.Set("error-note-0", "after A")
	if w := post(t, h, at, correct); w.Code != http.StatusSeeOther {
		t.Fatalf("correcting: status %d", w.Code)
	}
	_, body = get(t, h, at+"?judge=C")
	has(t, body, `value="after A"`, "64.167 %")
}

// TestWrongMarksLoseNothing sends marks that cannot be: nothing is stored, each field says what is
// allowed, and all that was typed comes back.
func TestWrongMarksLoseNothing(t *testing.T) {
	b, r := shortRide(t)
	h := site(t, b)
	at := "/rides/" + r.ID + "/marks"
	f := typed("-1", "", "C", "7.3", "11", "", "six")
	f.Set("remark-2", "no mark here")
	f.Set("error-0", "")
	f.Set("error-note-0", "somewhere")
	w := post(t, h, at, f)
	if w.Code != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", w.Code)
	}
	has(t, w.Body.String(), `value="7.3"`, "the nearest is 7.5", `value="11"`, "the nearest is 10", `value="six"`, "is not a mark", `value="no mark here"`, "a remark needs its mark",
		`value="somewhere"`, "say what it was; allowed: error", "Nothing was stored")
	clean(t, w.Body.String())
	if got, _ := b.Ride(ctx, r.ID); len(got.Files) != 0 {
		t.Errorf("stored: %v", got.Files)
	}
	for name, bad := range map[string]url.Values{"no judge": typed("-1", "", " ", "6", "6", "6", "6"), "nothing typed": typed("-1", "", "C", "", "", "", ""), "long name": typed("-1", "", strings.Repeat("x", 121), "6", "6", "6", "6")} {
		if w := post(t, h, at, bad); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
	if w := post(t, h, at, typed("-1", "", "C", "6", "6", "6", "6")); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	for name, f := range map[string]url.Values{"changed meanwhile": typed("-1", "C", "C", "5", "5", "5", "5"), "seen is no number": typed("x", "C", "C", "5", "5", "5", "5")} {
		if w := post(t, h, at, f); w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), `value="5"`) {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
	if w := post(t, h, at, typed("0", "", "c", "5", "5", "5", "5")); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "a sheet of C already") {
		t.Errorf("the same judge twice: status %d", w.Code)
	}
	if w := post(t, h, "/rides/none/marks", f); w.Code != http.StatusNotFound {
		t.Errorf("no such ride: status %d", w.Code)
	}
}

// TestMoreRoutesAreTheTrainers walks the routes as the roles that may not use them.
func TestMoreRoutesAreTheTrainers(t *testing.T) {
	for _, role := range []access.Role{access.Rider, access.Scribe} {
		h := New(Config{Book: testBook(), Who: func(*http.Request) access.Who { return access.Who{Role: role} }})
		for _, route := range moreRoutes() {
			if route.Rule != access.TrainerDo {
				continue
			}
			path := strings.NewReplacer("{id}", "x").Replace(route.Pattern)
			w := post(t, h, path, nil)
			if route.Method == "GET" {
				w.Code, _ = get(t, h, path)
			}
			if w.Code != http.StatusForbidden {
				t.Errorf("%s %s as %s: status %d", route.Method, route.Pattern, role, w.Code)
			}
		}
	}
}

// TestTypingMarks types a sheet by keyboard in a browser: Enter goes down the marks, the sum follows,
// a wrong mark is said beside its field, and the sheet is kept.
func TestTypingMarks(t *testing.T) {
	b, r := shortRide(t)
	c, srv := tab(t, site(t, b), 390)
	do(t, c, chromedp.Navigate(srv.URL+"/rides/"+r.ID+"/marks"), chromedp.WaitVisible("#mark-0"), chromedp.Focus("#mark-0"))
	do(t, c, chromedp.KeyEvent("6.5"+kb.Enter+"7.3"+kb.Enter+"6"+kb.Enter+"6"))
	until(t, c, `document.querySelector('[data-fault="mark-1"]').textContent.includes("the nearest is 7.5")`)
	until(t, c, `document.querySelector("#mark-1").getAttribute("aria-invalid") === "true"`)
	do(t, c, chromedp.KeyEvent(kb.ArrowUp+kb.ArrowUp), chromedp.KeyEvent("7"))
	until(t, c, `document.querySelector('[data-fault="mark-1"]').textContent === ""`)
	until(t, c, `document.querySelector('[data-total="percent"]').textContent === "64.167 %"`)
	if over := ask[int](t, c, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
		t.Errorf("the page is %d px too wide", over)
	}
	do(t, c, chromedp.Click(`form.marks button[type="submit"]`), chromedp.WaitVisible(".score"))
	if words := ask[string](t, c, `document.querySelector(".score").textContent`); !strings.Contains(words, "C 64.167 %") {
		t.Errorf("the ride says %q", words)
	}
}
