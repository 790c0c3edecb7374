package web

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"net/url"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/recordings"
)

const demoDay = logbook.Date("2026-06-01")

// demoBook is the demo yard in memory, loaded once; tests that change it use yard().
var demoBook = sync.OnceValues(func() (*logbook.Book, error) { return loadDemo() })

func loadDemo() (*logbook.Book, error) {
	dir, err := os.MkdirTemp("", "ringcraft-web")
	if err != nil {
		return nil, err
	}
	b := testBook()
	if b.Recordings, err = recordings.Open(dir); err != nil {
		return nil, err
	}
	return b, demo.Load(ctx, b, demoDay, nil)
}

func demoYard(t testing.TB) *logbook.Book {
	t.Helper()
	b, err := demoBook()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func firstLesson(t testing.TB, b *logbook.Book, pair string) logbook.Lesson {
	t.Helper()
	ls, err := b.Lessons(ctx, logbook.LessonFilter{CombinationID: pair})
	if err != nil || len(ls) == 0 {
		t.Fatalf("no lesson: %v", err)
	}
	return ls[0]
}

// TestEveryPageRenders asks for every page with the demo yard behind it and looks for what it is
// there for. A GET route without a case fails.
func TestEveryPageRenders(t *testing.T) {
	b := demoYard(t)
	lesson := "/lessons/" + firstLesson(t, b, "demo-ilse-quillon").ID
	pages := map[string]struct {
		path string
		want []string
	}{
		"/{$}":                           {"/", []string{"Ilse Bramwell on Quillon", "Tom Ferrow on Larkspur", "invented people", `class="rc-drawing"`, "%"}},
		"/sheets":                        {"/sheets", []string{"Willow Ford Elementary 3", "20 movements"}},
		"/sheets/{id}":                   {"/sheets/demo-sheet", []string{"Where there is little time", "Shoulder-in left from F to B", "data-scrub-range", `id="timeline"`, "Fold sheets"}},
		"/combinations/new":              {"/combinations/new", []string{`name="rider"`, `name="horse"`}},
		"/combinations/{id}":             {"/combinations/demo-ilse-quillon", []string{"Was it better?", "/compare/demo-quillon-1/demo-quillon-2", "Lessons", "Add a ride"}},
		"/combinations/{id}/rides/new":   {"/combinations/demo-ilse-quillon/rides/new", []string{`name="track"`, `name="marks"`, `name="commentary"`, "Willow Ford", "What each of them can tell", "Tells nearly all of it", `href="/recorders"`}},
		"/combinations/{id}/lessons/new": {"/combinations/demo-ilse-quillon/lessons/new", []string{`name="minutes"`, "Humidity"}},
		"/rides/{id}":                    {"/rides/demo-quillon-1", []string{"recording simulated", "circle diameter", "too large", "give or take", "asked 9.2 m", "That circle is far too large", "within reach now", "Likely causes", "Plan the lesson", `id="timeline"`}},
		"/rides/{id}/report.pdf":         {"/rides/demo-quillon-2/report.pdf", []string{"%PDF-"}},
		"/rides/{id}/files/{role}/{seq}": {"/rides/demo-quillon-1/files/track/0", []string{"simulated ride, not a recording"}},
		"/compare/{one}/{other}":         {"/compare/demo-quillon-2/demo-quillon-1", []string{"The second ride is better", "prone to expectation", "Changed by more than noise"}},
		"/compare/{one}/{other}/unseen":  {"/compare/demo-quillon-1/demo-quillon-2/unseen", []string{`name="clip1"`, `name="clip40"`, "without dates"}},
		"/combinations/{id}/trends":      {"/combinations/demo-ilse-quillon/trends", []string{"Moved by more than noise", "circle", "Which exercise seems to have paid"}},
		"/recorders":                     {"/recorders", []string{"a phone in a pocket", "sizes of circles", "at times", "Tells nearly all of it", "docs/MEASURES.md", "gyroscope"}},
		"/lessons/{id}":                  {lesson, []string{"exercise", "Why this", "Run the lesson", "Helmet"}},
		"/lessons/{id}/homework":         {lesson + "/homework", []string{"What right looks like"}},
		"/lessons/{id}/papers/{paper}":   {lesson + "/papers/homework.pdf", []string{"%PDF-"}},
		"/lessons/{id}/run":              {lesson + "/run", []string{"data-run-clock", "Good one", "The horse tires", `id="run"`}},
		"/day":                           {"/day", []string{"Monday 1 June 2026", "Ashgrove", "Pell Meadow", "09:30", "to get to the next yard", "Homework was"}},
		"/day/{date}":                    {"/day/2026-06-08", []string{"Show", "10:12"}},
	}
	h := site(t, b)
	for _, route := range bookRoutes() {
		if route.Method != "GET" || route.Rule == access.Open {
			continue
		}
		c, ok := pages[route.Pattern]
		if !ok {
			t.Errorf("no case for page %s", route.Pattern)
			continue
		}
		t.Run(strings.Trim(route.Pattern, "/"), func(t *testing.T) {
			status, body := get(t, h, c.path)
			if status != http.StatusOK {
				t.Fatalf("status %d: %.300s", status, body)
			}
			has(t, body, c.want...)
			if strings.HasPrefix(body, "<!doctype") {
				clean(t, body)
			}
		})
	}
}

var (
	inline = regexp.MustCompile(`(?i)<script>|\son[a-z]+\s*=|\sstyle\s*=|<style|javascript:|src="https?:|href="https?:`)
	fields = regexp.MustCompile(`<(?:input|select|textarea)[^>]*\sid="([^"]+)"`)
)

// clean holds a page to what every page promises: one heading, a language, nothing inline, a
// label for every field.
func clean(t *testing.T, body string) {
	t.Helper()
	if m := inline.FindString(body); m != "" {
		t.Errorf("inline or foreign: %q", m)
	}
	if n := strings.Count(body, "<h1"); n != 1 {
		t.Errorf("%d main headings", n)
	}
	for _, m := range fields.FindAllStringSubmatch(body, -1) {
		if !strings.Contains(body, `for="`+m[1]+`"`) {
			t.Errorf("field %s has no label", m[1])
		}
	}
}

// part is a field or file of a form with files.
type part struct{ name, file, text string }

// multipartOf is the body of a form with files, and its type.
func multipartOf(t testing.TB, parts ...part) (*bytes.Buffer, string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for _, p := range parts {
		hd := textproto.MIMEHeader{}
		cd := fmt.Sprintf(`form-data; name=%q`, p.name)
		if p.file != "" {
			cd += fmt.Sprintf(`; filename=%q`, p.file)
			hd.Set("Content-Type", "application/octet-stream")
		}
		hd.Set("Content-Disposition", cd)
		f, err := w.CreatePart(hd)
		if err != nil {
			t.Fatal(err)
		}
		f.Write([]byte(p.text))
	}
	w.Close()
	return &body, w.FormDataContentType()
}

func sendParts(t testing.TB, h http.Handler, path string, parts ...part) *httptest.ResponseRecorder {
	t.Helper()
	body, kind := multipartOf(t, parts...)
	r := httptest.NewRequest("POST", path, body)
	r.Header.Set("Content-Type", kind)
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec
}

func postForm(t testing.TB, h http.Handler, path string, form url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	return rec
}

// smallYard is a book of its own with one pair and the demo sheet.
func smallYard(t testing.TB) (*logbook.Book, http.Handler, string) {
	t.Helper()
	b := testBook()
	rec, err := recordings.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { rec.Close() })
	b.Recordings = rec
	c, err := b.AddCombination(ctx, logbook.NewCombination{Rider: "Ada", Horse: "Bo"})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "S", Version: 1, Text: demo.SheetText(), Saved: b.Now()}); err != nil {
		t.Fatal(err)
	}
	return b, site(t, b), "/combinations/" + c.ID
}

