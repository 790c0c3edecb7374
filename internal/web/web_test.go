package web

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

func TestEmptyYardSaysWhatToDoNext(t *testing.T) {
	status, body := get(t, site(t, testBook()), "/")
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	has(t, body, "Nobody is in the book yet", `href="/sheets/new"`, `href="/combinations/new"`)
}

// TestNamesAreEscaped stores names that are markup and looks for them on the page.
func TestNamesAreEscaped(t *testing.T) {
	b := testBook()
	if _, err := b.AddCombination(ctx, logbook.NewCombination{Rider: `"><img src=x>`, Horse: "<script>alert(1)</script>", Remark: "</article><script>"}); err != nil {
		t.Fatal(err)
	}
	_, body := get(t, site(t, b), "/")
	has(t, body, "&lt;script&gt;alert(1)&lt;/script&gt;")
	for _, bad := range []string{"<script>alert", "<img src=x", "</article><script>"} {
		if strings.Contains(body, bad) {
			t.Errorf("page holds %q unescaped", bad)
		}
	}
}

// TestNothingInline holds pages to the policy they are sent with: a browser would drop inline
// scripts, handlers and styles silently.
func TestNothingInline(t *testing.T) {
	bad := regexp.MustCompile(`(?i)<script(?:[^>]*)>[^<]|\son[a-z]+\s*=|\sstyle\s*=|<style|javascript:|https?://`)
	_, body := get(t, site(t, testBook()), "/")
	body = strings.ReplaceAll(body, "http://www.w3.org/2000/svg", "")
	if m := bad.FindString(body); m != "" {
		t.Errorf("inline or foreign: %q", m)
	}
}

func TestHeaders(t *testing.T) {
	w := httptest.NewRecorder()
	site(t, testBook()).ServeHTTP(w, httptest.NewRequest("GET", "/", nil))
	csp := w.Header().Get("Content-Security-Policy")
	for _, want := range []string{"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'"} {
		if !strings.Contains(csp, want) {
			t.Errorf("policy lacks %q", want)
		}
	}
	if strings.Contains(csp, "unsafe") {
		t.Error("policy is unsafe")
	}
	if w.Header().Get("X-Content-Type-Options") != "nosniff" {
		t.Error("no nosniff")
	}
}

func TestForeignSitesCannotChangeAnything(t *testing.T) {
	for origin, want := range map[string]int{"cross-site": http.StatusForbidden, "same-origin": http.StatusNotFound} {
		r := httptest.NewRequest("POST", "/none", strings.NewReader("x=1"))
		r.Header.Set("Sec-Fetch-Site", origin)
		w := httptest.NewRecorder()
		site(t, testBook()).ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("%s: status %d, want %d", origin, w.Code, want)
		}
	}
}

func TestAssetsAreKeptByChecksum(t *testing.T) {
	h := site(t, testBook())
	_, body := get(t, h, "/")
	urls := regexp.MustCompile(`/assets/[0-9a-f]{12}/[a-z.]+`).FindAllString(body, -1)
	if len(urls) < 4 {
		t.Fatalf("assets on the page: %v", urls)
	}
	for _, u := range urls {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("GET", u, nil))
		if w.Code != http.StatusOK || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: status %d, %q", u, w.Code, w.Header().Get("Cache-Control"))
		}
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", "/assets/000000000000/app.css", nil))
	if w.Code != http.StatusOK || strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("other checksum: status %d, %q", w.Code, w.Header().Get("Cache-Control"))
	}
	for _, path := range []string{"/assets/x/../web.go", "/assets/x/none.css", "/assets/x/..%2fweb.go"} {
		if status, _ := get(t, h, path); status == http.StatusOK {
			t.Errorf("%s was served", path)
		}
	}
}

func TestEveryRouteHasARule(t *testing.T) {
	seen := map[string]bool{}
	for _, route := range Routes() {
		if !route.Rule.Known() || route.Method == "" || route.Handler == nil {
			t.Errorf("route %s %s has no rule, method or handler", route.Method, route.Pattern)
		}
		key := route.Method + " " + route.Pattern
		if seen[key] {
			t.Errorf("route %s is there twice", key)
		}
		seen[key] = true
		if strings.Contains(route.Pattern, "{id}") && route.Rule != access.TrainerDo && route.About == nil {
			t.Errorf("route %s has rule %s but does not say what it is about", key, route.Rule)
		}
	}
}

func TestNobodyIsRefusedEverywhere(t *testing.T) {
	h := New(Config{Book: testBook(), Who: func(*http.Request) access.Who { return access.Who{} }})
	for _, route := range Routes() {
		if route.Rule == access.Open {
			continue
		}
		path := strings.NewReplacer("{$}", "", "{id}", "x", "{after}", "y", "{file...}", "z").Replace(route.Pattern)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(route.Method, path, nil))
		if w.Code != http.StatusUnauthorized && w.Code != http.StatusForbidden {
			t.Errorf("%s %s as nobody: status %d", route.Method, route.Pattern, w.Code)
		}
	}
}
