package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"
	"golang.org/x/net/html"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/measure"
	"ringcraft/internal/prepare"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/testkit"
)

// keep writes an output where RINGCRAFT_LOOK names a folder, for people to look at.
func keep(t *testing.T, name string, b []byte) {
	if dir := os.Getenv("RINGCRAFT_LOOK"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func written(t *testing.T, f func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// papers are all printed things, so that each is checked for the same properties.
func papers(p *rideplan.Plan) map[string]func(io.Writer) error {
	doc := BuildReview(tinyReview(p))
	in := Paper{Doc: &doc, Plan: p, Ridden: tinyReview(p).Ridden, Rider: "Zoë Ηλία", Horse: "Ольга", Day: "3 May",
		Homework: []Homework{{Title: "Square on the circle", Times: "3 times each rein", Look: "even corners", Plan: p}}}
	lesson := LessonPaper{Title: "Lesson for Ольга", Facts: "45 minutes", Cautions: []string{"Stop when the horse tires."}, LeftOut: []string{"Voltes: too hard today"},
		Blocks: []LessonBlock{{Kind: "warm-up", Title: "Loose trot", StartS: 0, LengthS: 600, Pace: "trot", Rein: "left"}, {Kind: "exercise", Title: "Square on the circle", StartS: 600, LengthS: 480, Plan: p, Look: "even corners", Fault: "falling out"}}}
	cmp := diagnose.Comparison{Sheet: p.Name, Movements: []diagnose.MovementChange{{Number: 2, MarkChange: ptr(1), Verdict: "better", Reason: "measured",
		Measures: []diagnose.MeasureChange{{What: "circle diameter", Unit: "m", Before: ptr(12.6), After: ptr(14.1), Change: ptr(1.5), Sigma: ptr(.3), Verdict: "better"}}}},
		Total: diagnose.TotalChange{Change: ptr(2.1), Sigma: ptr(1.4), Verdict: "no more than noise"}, Caution: []string{"Marked by the person who taught."}}
	day, err := prepare.PlanShow(prepare.ShowInput{StartClockS: 13*3600 + 5*60, Plan: p, TravelMin: 40})
	if err != nil {
		panic(err)
	}
	return map[string]func(io.Writer) error{
		"showday.pdf":  func(w io.Writer) error { return ShowDayPDF(w, day, p, "Ольга · Brook End") },
		"showday.html": func(w io.Writer) error { return ShowDayHTML(w, day, p, "Ольга · Brook End") },
		"onepage.pdf":  func(w io.Writer) error { return OnePagePDF(w, p) },
		"fold.pdf":     func(w io.Writer) error { return FoldSheetsPDF(w, p) },
		"marks.pdf":    func(w io.Writer) error { return MarkSheetPDF(w, p) },
		"call.pdf":     func(w io.Writer) error { return CallPDF(w, Caller(p, CallOptions{Allowed: true})) },
		"review.pdf":   func(w io.Writer) error { return ReviewPDF(w, in) },
		"review.html":  func(w io.Writer) error { return ReviewHTML(w, in) },
		"lesson.pdf":   func(w io.Writer) error { return LessonPDF(w, lesson) },
		"lesson.html":  func(w io.Writer) error { return LessonHTML(w, lesson) },
		"compare.pdf":  func(w io.Writer) error { return ComparePDF(w, cmp, "Ольга") },
		"compare.html": func(w io.Writer) error { return CompareHTML(w, cmp, "Ольга") },
	}
}

func TestPapersAreWholeAndRepeatable(t *testing.T) {
	pdfinfo := ""
	if _, err := exec.LookPath("pdftotext"); err == nil {
		pdfinfo = "pdftotext"
	}
	wants := map[string][]string{
		"onepage.pdf": {"Brook End 3", "Circle right", "(x2)", "page 1 of 1", "working trot"},
		"fold.pdf":    {"fold here", "Medium walk", "page 1 of 1"},
		"marks.pdf":   {"Rider", "remark", "x2", "of 60", "page 1 of 1"},
		"call.pdf":    {"Circle right 15 m", "before entry"},
		"review.pdf":  {"What went well", "Change these first", "circle too small", "Homework", "Zoë Ηλία", "Ольга", "page 2 of 2", "simulated"},
		"showday.pdf": {"Start at 13:05", "Ольга", "13:05"},
		"lesson.pdf":  {"Ольга", "Square on the circle", "Right is: even corners"},
		"compare.pdf": {"no more than noise", "+1.0", "12.6 m, then 14.1 m"},
	}
	first, again := papers(tinyPlan()), papers(tinyPlan())
	for name, f := range first {
		b := written(t, f)
		keep(t, name, b)
		if !bytes.Equal(b, written(t, again[name])) {
			t.Errorf("%s: two writings differ", name)
		}
		if strings.HasSuffix(name, ".pdf") && pdfinfo != "" {
			text := pdfText(t, b)
			if strings.Contains(text, "%!") {
				t.Errorf("%s holds a broken format:\n%s", name, text)
			}
			for _, w := range wants[name] {
				if !strings.Contains(text, w) {
					t.Errorf("%s lacks %q:\n%s", name, w, text)
				}
			}
		}
		if strings.HasSuffix(name, ".html") {
			checkHTML(t, name, b)
		}
	}
}

func pdfText(t *testing.T, b []byte) string {
	t.Helper()
	tool := testkit.Program(t, "pdf", "pdftotext")
	cmd := exec.Command(tool, "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(b)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// checkHTML parses the page (golang.org/x/net/html, the WHATWG algorithm) and looks for what
// would fetch anything or run anything.
func checkHTML(t *testing.T, name string, b []byte) {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.ElementNode {
			switch n.Data {
			case "script", "link", "img", "iframe", "object", "now":
				t.Errorf("%s holds an element %s", name, n.Data)
			}
			for _, a := range n.Attr {
				if a.Key == "href" || a.Key == "src" || strings.HasPrefix(a.Key, "on") {
					t.Errorf("%s: %s has %s", name, n.Data, a.Key)
				}
			}
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	if regexp.MustCompile(`url\(|@import|ZgotmplZ`).Match(b) {
		t.Errorf("%s refers outside itself or holds a refused value", name)
	}
}

func TestReviewHasEveryMovementAndNoNull(t *testing.T) {
	p := tinyPlan()
	for _, in := range []ReviewInput{tinyReview(p), {Plan: p}} {
		doc := BuildReview(in)
		b, err := json.Marshal(doc)
		if err != nil {
			t.Fatal(err)
		}
		if len(doc.Movements) != len(p.Movements) {
			t.Errorf("%d movements of %d", len(doc.Movements), len(p.Movements))
		}
		for _, m := range regexp.MustCompile(`"(\w+)":null`).FindAllStringSubmatch(string(b), -1) {
			switch m[1] {
			case "total", "recording", "start_s", "end_s", "value", "sigma", "nominal", "asked", "tolerance":
			default:
				t.Errorf("%s is null", m[1])
			}
		}
	}
	doc := BuildReview(tinyReview(p))
	if n := len(doc.Elsewhere); n != 2 {
		t.Errorf("%d remarks elsewhere, want the stray one and the greeting", n)
	}
	if doc.Movements[3].StartS != nil {
		t.Error("a movement left out has a start")
	}
}

func TestSummary(t *testing.T) {
	doc := BuildReview(tinyReview(tinyPlan()))
	s := Summarise(&doc)
	if len(s.Change) != 1 || s.Change[0].What != "circle too small" || s.Change[0].Marks != 3 {
		t.Errorf("to change: %+v (the ceiling is not charged; the coefficient counts)", s.Change)
	}
	if len(s.Well) == 0 || !strings.HasPrefix(s.Well[0], "Movement 1") {
		t.Errorf("went well: %q", s.Well)
	}
	if s.Where[2].Marks != 6 || s.Where[0].Marks != 3 {
		t.Errorf("where: %+v", s.Where)
	}
}

func TestLineCSV(t *testing.T) {
	p := tinyPlan()
	rows, err := csv.NewReader(bytes.NewReader(written(t, func(w io.Writer) error { return WriteLine(w, p) }))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(rows[0], ","); got != LineHeader {
		t.Errorf("header %s", got)
	}
	if len(rows) != len(p.Samples)+1 {
		t.Fatalf("%d rows for %d samples", len(rows)-1, len(p.Samples))
	}
	for i, s := range p.Samples {
		for j, want := range []float64{float64(s.M), float64(s.T), s.X, s.Y, s.Heading.Norm().Deg(), float64(s.Movement)} {
			got, err := strconv.ParseFloat(rows[i+1][j], 64)
			if err != nil || math.Abs(got-want) > 6e-5 && math.Abs(math.Abs(got-want)-360) > 6e-5 {
				t.Fatalf("row %d column %d is %s, want %g", i+1, j, rows[i+1][j], want)
			}
		}
		if rows[i+1][6] != string(s.Variety) {
			t.Fatalf("row %d: pace %s", i+1, rows[i+1][6])
		}
	}
}

func TestSheetDocKeys(t *testing.T) {
	p := tinyPlan()
	p.Movements[1].Demands[0].Has, p.Movements[1].Demands[0].Pressure = 0, math.Inf(1)
	b, err := json.Marshal(BuildSheet(p))
	if err != nil {
		t.Fatal(err)
	}
	var d map[string]any
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	need(t, d, "name", "arena", "total_s", "total_m", "max_points", "movements", "problems")
	need(t, d["arena"].(map[string]any), "width_m", "length_m")
	m := d["movements"].([]any)[1].(map[string]any)
	need(t, m, "number", "letters", "text", "coefficient", "start_s", "end_s", "length_m", "strides", "reading", "demands")
	q := m["demands"].([]any)[0].(map[string]any)
	need(t, q, "what", "at_s", "at_m", "needs_s", "has_s", "pressure")
	if q["pressure"].(float64) != MaxPressure {
		t.Errorf("pressure without any time is %v", q["pressure"])
	}
}

func need(t *testing.T, m map[string]any, keys ...string) {
	t.Helper()
	for _, k := range keys {
		if v, ok := m[k]; !ok || v == nil {
			t.Errorf("key %s is missing or null", k)
		}
	}
}

func TestSpoken(t *testing.T) {
	for _, c := range []struct {
		v     float64
		unit  string
		sigma *float64
		want  string
	}{
		{17.04, "m", ptr(0.31), "17.0 m, give or take 0.3"},
		{1.412, "Hz", ptr(0.012), "1.41 a second, give or take 0.01"},
		{-0.04, "m", ptr(0.3), "0.0 m, give or take 0.3"},
		{123.4, "m", ptr(14), "123 m, give or take 14"},
		{3, "s", nil, "3.0 s"},
		{3, "", ptr(0), "3.0"},
		{math.NaN(), "m", nil, "not known"},
	} {
		if got := Spoken(c.v, c.unit, c.sigma); got != c.want {
			t.Errorf("Spoken(%g) = %q, want %q", c.v, got, c.want)
		}
	}
}

// A number at the bound of what there can be is off to one side alone, and is said so.
func TestSpokenAtABound(t *testing.T) {
	for _, c := range []struct {
		what, unit   string
		value, sigma float64
		want         string
	}{
		{"held", "%", 100, 1.84, "100.0 %, perhaps 1.8 less"},
		{"held", "%", 99.98, 1.84, "100.0 %, perhaps 1.8 less"},
		{"held", "%", 98.9, 1.84, "98.9 %, give or take 1.8"},
		{"circle roundness", "m", 0, 0.22, "0.0 m, perhaps 0.2 more"},
		{"forward first", "m", 0, 0.05, "0.00 m, perhaps 0.05 more"},
		{"circle diameter", "m", 0, 0.22, "0.0 m, give or take 0.2"},
	} {
		m := measure.Measure{What: c.what, Unit: c.unit, Value: &c.value, Sigma: &c.sigma}
		if got := SpokenOf(m); got != c.want {
			t.Errorf("%s of %g: %q, want %q", c.what, c.value, got, c.want)
		}
		if short := ShortValue(m); strings.Contains(short, ",") {
			t.Errorf("%s alone is %q", c.what, short)
		}
	}
}

// RFC 5545: the file is reread, has CRLF line ends, lines of at most 75 octets, and a DTSTAMP.
func TestCalendar(t *testing.T) {
	zone := time.FixedZone("", 2*3600)
	at := time.Date(2026, 5, 3, 9, 30, 0, 0, zone)
	ev := []CalendarEvent{{UID: "show-1@ringcraft", Start: at, End: at.Add(6 * time.Minute), Summary: "Ольга: Brook End 3, with a very long title that has to be folded somewhere; really", Description: "line one\nline two, with comma", Place: "Brook End", AlarmMinutes: 90}}
	write := func(w io.Writer) error { return Calendar(w, "Show day", ev, at) }
	b := written(t, write)
	if !bytes.Equal(b, written(t, write)) {
		t.Error("two writings differ")
	}
	for _, l := range bytes.SplitAfter(b, []byte("\n")) {
		if len(l) > 0 && !bytes.HasSuffix(l, []byte("\r\n")) {
			t.Errorf("line %q does not end in CRLF", l)
		}
		if len(l) > 77 {
			t.Errorf("line of %d octets: %q", len(l)-2, l)
		}
	}
	cal, err := ics.ParseCalendar(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	e := cal.Events()[0]
	if got, err := e.GetStartAt(); err != nil || !got.Equal(at) {
		t.Errorf("start %v, %v", got, err)
	}
	if got, err := e.GetDtStampTime(); err != nil || !got.Equal(at) {
		t.Errorf("DTSTAMP %v, %v", got, err)
	}
	if Calendar(io.Discard, "", []CalendarEvent{{UID: "x", Start: at, End: at.Add(-1)}}, at) == nil {
		t.Error("an event that ends before it starts was written")
	}
}

// Every phase of a show day becomes one entry, in order, and the test begins at the start.
func TestShowDayEvents(t *testing.T) {
	day, err := prepare.PlanShow(prepare.ShowInput{StartClockS: 13*3600 + 5*60})
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, 5, 3, 13, 5, 0, 0, time.FixedZone("", 3600))
	evs := ShowDayEvents(day, start, "show1", "Ольга", "Brook End")
	if len(evs) != len(day.Phases) {
		t.Fatalf("%d entries for %d phases", len(evs), len(day.Phases))
	}
	began := false
	for i, e := range evs {
		if e.End.Before(e.Start) || i > 0 && e.Start.Before(evs[i-1].Start) {
			t.Errorf("entry %d from %v to %v", i, e.Start, e.End)
		}
		began = began || day.Phases[i].Kind == "test" && e.Start.Equal(start)
	}
	if !began {
		t.Error("no entry begins the test at its start")
	}
	if err := Calendar(io.Discard, "Show", evs, start); err != nil {
		t.Error(err)
	}
}

// An empty sheet, a sheet of 500 movements, names in letters the typeface lacks and a sheet
// with nothing but a name all give papers.
func TestPapersOfOddSheets(t *testing.T) {
	long := "name: Long\narena: 20 x 40\n1 | A | Enter in working trot\n2 | C | Track left\n"
	for n := 3; n <= 500; n++ {
		long += fmt.Sprintf("%d | E | Circle left 20 m\n", n)
	}
	for name, text := range map[string]string{"empty": "", "name only": "name: 馬場馬術 עברית", "not a sheet": strings.Repeat("nothing of use\n", 40), "long": long} {
		p := rideplan.CompileText("x", text, rideplan.Options{})
		script := Caller(p, CallOptions{})
		for paper, f := range map[string]func(io.Writer) error{
			"one page": func(w io.Writer) error { return OnePagePDF(w, p) },
			"marks":    func(w io.Writer) error { return MarkSheetPDF(w, p) },
			"call":     func(w io.Writer) error { return CallPDF(w, script) },
		} {
			b := written(t, f)
			if !bytes.HasPrefix(b, []byte("%PDF-")) || !bytes.Contains(b[len(b)-1024:], []byte("%%EOF")) {
				t.Errorf("%s, %s: no whole PDF", name, paper)
			}
		}
		if n := len(script.Calls); name == "long" && n < 250 {
			t.Errorf("%d calls for 500 movements", n)
		}
	}
}

// A real sheet, compiled: every movement's words are on the one page, on the fold sheets, in
// the script and on the sheet for marks.
func TestPapersHoldEveryMovement(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(testkit.Root(t), "sheets", "published", "belgian-m4.sheet"))
	if err != nil {
		t.Fatal(err)
	}
	p := rideplan.CompileText("m4", string(text), rideplan.Options{})
	script := Caller(p, CallOptions{})
	for paper, f := range map[string]func(io.Writer) error{
		"one page": func(w io.Writer) error { return OnePagePDF(w, p) },
		"fold":     func(w io.Writer) error { return FoldSheetsPDF(w, p) },
		"marks":    func(w io.Writer) error { return MarkSheetPDF(w, p) },
		"call":     func(w io.Writer) error { return CallPDF(w, script) },
	} {
		got := letters(pdfText(t, written(t, f)))
		for i := range p.Movements {
			for _, part := range strings.Split(p.Movements[i].Text, "; ") {
				for _, word := range strings.Fields(part) {
					if !strings.Contains(got, letters(word)) {
						t.Errorf("%s lacks %q of movement %d", paper, word, p.Movements[i].Number)
					}
				}
			}
		}
	}
}

// letters drops everything that setting may change: spaces, breaks and the kind of hyphen.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
}

// BenchmarkPapers writes the printed forms of a published sheet of 15 boxes.
func BenchmarkPapers(b *testing.B) {
	text, err := os.ReadFile(filepath.Join(testkit.Root(b), "sheets", "published", "belgian-m4.sheet"))
	if err != nil {
		b.Fatal(err)
	}
	p := rideplan.CompileText("m4", string(text), rideplan.Options{})
	script := Caller(p, CallOptions{})
	for _, c := range []struct {
		name string
		f    func(io.Writer) error
	}{
		{"one-page", func(w io.Writer) error { return OnePagePDF(w, p) }},
		{"fold-sheets", func(w io.Writer) error { return FoldSheetsPDF(w, p) }},
		{"marks", func(w io.Writer) error { return MarkSheetPDF(w, p) }},
		{"call", func(w io.Writer) error { return CallPDF(w, script) }},
		{"preview", func(io.Writer) error { BuildPreview(p, 40); return nil }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if err := c.f(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