func rideFields(more ...part) []part {
	return append([]part{{name: "sheet", text: "s"}, {name: "date", text: "2026-05-31"}, {name: "kind", text: "training"}, {name: "recorder", text: "rtk"},
		{name: "agreed_by", text: "Ada"}}, more...)
}

// TestBadInputStoresNothing sends what cannot be read, one thing at a time, and asks for a message
// that says where, and for a store as empty as before.
func TestBadInputStoresNothing(t *testing.T) {
	b, h, pair := smallYard(t)
	track := "t_s,x_m,y_m\n0,0,0\n0.1,0,0.3\n0.2,0,0.6\n0.3,0,0.9\n"
	tests := []struct {
		name  string
		parts []part
		want  []string
	}{
		{"not a number in the track", rideFields(part{"track", "t.csv", strings.Replace(track, "0.1,0,0.3", "0.1,NaN,0.3", 1)}), []string{"t.csv", "line 3"}},
		{"time runs backwards", rideFields(part{"track", "t.csv", track + "0.1,0,1.2\n"}), []string{"t.csv", "line 6"}},
		{"no overlap with the arena", rideFields(part{"track", "t.csv", "t_s,x_m,y_m\n0,9000,9000\n1,9001,9000\n2,9002,9000\n3,9003,9000\n"}), []string{"arena"}},
		{"a cue ends before it starts", rideFields(part{"commentary", "c.vtt", "WEBVTT\n\n00:10.000 --> 00:05.000\nhello\n"}), []string{"c.vtt", "line 3"}},
		{"a mark of 7.3", rideFields(part{"marks", "m.csv", "movement,judge,mark,remark\n1,C,7.3,\n"}), []string{"m.csv", "line 2", "7.3"}},
		{"an unknown movement", rideFields(part{"marks", "m.csv", "movement,judge,mark,remark\n99,C,7.0,\n"}), []string{"m.csv", "line 2", "99"}},
		{"an unknown place of the recorder", rideFields(part{name: "worn", text: "boot"}), []string{"boot", "helmet"}},
		{"motion without positions", rideFields(part{"motion", "m.csv", "t_s,ax_mps2,ay_mps2,az_mps2\n0,0,0,9.8\n0.1,0,0,9.8\n"}), []string{"m.csv", "positions"}},
		{"an unknown recorder", rideFields(part{name: "recorder", text: "crystal ball"}), []string{"recorder"}},
		{"no such day", append(rideFields(), part{name: "date", text: "31.5.2026"}), []string{"2026-05-31"}},
		{"two marks files", rideFields(part{"marks", "a.csv", "movement,judge,mark\n1,C,7.0\n"}, part{"marks", "b.csv", "movement,judge,mark\n1,C,7.0\n"}), []string{"two files"}},
		{"a track that is none", rideFields(part{"track", "t.gpx", "<html>no</html>"}), []string{"t.gpx"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := sendParts(t, h, pair+"/rides", tt.parts...)
			if w.Code != http.StatusUnprocessableEntity {
				t.Errorf("status %d", w.Code)
			}
			has(t, w.Body.String(), append(tt.want, `role="alert"`, `name="track"`)...)
			rides, err := b.Rides(ctx, logbook.RideFilter{})
			if err != nil || len(rides) > 0 {
				t.Errorf("%d rides stored (%v)", len(rides), err)
			}
			if agreed, err := b.Agreed(ctx, "id1", logbook.ConsentRide); err != nil || agreed {
				t.Errorf("a consent was noted of a recording that was not kept (%v)", err)
			}
			b.Recordings.Each(ctx, func(x logbook.Blob) error { t.Errorf("recording %s stored", x.SHA256); return nil })
		})
	}
}

