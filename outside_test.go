package ringcraft_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"testing"
)

// readers is every file of the program that takes bytes apart, with the fuzz targets that throw
// bytes at it ("Fuzz...", in the same package unless a package is named), or the reason why none
// does. TestEveryReaderIsFuzzed finds such files by the calls they make: one that is not in this
// table fails, and so does an entry whose file or target is gone.
var readers = map[string]string{
	"cmd/ringcraft/ride_compare.go":   "FuzzReviewFile",
	"cmd/ringcraft/remove.go":         "own: one line typed at the terminal, compared with a name",
	"cmd/ringcraft/serve_login.go":    "FuzzSettings",
	"internal/access/password.go":     "FuzzPasswordHash",
	"internal/access/secret.go":       "FuzzCodeHash",
	"internal/backup/manifest.go":     "FuzzVerify",
	"internal/backup/verify.go":       "FuzzVerify",
	"internal/certs/answer.go":        "FuzzAnswer",
	"internal/certs/authority.go":     "own: the key folder, written by Ringcraft and closed to others; PEM and X.509 by package crypto",
	"internal/certs/keeper.go":        "own: the key folder, written by Ringcraft and closed to others; PEM and X.509 by package crypto",
	"internal/certs/tls.go":           "own: the user's own certificate; PEM and X.509 by package crypto",
	"internal/judging/readmarks.go":   "FuzzReadMarks",
	"internal/logbook/corrections.go": "internal/web FuzzForms",
	"internal/logbook/learnt.go":      "own: lessons as Ringcraft stored them",
	"internal/logbook/lessons.go":     "own: lessons as Ringcraft stored them",
	"internal/logbook/reviews.go":     "own: cached results, computed anew when they cannot be read",
	"internal/logbook/ride_part.go":   "own: parts of recordings as they were said, read through the book",
	"internal/match/survey.go":        "FuzzReadArena",
	"internal/prepare/horse.go":       "FuzzReadHorse",
	"internal/prepare/own.go":         "FuzzReadExercises",
	"internal/recordings/store.go":    "own: names of files in a folder that nothing leads out of",
	"internal/remarks/read.go":        "FuzzRead FuzzWords FuzzPlace",
	"internal/sheet/parse.go":         "FuzzParse internal/rideplan FuzzCompile",
	"internal/track/csv.go":           "FuzzCSV internal/strides FuzzDetect",
	"internal/track/csvhead.go":       "FuzzCSV",
	"internal/track/fit.go":           "FuzzFIT",
	"internal/track/gpx.go":           "FuzzGPX",
	"internal/track/import.go":        "FuzzGPX FuzzNMEA FuzzCSV FuzzFIT",
	"internal/track/nmea.go":          "FuzzNMEA",
	"internal/track/part.go":          "FuzzPart",
	"internal/track/text.go":          "FuzzGPX FuzzNMEA FuzzCSV FuzzFIT",
	"internal/jobs/command.go":        "FuzzProgress",
	"internal/web/gate.go":            "FuzzSession",
	"internal/web/gate_pages.go":      "FuzzStrangersForm FuzzSession internal/access FuzzCodeHash",
	"internal/web/gate_devices.go":    "own: the trainer's forms, four short fields looked up in the store",
	"internal/web/rail.go":            "FuzzNotesBody FuzzConsentBody FuzzForms",
}

// formReaders says that every other page that reads a form or an address is reached by the target
// that walks the whole table of routes.
const formReaders = "FuzzForms FuzzAddresses"

// embedded are readers of data that is compiled in: the tests of the package read all of it.
var embedded = regexp.MustCompile(`\b(mustLoad|rulesJSON|varietiesJSON|callerJSON|pacesJSON|noiseJSON|columnsJSON|tolerancesJSON|levelsJSON|timingJSON|yardJSON)\b`)

// takesApart matches calls that take bytes apart.
var takesApart = regexp.MustCompile(`\b(json\.(NewDecoder|Unmarshal)|xml\.(NewDecoder|Unmarshal)|csv\.NewReader|tar\.NewReader|zip\.NewReader|gzip\.NewReader|` +
	`bufio\.(NewScanner|NewReader|NewReaderSize)|pem\.Decode|x509\.Parse\w+|dnsmessage\.Parser|decoder\.New|astisub\.Read\w+|hex\.DecodeString|\w*(b64|base64)\.?\w*\.Decode\w*|` +
	`MultipartReader|ParseForm|ParseMultipartForm|PostFormValue|PostForm\.Get|FormFile|FormValue|URL\.Query|binary\.Read|gob\.NewDecoder)\b`)

