package remarks

import (
	"strings"
	"testing"

	"ringcraft/internal/sheet"
)

// The ways in which people write a time at the start of a line.
func TestTimesAsPeopleWriteThem(t *testing.T) {
	for _, form := range []string{"1:50", "1.50", "1m50", "1m50s", "1 m 50 s", "1min50", "1'50", `1'50"`, "1’50”", "110s", "110 s", "110 sec", "[110]",
		"[00:01:50]", "(1:50)", "00:01:50.0", "0h01m50", "1:50 -", "1:50,"} {
		cues, problems := Read("c.txt", []byte("0:10 first\n"+form+" rein back crooked\n"))
		if len(cues) != 2 || cues[1].StartS != 110 || cues[1].Text != "rein back crooked" || len(problems) != 0 {
			t.Errorf("%q: %+v %v", form, cues, problems)
		}
	}
}

// A line that begins nearly as a time does is kept, and its place is said; a line of words, or
// of figures that are no times, goes on with the remark above without a word.
func TestTimesBadlyWritten(t *testing.T) {
	for text, warned := range map[string]bool{
		"1;50 rein back crooked":    true,
		"1:5 rein back crooked":     true,
		"01-50 rein back crooked":   true,
		"1h rein back crooked":      false,
		"10 m circle too big":       false,
		"20 m is what it should be": false,
		"4 steps and straight":      false,
		"and late at the letter":    false,
		"6.75 marks for that":       true,
	} {
		cues, problems := Read("c.txt", []byte("0:10 first\n"+text+"\n"))
		if len(cues) != 1 || !strings.HasSuffix(cues[0].Text, "\n"+text) {
			t.Fatalf("%q: %+v", text, cues)
		}
		got := len(problems) == 1 && problems[0].Severity == sheet.Warning && problems[0].Pos == sheet.Pos{Line: 2, Column: 1} && strings.Contains(problems[0].Suggestion, "1m50")
		if got != warned {
			t.Errorf("%q: warned %v, %v", text, got, problems)
		}
	}
}

// An end with a slip in it is said, not cut to another time.
func TestEndWithASlip(t *testing.T) {
	_, problems := Read("c.srt", []byte("1\n00:00:01,000 --> 00:00:0x,000\nhalt square\n"))
	if len(problems) == 0 || !strings.Contains(problems[0].Message, `end "00:00:0x,000"`) || !strings.Contains(problems[0].Message, "halt square") || problems[0].Line != 2 {
		t.Errorf("%v", problems)
	}
	cues, problems := Read("c.vtt", []byte("WEBVTT\n\n00:00.000 --> 00:02.000align:left\nhalt\n"))
	if len(cues) != 1 || cues[0].EndS != 2 || sheet.HasErrors(problems) {
		t.Errorf("%+v %v", cues, problems)
	}
}
