package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// FuzzSettings: any settings file gives settings that hold, or a sentence that says what is allowed.
func FuzzSettings(f *testing.F) {
	for _, s := range []string{`{"transcriber": ["/bin/sh", "-c", "x {audio}"], "backup_days": 14}`, `{"backup_days": -1}`, `{"backup_days": 1e400}`, `{}`, `null`, `[`,
		`{"transcriber": [""]}`, `{"transcriber": "sh"}`, `{"backup_days": 3} trailing`, strings.Repeat("[", 12000), "\xff\xfe{}"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		set, err := decodeSettings(strings.NewReader(text), settings{BackupDays: 14})
		switch {
		case err == nil && (set.BackupDays < 0 || set.BackupDays > 3650):
			t.Fatalf("%q: %+v", text, set)
		case err != nil && (logbook.CodeOf(err) != logbook.Invalid || !strings.Contains(logbook.MessageOf(err), settingsName)):
			t.Fatalf("%q: %v", text, err)
		}
	})
}

// FuzzReviewFile: any file given as a review to `ride compare` and `lesson plan` is read or refused
// in words, by the exit codes of the contract.
func FuzzReviewFile(f *testing.F) {
	dir := f.TempDir()
	sheet := filepath.Join(dir, "sheet.txt")
	marks := filepath.Join(dir, "marks.csv")
	good := filepath.Join(dir, "good.json")
	bad := filepath.Join(dir, "bad.json")
	var out bytes.Buffer
	for name, text := range map[string]string{sheet: tortureSheet, marks: "movement,judge,mark,remark\n1,C,6.5,late\n2,C,5.0,\n3,C,6.0,falls out\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			f.Fatal(err)
		}
	}
	if code := run(context.Background(), []string{"ride", "review", "--sheet", sheet, "--marks", marks, "--json"}, &out, &bytes.Buffer{}); code != exitDone {
		f.Fatalf("exit %d", code)
	}
	review := out.String()
	if err := os.WriteFile(good, []byte(review), 0o600); err != nil {
		f.Fatal(err)
	}
	for _, s := range []string{review, "", "null", "{}", `{"movements":[]}`, `{"movements":[{"number":-1},{"number":1},{"number":1}]}`,
		`{"movements":[{"number":1,"measures":[{"what":"tempo","value":1e308,"sigma":-1}],"marks":[{"judge":"C","mark":-65}],"lost":[{"marks":1e308,"reach":"now"}]}],"causes":[{"cause":"x","probability":9}]}`,
		strings.ReplaceAll(review, "6.5", "65e300"), strings.ReplaceAll(review, "1", "-1"), review[:len(review)/2]} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if err := os.WriteFile(bad, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{
			{"ride", "compare", good, bad, "--json"}, {"ride", "compare", bad, good}, {"ride", "compare", bad, bad},
			{"lesson", "plan", "--minutes", "30", "--review", bad, "--json"},
		} {
			var out, errw bytes.Buffer
			if code := run(t.Context(), args, &out, &errw); code != exitDone && code != exitInput {
				t.Fatalf("%v of %q: exit %d %s", args[:2], text, code, errw.String())
			}
		}
	})
}
