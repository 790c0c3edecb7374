package measure

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/testkit"
)

// TestDocs: docs/MEASURES.md names every measure with each of its faults, and every entry of
// the data file has a source.
func TestDocs(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(testkit.Root(t), "docs", "MEASURES.md"))
	if err != nil {
		t.Fatal(err)
	}
	for what, tol := range tolerances {
		row := ""
		for _, line := range strings.Split(string(text), "\n") {
			if strings.HasPrefix(line, "| `"+what+"` |") {
				row = line
			}
		}
		if row == "" || !strings.Contains(row, tol.High) || !strings.Contains(row, tol.Low) {
			t.Errorf("docs/MEASURES.md has no row for %q with %q and %q", what, tol.High, tol.Low)
		}
		if tol.Source == "" || tol.Unit == "" || tol.Within == 0 && tol.Share == 0 {
			t.Errorf("%s: source, unit or tolerance is missing", what)
		}
	}
}
