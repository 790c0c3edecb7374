package rideplan

import (
	"os"
	"strings"
	"testing"

	"ringcraft/internal/sheet"
)

// blocks are the sheets of a file, parted by empty lines; the file's heading is left out.
func blocks(t *testing.T, path string) []string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	bs := strings.Split(strings.TrimSpace(string(b)), "\n\n")
	if len(bs) < 26 {
		t.Fatalf("%s: %d sheets", path, len(bs)-1)
	}
	return bs[1:]
}

// A slip of typing gives one message, which says where and names the other place of a
// contradiction.
func TestOneSlipOneMessage(t *testing.T) {
	for _, text := range blocks(t, "testdata/slips.txt") {
		name := strings.TrimPrefix(strings.SplitN(text, "\n", 2)[0], "# ")
		t.Run(name, func(t *testing.T) {
			ws := wants(text)
			if len(ws) != 1 {
				t.Fatalf("%d messages wanted", len(ws))
			}
			p := CompileText("slip.sheet", text+"\n", Options{})
			for _, q := range p.Problems {
				if q.Severity != sheet.Note && !meet(ws, q) {
					t.Errorf("unexpected: %s", q)
				}
			}
			if !ws[0].met {
				t.Errorf("missing: line %d %s %q see %d", ws[0].line, ws[0].sev, ws[0].text, ws[0].see)
			}
			checkLine(t, name, p)
		})
	}
}

// What is unusual but right gives neither error nor warning.
func TestUnusualButRight(t *testing.T) {
	for _, text := range blocks(t, "testdata/unusual.txt") {
		p := CompileText("unusual.sheet", text+"\n", Options{})
		for _, q := range p.Problems {
			if q.Severity != sheet.Note {
				t.Errorf("%s\n%s", text, q)
			}
		}
		checkLine(t, text, p)
	}
}