// TestRideFromTheFormToItsPage adds a ride with marks alone, then what came later, and finds it
// all on its page.
func TestRideFromTheFormToItsPage(t *testing.T) {
	b, h, pair := smallYard(t)
	w := sendParts(t, h, pair+"/rides", rideFields(part{"marks", `..\..\<b>marks.csv`, "movement,judge,mark,remark\n1,C,6.5,square\n2,C,7.0,<i>large</i>\n"}, part{"track", "", ""})...)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	where := w.Header().Get("Location")
	status, body := get(t, h, where)
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	has(t, body, "6.5 (square)", "&lt;i&gt;large&lt;/i&gt;", "&lt;b&gt;marks.csv", "no recording", "No recording: sizes")
	if strings.Contains(body, "<i>large") || strings.Contains(body, `..\`) {
		t.Error("given words are not escaped or a path was kept")
	}
	w = sendParts(t, h, where+"/files", part{"commentary", "said.vtt", "WEBVTT\n\n00:30.000 --> 00:32.000\nThat circle is too large\n"})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	_, body = get(t, h, where)
	has(t, body, "That circle is too large")
	w = sendParts(t, h, where+"/files", part{"commentary", "again.vtt", "WEBVTT\n"})
	if w.Code != http.StatusConflict {
		t.Errorf("a second commentary: status %d", w.Code)
	}
	w = sendParts(t, h, where+"/files", part{"virus", "x.exe", "MZ"})
	if w.Code != http.StatusUnprocessableEntity {
		t.Errorf("an unknown role: status %d", w.Code)
	}
	r := httptest.NewRecorder()
	h.ServeHTTP(r, httptest.NewRequest("GET", where+"/files/marks/0", nil))
	if !strings.HasPrefix(r.Header().Get("Content-Disposition"), "attachment") || r.Header().Get("Content-Type") != "application/octet-stream" {
		t.Errorf("a given file is sent as %q, %q", r.Header().Get("Content-Type"), r.Header().Get("Content-Disposition"))
	}
	rides, _ := b.Rides(ctx, logbook.RideFilter{})
	if len(rides) != 1 || len(rides[0].Files) != 2 {
		t.Errorf("rides %+v", rides)
	}
}

func TestOtherFormsKeepWhatWasTyped(t *testing.T) {
	_, h, pair := smallYard(t)
	tests := []struct {
		path string
		form url.Values
		want []string
	}{
		{"/combinations", url.Values{"rider": {"  "}, "horse": {"Quill"}, "remark": {"no <canter>"}}, []string{"the rider has no name", "Quill", "no &lt;canter&gt;"}},
		{"/combinations", url.Values{"rider": {"A"}, "horse": {"B"}, "profile": {`{"heigth_m": 1.6}`}}, []string{"heigth_m", "height_m"}},
		{pair + "/lessons", url.Values{"minutes": {"10"}}, []string{"10", `value="10"`}},
		{pair + "/lessons", url.Values{"minutes": {"soon"}}, []string{"whole number", `value="soon"`}},
		{pair + "/lessons", url.Values{"minutes": {"45"}, "temp": {"31"}}, []string{"humidity", `value="31"`}},
		{"/day/2026-06-01", url.Values{"combination": {strings.TrimPrefix(pair, "/combinations/")}, "start": {"25:00"}, "minutes": {"45"}, "kind": {"lesson"}}, []string{"25:00", "09:30"}},
		{"/day/2026-06-01", url.Values{"combination": {"gone"}, "start": {"09:00"}, "minutes": {"45"}, "kind": {"lesson"}}, []string{"not in the book"}},
	}
	for _, tt := range tests {
		w := postForm(t, h, tt.path, tt.form)
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s %v: status %d", tt.path, tt.form, w.Code)
		}
		has(t, w.Body.String(), append(tt.want, `role="alert"`)...)
	}
}

func TestDayFormAndRemoval(t *testing.T) {
	b, h, pair := smallYard(t)
	w := postForm(t, h, "/day/2026-06-01", url.Values{"combination": {strings.TrimPrefix(pair, "/combinations/")}, "start": {"09:15"}, "minutes": {"30"}, "kind": {"lesson"}, "remark": {"<b>no jumping</b>"}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	_, body := get(t, h, "/day/2026-06-01")
	has(t, body, "09:15", "&lt;b&gt;no jumping&lt;/b&gt;", "Plan the lesson")
	list, err := b.Appointments(ctx, "2026-06-01", "2026-06-01")
	if err != nil || len(list) != 1 {
		t.Fatalf("%v %v", list, err)
	}
	if w := postForm(t, h, "/day/2026-06-01/"+list[0].ID+"/remove", nil); w.Code != http.StatusSeeOther {
		t.Errorf("status %d", w.Code)
	}
	_, body = get(t, h, "/day/2026-06-01")
	has(t, body, "Nothing written down for this day")
	if status, _ := get(t, h, "/day/yesterday"); status != http.StatusNotFound {
		t.Errorf("a day that is none: status %d", status)
	}
}

func postJSON(t testing.TB, h http.Handler, path, body string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// TestLessonRuns sends steps twice, solves the rest again and ends the lesson.
func TestLessonRuns(t *testing.T) {
	b := demoYard(t)
	h := site(t, b)
	l := firstLesson(t, b, "demo-tom-larkspur")
	at := "/lessons/" + l.ID
	step := func(id, kind string, seq, block int) string {
		return fmt.Sprintf(`{"id":%q,"lesson_id":%q,"seq":%d,"kind":%q,"block":%d,"at_s":%d,"text":"","received":"0001-01-01T00:00:00Z"}`, id, l.ID, seq, kind, block, seq)
	}
	body := `{"steps":[` + step("a", "begun", 1, 0) + "," + step("b", "good", 2, 0) + `]}`
	for _, want := range []string{`"added":2`, `"added":0`} {
		w := postJSON(t, h, at+"/steps", body)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want) {
			t.Errorf("steps: %d %s, want %s", w.Code, w.Body, want)
		}
	}
	for _, bad := range []string{`{"steps":[` + step("c", "replan", 3, 0) + `]}`, `{"steps":[` + step("", "good", 3, 0) + `]}`, `{"steps":`, `[]`} {
		if w := postJSON(t, h, at+"/steps", bad); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", bad, w.Code)
		}
	}
	before, err := b.LessonOf(ctx, l.ID)
	if err != nil {
		t.Fatal(err)
	}
	again := `{"step_id":"r1","elapsed_s":960,"begun":2,"tired":true}`
	for range 2 {
		if w := postJSON(t, h, at+"/replan", again); w.Code != http.StatusOK {
			t.Fatalf("replan: %d %s", w.Code, w.Body)
		}
	}
	after, err := b.LessonOf(ctx, l.ID)
	if err != nil {
		t.Fatal(err)
	}
	checkReplanned(t, before, after)
	if w := postForm(t, h, at+"/end", nil); w.Code != http.StatusSeeOther {
		t.Errorf("end: status %d", w.Code)
	}
	_, page := get(t, h, at)
	has(t, page, "The horse tires", "0:02 good one")
}

// TestUnseenMarks marks both rides again and finds the marks in the comparison,
// not in the ride's own score, and the order the same every time.
func TestUnseenMarks(t *testing.T) {
	b := demoYard(t)
	h := site(t, b)
	at := "/compare/demo-larkspur-1/demo-larkspur-2"
	before, err := b.ReviewOf(ctx, "demo-larkspur-1")
	if err != nil {
		t.Fatal(err)
	}
	_, first := get(t, h, at+"/unseen")
	for _, told := range []string{"7 Oct", "13 Apr", "Larkspur", "demo-larkspur-1.c"} {
		if strings.Contains(strings.SplitN(first, "<form", 2)[1], told) {
			t.Errorf("the form tells %q", told)
		}
	}
	form := url.Values{}
	for i := range 40 {
		form.Set(fmt.Sprintf("clip%d", i+1), "6.0")
	}
	form.Set("clip7", "eleven")
	if w := postForm(t, h, at+"/unseen", form); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `value="eleven"`) {
		t.Errorf("a mark that is none: status %d", w.Code)
	}
	form.Set("clip7", "6,5")
	for range 2 {
		if w := postForm(t, h, at+"/unseen", form); w.Code != http.StatusSeeOther {
			t.Fatalf("status %d", w.Code)
		}
	}
	notes, err := b.Notes(ctx, "demo-larkspur-1")
	if err != nil || len(notes) != 20 {
		t.Errorf("%d notes of marks sent twice, want 20 (%v)", len(notes), err)
	}
	_, page := get(t, h, at)
	has(t, page, "Marked again unseen")
	after, err := b.ReviewOf(ctx, "demo-larkspur-1")
	if err != nil || after.Doc.Total.Percent != before.Doc.Total.Percent {
		t.Errorf("marks given unseen changed the score: %v", err)
	}
}

// checkReplanned asks that what was begun stays, that the rest fills the time that is left and
// no more, and that a tired horse is asked no more than before.
func checkReplanned(t *testing.T, before, after logbook.TaughtLesson) {
	t.Helper()
	if len(after.Steps) != 3 {
		t.Errorf("%d steps, want 3", len(after.Steps))
	}
	if after.Plan.Blocks[0].Title != before.Plan.Blocks[0].Title {
		t.Error("what was done changed")
	}
	last := after.Plan.Blocks[len(after.Plan.Blocks)-1]
	if end := last.StartS + last.LengthS; end > float64(after.Lesson.Minutes)*60+1 {
		t.Errorf("the new plan ends at %.0f s of %d min", end, after.Lesson.Minutes)
	}
	work := func(l logbook.TaughtLesson) (s float64) {
		for _, b := range l.Plan.Blocks {
			if b.Kind == "exercise" {
				s += b.LengthS
			}
		}
		return s
	}
	if work(after) > work(before) {
		t.Errorf("a tired horse was asked more: %.0f s after %.0f s", work(after), work(before))
	}
}

func TestUploadsAreBounded(t *testing.T) {
	_, h, pair := smallYard(t)
	w := sendParts(t, h, pair+"/rides", rideFields(part{name: "place", text: strings.Repeat("x", maxField+1)})...)
	if w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("a long field: status %d", w.Code)
	}
	r := httptest.NewRequest("POST", pair+"/rides", strings.NewReader("no form"))
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, r)
	if rec.Code != http.StatusUnprocessableEntity {
		t.Errorf("no form: status %d", rec.Code)
	}
}
