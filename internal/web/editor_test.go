package web

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/report"
)

func post(t testing.TB, h http.Handler, path string, form url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestEditorShowsHowASheetIsRead(t *testing.T) {
	status, body := get(t, site(t, testBook()), "/sheets/new")
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	has(t, body, `<textarea id="text"`, "Willow Ford 2", "rc-drawing", "Every line is understood.", "Circle left 20 m", "How it is read")
}

func TestEditorTryAnswersWithPlacesAndPictures(t *testing.T) {
	h := site(t, testBook())
	w := post(t, h, "/sheets/try", url.Values{"text": {"name: Reed Lane 1\r\narena: 20 x 40\r\n1 | A | Enter in working trot\r\n2 | C | Track lefft\r\n3 | E | Circle left 20 m"}})
	var p report.Preview
	if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil || w.Code != http.StatusOK {
		t.Fatalf("status %d: %v", w.Code, err)
	}
	if p.Name != "Reed Lane 1" || !strings.HasPrefix(p.Drawing, "<svg") || !strings.HasPrefix(p.Strip, "<svg") || len(p.Movements) != 3 {
		t.Errorf("preview of %q with %d movements", p.Name, len(p.Movements))
	}
	if m := p.Movements[2]; m.FirstLine != 5 || m.LastLine != 5 || m.Number != 3 {
		t.Errorf("movement 3 is on lines %d to %d", m.FirstLine, m.LastLine)
	}
	if len(p.Problems) == 0 || p.Problems[0].Line != 4 {
		t.Errorf("problems %+v", p.Problems)
	}
	if sheets, _ := testBook().Sheets(ctx); len(sheets) != 0 {
		t.Error("trying a sheet kept it")
	}
}

// Bad input never loses what the user had.
func TestEditorGivesBackWhatItCannotKeep(t *testing.T) {
	h := site(t, testBook())
	bad := "name: Reed <b>Lane</b>\narena: 20 x 40\n1 | A | Enter in working trot\n2 | Q | Cirkle left 20 m\n"
	w := post(t, h, "/sheets", url.Values{"text": {bad}, "seen": {"0"}})
	if w.Code != http.StatusUnprocessableEntity {
		t.Errorf("status %d", w.Code)
	}
	has(t, w.Body.String(), "Not kept:", "Reed &lt;b&gt;Lane&lt;/b&gt;", "Cirkle left 20 m", "line 4")
	long := "name: Long\n" + strings.Repeat("1 A Halt\n", 60000)
	w = post(t, h, "/sheets/try", url.Values{"text": {long}})
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "longer than") {
		t.Errorf("a text of %d bytes: status %d, %.200s", len(long), w.Code, w.Body.String())
	}
}

func TestEditorKeepsVersions(t *testing.T) {
	b := testBook()
	h := site(t, b)
	w := post(t, h, "/sheets", url.Values{"text": {exampleSheet}, "seen": {"0"}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body.String())
	}
	at := w.Header().Get("Location")
	changed := strings.Replace(exampleSheet, "Circle left 20 m", "Circle left 15 m", 1)
	if w = post(t, h, at, url.Values{"text": {changed}, "seen": {"1"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("second version: status %d", w.Code)
	}
	w = post(t, h, at, url.Values{"text": {exampleSheet}, "seen": {"1"}})
	if w.Code != http.StatusConflict {
		t.Errorf("a text edited from version 1 over version 2: status %d", w.Code)
	}
	has(t, w.Body.String(), "Not kept:", "Circle left 20 m")
}

// Too little time never looks like enough.
func TestNeedsAndHasTellApart(t *testing.T) {
	if got := needsAndHas(logbook.Demand{Needs: 2.44, Has: 2.41}); got != [2]string{"2.44 s", "2.41 s"} {
		t.Errorf("%v", got)
	}
	if got := needsAndHas(logbook.Demand{Needs: 2.41, Has: 2.44}); got[0] != got[1] || got[0] != seconds1(2.4) {
		t.Errorf("%v", got)
	}
}

// A sheet's page says what a horse can learn by heart and opens another order as a new sheet.
func TestSheetPageOffersAnotherOrder(t *testing.T) {
	h := site(t, testBook())
	text := "name: By Heart\narena: 20 x 60\nrein: left\n1 C Working trot left\n2 E Circle left 10 m\n3 A Circle left 15 m\n4 FXH Change the rein\n" +
		"5 B Circle right 15 m\n6 A Circle right 20 m\n7 KXM Change the rein\n8 E Circle left 10 m\n9 A Circle left 15 m\n10 C Halt\n"
	at := post(t, h, "/sheets", url.Values{"text": {text}, "seen": {"0"}}).Header().Get("Location")
	_, body := get(t, h, at)
	has(t, body, "What a horse learns by heart", "volte 10 m always at E", at+"/other-order")
	status, body := get(t, h, at+"/other-order")
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	has(t, body, "By Heart, in another order", "change places", "at the show the test is ridden as its sheet stands", `action="/sheets"`, "Every line is understood.")
}

func TestCallerPage(t *testing.T) {
	b := testBook()
	h := site(t, b)
	at := post(t, h, "/sheets", url.Values{"text": {exampleSheet}, "seen": {"0"}}).Header().Get("Location")
	status, body := get(t, h, at+"/call?lead=5")
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	has(t, body, "E Circle left 20 m", "data-speak=", "Start at A", "At a show nothing speaks", `<option value="5" selected>`, "before entry")
	if strings.Contains(body, "<audio") || strings.Contains(body, "autoplay") {
		t.Error("the page may sound by itself")
	}
}

func TestSheetPapers(t *testing.T) {
	h := site(t, testBook())
	at := post(t, h, "/sheets", url.Values{"text": {exampleSheet}, "seen": {"0"}}).Header().Get("Location")
	for file, begins := range map[string]string{"whole.pdf": "%PDF", "fold.pdf": "%PDF", "marks.pdf": "%PDF", "call.pdf": "%PDF", "line.svg": "<svg", "line.png": "\x89PNG", "line.csv": report.LineHeader} {
		if status, body := get(t, h, at+"/papers/"+file); status != http.StatusOK || !strings.HasPrefix(body, begins) {
			t.Errorf("%s: status %d, begins %.8q", file, status, body)
		}
	}
	if status, _ := get(t, h, at+"/papers/none.pdf"); status != http.StatusNotFound {
		t.Errorf("an unknown paper: status %d", status)
	}
}
