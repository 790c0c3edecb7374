package ringcraft_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func read(t *testing.T, p string) string {
	t.Helper()
	b, err := os.ReadFile(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestNoMachineInFiles keeps registry hosts and paths of a machine out of the project.
func TestNoMachineInFiles(t *testing.T) {
	bad := regexp.MustCompile(`proxy\.golang\.org|registry\.npmjs|deb\.debian\.org|(^|[^.\w])/(work|root|home)/`)
	err := filepath.WalkDir(".", func(p string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "node_modules" || d.Name() == "dist") {
			return filepath.SkipDir
		}
		if d.IsDir() || p == "files_test.go" {
			return nil
		}
		switch strings.ToLower(filepath.Ext(p)) {
		case ".go", ".md", ".sh", ".json", ".js", ".css", ".html", ".templ", ".txt", ".sql", ".yaml", ".yml", "", ".service", ".mod", ".txtar", ".csv":
			if m := bad.FindString(read(t, p)); m != "" {
				t.Errorf("%s names %q", p, m)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
