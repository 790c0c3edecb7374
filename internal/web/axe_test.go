package web

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"ringcraft/internal/testkit"
)

// TestAccessibility runs the rules of axe-core 4.14 (WCAG 2.1 A and AA, and best practice) on
// every page, light and dark. It needs `npm install` in testdata/axe.
func TestAccessibility(t *testing.T) {
	axe, err := os.ReadFile(filepath.Join(testkit.Root(t), "internal/web/testdata/axe/node_modules/axe-core/axe.min.js"))
	if err != nil {
		if strings.Contains(os.Getenv("RINGCRAFT_REQUIRE"), "axe") {
			t.Fatal("axe-core is not installed: npm install in internal/web/testdata/axe (required here)")
		}
		t.Skip("axe-core is not installed: npm install in internal/web/testdata/axe")
	}
	b := demoYard(t)
	c, srv := tab(t, site(t, b), 1280)
	lesson := "/lessons/" + firstLesson(t, b, "demo-ilse-quillon").ID
	for _, path := range []string{"/", "/sheets", "/sheets/demo-sheet", "/sheets/new", "/sheets/demo-sheet/edit", "/sheets/demo-sheet/call", "/combinations/demo-ilse-quillon", "/combinations/demo-ilse-quillon/trends", "/combinations/new",
		"/combinations/demo-ilse-quillon/rides/new", "/combinations/demo-ilse-quillon/lessons/new", "/rides/demo-quillon-1", "/compare/demo-quillon-1/demo-quillon-2",
		"/compare/demo-quillon-1/demo-quillon-2/unseen", lesson, lesson + "/run", lesson + "/homework", "/day", "/recorders", "/no/such/page"} {
		do(t, c, chromedp.Navigate(srv.URL+path), chromedp.WaitReady("main"))
		ask[bool](t, c, string(axe)+"; true")
		themes := []string{"light"}
		if path == "/" || strings.HasPrefix(path, "/rides") || strings.HasSuffix(path, "/run") || strings.HasPrefix(path, "/sheets/") {
			themes = append(themes, "dark")
		}
		for _, theme := range themes {
			ask[bool](t, c, `(document.documentElement.dataset.theme = "`+theme+`", true)`)
			found, err := chromedp.Run(c, chromedp.Evaluate[[]string](violations, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range found {
				t.Errorf("%s, %s: %s", path, theme, v)
			}
		}
	}
}

// violations runs the rules; the drawings' own words are left to docs/LOOK.md, whose test holds
// every ink to its contrast.
const violations = `axe.run({ exclude: ["svg.rc-drawing"] }, { resultTypes: ["violations"] })
	.then((r) => r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(" | ")))`
