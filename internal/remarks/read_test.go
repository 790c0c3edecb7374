package remarks

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	astisub "github.com/asticode/go-astisub"

	"ringcraft/internal/sheet"
	"ringcraft/internal/testkit"
)

// The files and expected cues are those of a browser's WebVTT parser tests (mozilla/vtt.js,
// commit 42ca104, Apache-2.0; the shared folder's webvtt-cases). Empty cues are left out by
// Read, so they are left out of the expectation.
func TestReadBrowserCases(t *testing.T) {
	root := testkit.Shared(t, "data", "webvtt-cases")
	seen := 0
	err := filepath.Walk(root, func(p string, _ os.FileInfo, err error) error {
		if err != nil || !strings.HasSuffix(p, ".vtt") {
			return err
		}
		want, ok := expected(t, p)
		if !ok {
			return nil
		}
		seen++
		if why := looser[filepath.Base(p)]; why != "" {
			return nil
		}
		data, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		got, problems := Read(p, data)
		if len(got) != len(want) {
			t.Errorf("%s: %d cues, want %d (%v)", strings.TrimPrefix(p, root), len(got), len(want), problems)
			return nil
		}
		for i := range got {
			if math.Abs(got[i].StartS-want[i].StartTime) > 1e-6 || math.Abs(got[i].EndS-want[i].EndTime) > 1e-6 {
				t.Errorf("%s: cue %d is %v to %v, want %v to %v", p, i, got[i].StartS, got[i].EndS, want[i].StartTime, want[i].EndTime)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 40 {
		t.Fatalf("only %d cases found", seen)
	}
}

// looser are the cases where Read keeps more than a browser does, and why.
var looser = map[string]string{
	"fraction-digits.vtt":          "two digits after the point are read, transcribers write them",
	"minimum-spots-over-sixty.vtt": "120:00.000 is read as 120 minutes; that parser takes it for hours",
	"id.vtt":                       "a lone --> before a timing line does not cost the cue",
}

type vttCue struct {
	StartTime, EndTime float64
	Text               string
}

func expected(t *testing.T, vtt string) ([]vttCue, bool) {
	t.Helper()
	name := strings.TrimSuffix(vtt, ".vtt") + ".json"
	b, err := os.ReadFile(name)
	if err != nil {
		return nil, false
	}
	var doc struct{ Cues []vttCue }
	if err := json.Unmarshal(b, &doc); err != nil {
		t.Fatal(err)
	}
	var out []vttCue
	for _, c := range doc.Cues {
		if text, _ := cueText(c.Text, true); text != "" {
			out = append(out, c)
		}
	}
	return out, true
}

// The caption file of a real talk and SRT samples, read by a general-purpose subtitle
// library as well (asticode/go-astisub): same cues, same times.
func TestReadAgainstLibrary(t *testing.T) {
	files := []string{
		testkit.Shared(t, "data", "webvtt-cases", "integration", "cycle-collector-talk.vtt"),
		testkit.Shared(t, "data", "srt-samples", "example-in.srt"),
		testkit.Shared(t, "data", "srt-samples", "example-in.vtt"),
		testkit.Shared(t, "data", "srt-samples", "example-in-styled.srt"),
		testkit.Shared(t, "data", "srt-samples", "missing-sequence-in.srt"),
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var subs *astisub.Subtitles
		if strings.HasSuffix(f, ".vtt") {
			subs, err = astisub.ReadFromWebVTT(bytes.NewReader(data))
		} else {
			subs, err = astisub.ReadFromSRT(bytes.NewReader(data))
		}
		if err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		got, problems := Read(f, data)
		if len(got) != len(subs.Items) {
			t.Errorf("%s: %d cues, the library has %d (%v)", f, len(got), len(subs.Items), problems)
			continue
		}
		for i, it := range subs.Items {
			if math.Abs(got[i].StartS-it.StartAt.Seconds()) > 0.0011 {
				t.Errorf("%s cue %d: start %v, library %v", f, i, got[i].StartS, it.StartAt.Seconds())
			}
		}
	}
}

func TestReadAwkwardSamples(t *testing.T) {
	for name, want := range map[string]int{"example-in-carriage-return.srt": 3, "example-in-carriage-return.vtt": 3,
		"example-in-non-utf8.srt": 6, "example-in-html-entities.srt": 3} {
		got, problems := Read(name, testkit.ReadShared(t, "data", "srt-samples", name))
		if len(got) < want || sheet.HasErrors(problems) {
			t.Errorf("%s: %d cues, %v", name, len(got), problems)
		}
	}
	got, _ := Read("e.srt", testkit.ReadShared(t, "data", "srt-samples", "example-in-html-entities.srt"))
	if want := "The man in black fled across the desert,\n& the gunslinger followed."; strings.ReplaceAll(got[0].Text, " \n", "\n") != want && !strings.Contains(got[0].Text, "& the gunslinger") {
		t.Errorf("entities: %q", got[0].Text)
	}
}

func TestReadForms(t *testing.T) {
	cases := []struct {
		name, in string
		want     string // start-end text; joined by ;
		problem  string // part of the first problem, "" for none
	}{
		{"plain clock", "1:23 bit late\n", "83.0-84.0 bit late", ""},
		{"plain long clock", "00:01:23.5 - bit late\n", "83.5-84.5 bit late", ""},
		{"brackets", "[83] bit late", "83.0-84.0 bit late", ""},
		{"seconds", "83s bit late", "83.0-84.0 bit late", ""},
		{"tab", "83.25\tbit late", "83.2-84.2 bit late", ""},
		{"range", "1:23 - 1:27 bit late", "83.0-87.0 bit late", ""},
		{"figure in text", "1:23 10 m circle late\n20 m next", "83.0-85.8 10 m circle late|20 m next", ""},
		{"bad seconds", "1:75 bit late\n1:20 ok then", "80.0-81.0 ok then", "time not understood"},
		{"no time", "bit late", "", "no time before the text"},
		{"ends before start", "WEBVTT\n\n00:05.000 --> 00:03.000\nlate\n\n00:07.000 --> 00:08.000\ngood", "5.0-5.0 late;7.0-8.0 good", "ends (3.000 s) before it starts (5.000 s)"},
		{"bad cue between", "WEBVTT\n\n00:01.000 --> 00:02.000\na\n\n00:xx.000 --> 00:03.000\nb\n\n00:07.000 --> 00:08.000\nc", "1.0-2.0 a;7.0-8.0 c", "cue time not understood"},
		{"empty cue", "WEBVTT\n\n00:01.000 --> 00:02.000\n\n00:07.000 --> 00:08.000\nc", "7.0-8.0 c", "the cue is empty"},
		{"overlap", "WEBVTT\n\n00:01.000 --> 00:09.000\na\n\n00:07.000 --> 00:08.000\nc", "1.0-9.0 a;7.0-8.0 c", "begin before the one before has ended"},
		{"order", "0:20 b\n0:10 a", "10.0-11.0 a;20.0-21.0 b", "not in order"},
		{"latin-1", "0:10 volte \xe0 gauche", "10.0-11.2 volte à gauche", "not UTF-8"},
		{"cr only", "0:10 a\r0:20 b", "10.0-11.0 a;20.0-21.0 b", ""},
		{"empty file", "", "", "the file holds no text"},
		{"voice and escapes", "WEBVTT\n\n00:01.000 --> 00:02.000\n<v Anna>left &amp; <i>right</i></v>", "1.0-2.0 left & right", ""},
		{"no timing", "WEBVTT\n\n00:01.000 00:02.000\nlost?", "", "text without a time"},
		{"srt blank line", "1\n00:00:01,000 --> 00:00:02,000\none\n\ntwo\n\n2\n00:00:03,000 --> 00:00:04,000\nthree", "1.0-2.0 one|two;3.0-4.0 three", ""},
	}
	for _, c := range cases {
		cues, problems := Read("f", []byte(c.in))
		var parts []string
		for _, q := range cues {
			parts = append(parts, fmt.Sprintf("%.1f-%.1f %s", q.StartS, q.EndS, strings.ReplaceAll(q.Text, "\n", "|")))
		}
		if got := strings.Join(parts, ";"); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
		if c.problem == "" && len(problems) > 0 || c.problem != "" && (len(problems) == 0 || !strings.Contains(problems[0].String(), c.problem)) {
			t.Errorf("%s: problems %v, want %q", c.name, problems, c.problem)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{"WEBVTT\n\n00:01.000 --> 00:02.000\n<v A>hi", "1\n00:00:01,5 --> 0:2\nx\n\ny", "1:23 a\nb", "[83] x", "\xff\xfea\x00", "-->", "1\n-->\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		cues, problems := Read("f", data)
		for i, c := range cues {
			if c.EndS < c.StartS || c.StartS < 0 || math.IsNaN(c.StartS) || strings.TrimSpace(c.Text) == "" {
				t.Fatalf("cue %+v", c)
			}
			if i > 0 && c.StartS < cues[i-1].StartS {
				t.Fatal("not in order")
			}
		}
		if len(cues) == 0 && len(problems) == 0 {
			t.Fatal("nothing read and nothing said")
		}
	})
}
