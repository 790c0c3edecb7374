package report

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ringcraft/internal/testkit"
	"ringcraft/internal/track"
)

// calibrated reads the table of classes in docs/MEASURES.md: per cent with a verdict by measure and class.
func calibrated(t *testing.T) map[string]map[string]float64 {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(testkit.Root(t), "docs", "MEASURES.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, text, ok := strings.Cut(string(b), "## What each class of recorder can tell")
	if !ok {
		t.Fatal("docs/MEASURES.md has no table of classes")
	}
	text, _, _ = strings.Cut(text, "\n## ")
	name := regexp.MustCompile(`^(.*?)( \([^)]*\))?$`)
	out, classes := map[string]map[string]float64{}, []string(nil)
	for _, line := range strings.Split(text, "\n") {
		cells := strings.Split(strings.Trim(line, "| "), "|")
		if len(cells) < 6 || strings.HasPrefix(cells[0], "---") {
			continue
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if classes == nil {
			classes = cells[1:]
			continue
		}
		what := name.FindStringSubmatch(cells[0])[1]
		out[what] = map[string]float64{}
		for i, c := range cells[1:] {
			share, _, _ := strings.Cut(c, " %")
			v, err := strconv.ParseFloat(share, 64)
			if err != nil {
				t.Fatalf("%s, %s: %q", what, classes[i], c)
			}
			out[what][classes[i]] = v
		}
	}
	return out
}

// TestRecordersSayWhatWasMeasured: the shares behind the words are those of the calibration table, and
// the words name every class. RINGCRAFT_UPDATE=recorders takes over a table that was run again.
func TestRecordersSayWhatWasMeasured(t *testing.T) {
	r, table := RecorderTable(), calibrated(t)
	if os.Getenv("RINGCRAFT_UPDATE") == "recorders" {
		fresh := *r
		fresh.Shares = table
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetIndent("", " ")
		e.SetEscapeHTML(false)
		if err := e.Encode(fresh); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("recorders.json", b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("recorders.json taken over from docs/MEASURES.md")
	}
	if len(table) < 20 {
		t.Fatalf("%d measures in the table", len(table))
	}
	for what, row := range table {
		for class, want := range row {
			if got, ok := r.Shares[what][class]; !ok || got != want {
				t.Errorf("%s, %s: recorders.json says %g %%, the table %g %% (RINGCRAFT_UPDATE=recorders go test ./internal/report -run Recorders)", what, class, got, want)
			}
		}
	}
	for _, tp := range r.Topics {
		for _, m := range tp.Measures {
			if table[m] == nil {
				t.Errorf("%s: the table has no %q", tp.Words, m)
			}
		}
	}
	var known []string
	for _, c := range track.Classes() {
		known = append(known, c.Class)
	}
	for _, c := range r.Classes {
		if !slices.Contains(known, c.Class) {
			t.Errorf("no class %q", c.Class)
		}
		if s := r.Sentence(c.Class); len(s) < 20 {
			t.Errorf("%s: %q", c.Class, s)
		}
		t.Log(c.Class+":", r.Sentence(c.Class))
	}
	for _, name := range known {
		if name != track.ClassUnknown && !slices.ContainsFunc(r.Classes, func(c RecorderClass) bool { return c.Class == name }) {
			t.Errorf("nothing is said of class %q", name)
		}
	}
	if s := r.Sentence("sport"); strings.Contains(s, "where ") {
		t.Errorf("a sport receiver is said to tell places: %q", s)
	}
}
