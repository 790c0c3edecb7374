// Package testkit finds what some tests need from outside the project: the shared folder of
// recordings and facts, a browser. It is imported by tests only.
package testkit

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Root returns the project's root folder (the one that holds go.mod).
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test's folder")
		}
		dir = up
	}
}

// Shared returns the path of a file in the shared folder, or skips the test in one line.
// With RINGCRAFT_REQUIRE naming "shared" the test fails instead.
func Shared(t testing.TB, elem ...string) string {
	t.Helper()
	base := os.Getenv("RINGCRAFT_SHARED")
	if base == "" {
		base = filepath.Join("..", "shared")
	}
	if !filepath.IsAbs(base) {
		base = filepath.Join(Root(t), base)
	}
	p := filepath.Join(append([]string{base}, elem...)...)
	if _, err := os.Stat(p); err != nil {
		missing(t, "shared", "shared folder not found; set RINGCRAFT_SHARED")
	}
	return p
}

// ReadShared returns the content of a file in the shared folder, or skips as Shared does.
func ReadShared(t testing.TB, elem ...string) []byte {
	t.Helper()
	b, err := os.ReadFile(Shared(t, elem...))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Program returns the path of the first of the named programs that is installed, or skips
// (fails when RINGCRAFT_REQUIRE names need).
func Program(t testing.TB, need string, names ...string) string {
	t.Helper()
	for _, n := range names {
		if p, err := exec.LookPath(n); err == nil {
			return p
		}
	}
	missing(t, need, strings.Join(names, " or ")+" is not installed")
	return ""
}

// Browser returns the path of Chromium, or skips. RINGCRAFT_BROWSER=none skips in any case:
// the race run has no use for a browser.
func Browser(t testing.TB) string {
	t.Helper()
	if os.Getenv("RINGCRAFT_BROWSER") == "none" {
		t.Skip("browser tests are switched off (RINGCRAFT_BROWSER=none)")
	}
	return Program(t, "browser", "chromium", "chromium-browser", "google-chrome")
}

func missing(t testing.TB, need, why string) {
	t.Helper()
	if strings.Contains(os.Getenv("RINGCRAFT_REQUIRE"), need) {
		t.Fatalf("%s (required here)", why)
	}
	t.Skip(why)
}

// Missing ends a test that cannot run here, in one line; with RINGCRAFT_REQUIRE naming need it
// fails instead.
func Missing(t testing.TB, need, why string) {
	t.Helper()
	missing(t, need, why)
}
