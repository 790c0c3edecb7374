package report

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/prepare"
	"ringcraft/internal/testkit"
)

// The examples of docs/JSON.md are documents of this program: each decodes into its type
// with no key left over, and every key of the type that is always written is in it.
func TestJSONExamples(t *testing.T) {
	page, err := os.ReadFile(filepath.Join(testkit.Root(t), "docs", "JSON.md"))
	if err != nil {
		t.Fatal(err)
	}
	into := map[string]any{"sheet": new(SheetDoc), "call": new(CallScript), "review": new(ReviewDoc), "compare": new(diagnose.Comparison), "lesson": new(prepare.Lesson)}
	seen := 0
	for _, m := range regexp.MustCompile("(?s)```json (\\w+)\n(.*?)\n```").FindAllStringSubmatch(string(page), -1) {
		v, ok := into[m[1]]
		if !ok {
			t.Errorf("no type for the example %q", m[1])
			continue
		}
		seen++
		d := json.NewDecoder(strings.NewReader(m[2]))
		d.DisallowUnknownFields()
		if err := d.Decode(v); err != nil {
			t.Errorf("%s: %v", m[1], err)
		}
		again, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var a, b map[string]any
		if err := json.Unmarshal(again, &a); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(m[2]), &b); err != nil {
			t.Fatal(err)
		}
		for k := range a {
			if _, ok := b[k]; !ok {
				t.Errorf("%s: the example lacks %q", m[1], k)
			}
		}
	}
	if seen != len(into) {
		t.Errorf("%d examples for %d documents", seen, len(into))
	}
}