func TestEveryReaderIsFuzzed(t *testing.T) {
	targets := fuzzTargets(t)
	seen := map[string]bool{}
	for _, p := range programFiles(t) {
		src := read(t, p)
		dir := filepath.ToSlash(filepath.Dir(p))
		entry, listed := readers[filepath.ToSlash(p)]
		if listed {
			seen[filepath.ToSlash(p)] = true
		} else if takesApart.MatchString(src) {
			switch {
			case dir == "internal/web" && formOnly.MatchString(src):
				entry = formReaders
			case embedded.MatchString(src) || strings.Contains(src, "//go:embed") || dir == "internal/terms" || dir == "internal/logbook/demo":
				continue
			default:
				t.Errorf("%s takes bytes apart (%s) and is not in the table of readers", p, takesApart.FindString(src))
				continue
			}
		}
		if entry == "" || strings.HasPrefix(entry, "own: ") {
			continue
		}
		in := dir
		for _, word := range strings.Fields(entry) {
			if !strings.HasPrefix(word, "Fuzz") {
				in = word
				continue
			}
			if !targets[in+" "+word] {
				t.Errorf("%s: there is no fuzz target %s in %s", p, word, in)
			}
			in = dir
		}
	}
	for p := range readers {
		if !seen[p] {
			t.Errorf("%s is in the table of readers and not in the program", p)
		}
	}
	if len(targets) < 25 {
		t.Errorf("only %d fuzz targets were found", len(targets))
	}
}

// formOnly matches pages whose bytes come by a route.
var formOnly = regexp.MustCompile(`http\.Request`)

// fuzzTargets lists "package target" of all fuzz targets; one without a seed is an error.
func fuzzTargets(t *testing.T) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	for _, p := range goFiles(t, true) {
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || !strings.HasPrefix(fn.Name.Name, "Fuzz") {
				continue
			}
			out[filepath.ToSlash(filepath.Dir(p))+" "+fn.Name.Name] = true
			if !seeded(fn) {
				t.Errorf("%s: %s has no seed", p, fn.Name.Name)
			}
		}
	}
	return out
}

// seeded reports whether a target adds seeds, itself or by a helper that is given f.
func seeded(fn *ast.FuncDecl) bool {
	found := false
	ast.Inspect(fn.Body, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		if sel, ok := call.Fun.(*ast.SelectorExpr); ok && sel.Sel.Name == "Add" {
			found = true
		}
		if id, ok := call.Fun.(*ast.Ident); ok && len(call.Args) > 0 {
			if arg, ok := call.Args[0].(*ast.Ident); ok && arg.Name == "f" && id.Name != "panic" {
				found = true
			}
		}
		return true
	})
	return found
}

func programFiles(t *testing.T) []string { return goFiles(t, false) }

// goFiles lists the Go files of the program, or of its tests, sorted.
func goFiles(t *testing.T, tests bool) []string {
	t.Helper()
	var files []string
	for _, root := range []string{"internal", "cmd"} {
		err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if d.IsDir() && (d.Name() == "testdata" || d.Name() == "gen" || d.Name() == "testkit" || d.Name() == "node_modules") {
				return filepath.SkipDir
			}
			if strings.HasSuffix(p, ".go") && strings.HasSuffix(p, "_test.go") == tests && !strings.HasSuffix(p, "_templ.go") {
				files = append(files, p)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	sort.Strings(files)
	return files
}

// TestReadersAreFound shows that the pattern finds what it looks for.
func TestReadersAreFound(t *testing.T) {
	for _, call := range []string{"json.Unmarshal(b, &v)", "xml.NewDecoder(r)", "r.PostFormValue(\"x\")", "r.URL.Query()", "tar.NewReader(f)", "b64.DecodeString(s)", "base64.RawURLEncoding.DecodeString(s)", "p.PostForm.Get(\"x\")"} {
		if !takesApart.MatchString(call) {
			t.Errorf("not found: %s", call)
		}
	}
	if _, err := os.Stat("go.mod"); err != nil || takesApart.MatchString("json.Marshal(v)") {
		t.Error("the pattern finds too much, or this is not the root")
	}
}
