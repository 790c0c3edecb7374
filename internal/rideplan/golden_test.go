package rideplan

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ringcraft/internal/sheet"
)

var update = flag.Bool("update", false, "rewrite the golden plans; read the diff before you commit it")

// The compiled plans of every sheet that the project carries, as text that was read line by
// line when it was accepted.
func TestGoldenPlans(t *testing.T) {
	for _, path := range sheetFiles(t) {
		if strings.Contains(path, "outlines") {
			continue
		}
		name := strings.TrimSuffix(filepath.Base(path), ".sheet")
		golden := filepath.Join("testdata", "plans", name+".txt")
		got := compileFile(t, path, Options{}).Text()
		if *update {
			if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), got); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
	}
}

// A wanted problem stands as a comment on the line it is about: # want error "part of the
// message" see 5, where 5 is the line of the other place involved.
var wanted = regexp.MustCompile(`want (error|warning|note) "([^"]*)"(?: see (\d+))?`)

type want struct {
	sev, text string
	line, see int
	met       bool
}

func wants(text string) []*want {
	var out []*want
	for i, l := range strings.Split(text, "\n") {
		for _, m := range wanted.FindAllStringSubmatch(l, -1) {
			see, _ := strconv.Atoi(m[3])
			out = append(out, &want{m[1], m[2], i + 1, see, false})
		}
	}
	return out
}

// Missing and extra messages both fail.
func TestExpectedProblems(t *testing.T) {
	files, err := filepath.Glob("testdata/problems/*.sheet")
	if err != nil || len(files) == 0 {
		t.Fatal("no problem files", err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		ws := wants(string(b))
		p := CompileText(filepath.Base(f), string(b), Options{})
		for _, q := range p.Problems {
			if !meet(ws, q) {
				t.Errorf("unexpected: %s", q)
			}
		}
		for _, w := range ws {
			if !w.met {
				t.Errorf("%s:%d: missing %s %q see %d", f, w.line, w.sev, w.text, w.see)
			}
		}
		checkLine(t, f, p)
	}
}

func meet(ws []*want, q sheet.Problem) bool {
	for _, w := range ws {
		see := 0
		if q.Also != nil {
			see = q.Also.Line
		}
		said := fmt.Sprintf("%s (%s)", q.Message, q.Suggestion)
		if !w.met && w.line == q.Line && w.sev == string(q.Severity) && strings.Contains(said, w.text) && (w.see == 0 || w.see == see) {
			w.met = true
			return true
		}
	}
	return false
}
