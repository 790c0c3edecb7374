// Package ringcraft_test holds the tests of the tree as a whole: which room may know which.
package ringcraft_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// table is the package table of docs/ARCHITECTURE.md: a package may import exactly what its
// row names. Dependency goes down only, so that a stage can be understood from what lies
// below it.
var table = map[string]string{
	"arena": "", "gait": "", "terms": "", "track": "",
	"sheet":    "arena gait terms",
	"strides":  "track gait",
	"rideplan": "sheet arena gait terms track",
	"match":    "rideplan strides track arena gait",
	"remarks":  "rideplan sheet arena gait terms",
	"judging":  "rideplan sheet terms",
	"draw":     "rideplan arena gait terms",
	"sim":      "rideplan track arena gait",
	"measure":  "match strides rideplan arena gait terms track",
	"diagnose": "measure judging remarks rideplan gait terms",
	"prepare":  "diagnose " + belowDiagnose,
	"report":   "prepare draw diagnose " + belowDiagnose,
	"logbook":  "report prepare draw diagnose sim " + belowDiagnose,
	"access":   "",
	"sqlite":   storage, "recordings": storage, "jobs": storage, "certs": storage, "backup": storage,
	"web": "logbook access report draw",
	// testkit serves tests only.
	"testkit": "",
}

const (
	belowDiagnose = "measure judging remarks rideplan match strides sheet arena gait terms track"
	storage       = "logbook access"
)

// noWorld names what only levels 9 and 10 may import: files, network, clock, processes.
var noWorld = []string{"os", "net", "net/http", "os/exec", "io/ioutil", "database/sql", "syscall"}

var worldly = map[string]bool{"sqlite": true, "recordings": true, "jobs": true, "certs": true, "backup": true, "web": true, "testkit": true}

func TestImportTable(t *testing.T) {
	for pkg, imports := range importsOf(t) {
		allowed, known := table[pkg]
		if !known {
			t.Errorf("internal/%s is not in the package table", pkg)
			continue
		}
		ok := map[string]bool{}
		for _, a := range strings.Fields(allowed) {
			ok[a] = true
		}
		for _, imp := range imports {
			if own, isOwn := strings.CutPrefix(imp.path, "ringcraft/internal/"); isOwn {
				top := strings.Split(own, "/")[0]
				if top != pkg && !ok[top] {
					t.Errorf("%s: %s may not import %s; allowed: %s", imp.file, pkg, top, allowed)
				}
			}
			if worldly[pkg] {
				continue
			}
			for _, w := range noWorld {
				if imp.path == w {
					t.Errorf("%s: files, network and clock belong to levels 9 and 10, not to %s (imports %s)", imp.file, pkg, w)
				}
			}
		}
	}
}

// TestNoClockBelow keeps the wall clock and unseeded randomness out of results.
func TestNoClockBelow(t *testing.T) {
	walkSources(t, func(pkg, path, src string) {
		if worldly[pkg] {
			return
		}
		for _, bad := range []string{"time.Now(", "time.Since(", "rand.Int()", "rand.Float64()"} {
			if strings.Contains(src, bad) {
				t.Errorf("%s: %s: same input, same bytes; take it as a value", path, bad)
			}
		}
	})
}

type imported struct{ file, path string }

func importsOf(t *testing.T) map[string][]imported {
	t.Helper()
	out := map[string][]imported{}
	walkSources(t, func(pkg, path, src string) {
		f, err := parser.ParseFile(token.NewFileSet(), path, src, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := out[pkg]; !ok {
			out[pkg] = nil
		}
		for _, i := range f.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			out[pkg] = append(out[pkg], imported{path, p})
		}
	})
	return out
}

// walkSources calls f for every Go file of internal/ that is not a test, in a stable order.
func walkSources(t *testing.T, f func(pkg, path, src string)) {
	t.Helper()
	var files []string
	err := filepath.WalkDir("internal", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(p, ".go") && !strings.HasSuffix(p, "_test.go") && !strings.Contains(p, "testdata") {
			files = append(files, p)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(files)
	for _, p := range files {
		pkg := strings.Split(filepath.ToSlash(p), "/")[1]
		f(pkg, p, read(t, p))
	}
}
