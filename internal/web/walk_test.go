package web

import (
	"database/sql"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ringcraft/internal/access"
	"ringcraft/internal/testkit"
)

// pathsOf gives addresses for a pattern: those of the demo yard's things, and of nothing at all.
func pathsOf(t testing.TB, pattern string) []string {
	t.Helper()
	ids := map[string]string{"rides": "demo-quillon-1", "combinations": "demo-ilse-quillon", "sheets": "demo-sheet", "riders": "demo-ilse",
		"horses": "demo-quillon", "lessons": firstLesson(t, demoYard(t), "demo-ilse-quillon").ID}
	path := strings.Replace(pattern, "{$}", "", 1)
	path = strings.NewReplacer("{one}", "demo-quillon-1", "{other}", "demo-quillon-2", "{date}", "2026-06-01", "{role}", "track", "{seq}", "0").Replace(path)
	known := path
	if first := strings.Split(path, "/"); len(first) > 1 {
		known = strings.Replace(path, "{id}", ids[first[1]], 1)
	}
	all := []string{wildcard.ReplaceAllString(known, "1")}
	if strings.Contains(pattern, "{") {
		all = append(all, wildcard.ReplaceAllString(path, "none"))
	}
	return all
}

// TestEveryAnswerKeepsThePolicy asks for every address as the trainer, as a rider and as nobody,
// for things that are there and that are not: each answer carries the strict policy, and each page
// holds nothing that the policy forbids.
func TestEveryAnswerKeepsThePolicy(t *testing.T) {
	gate := NewGate(GateOptions{Guard: fuzzGuard, Sessions: noSessions{}, QR: func(string) (string, error) { return "", nil }})
	pages := 0
	for _, role := range []access.Role{access.Trainer, access.Rider, access.Nobody} {
		who := access.Who{Role: role, RiderID: "demo-ilse"}
		h := New(Config{Book: demoYard(t), Extra: gate.Routes(), Who: func(*http.Request) access.Who { return who }})
		for _, route := range append(append(Routes(), gate.Routes()...), Route{Method: "GET", Pattern: "/no/such/page"}) {
			if route.Method != "GET" {
				continue
			}
			for _, path := range pathsOf(t, route.Pattern) {
				if route.Pattern == "/guest/{token}" {
					continue // opens a session; the page it leads to is walked
				}
				w := httptest.NewRecorder()
				h.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
				name := fmt.Sprintf("%s as %q (%d)", path, role, w.Code)
				for k, want := range map[string]string{"Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff"} {
					if w.Header().Get(k) != want {
						t.Errorf("%s: %s is %q", name, k, w.Header().Get(k))
					}
				}
				if w.Code >= 500 {
					t.Errorf("%s", name)
				}
				if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
					pages++
					for _, bad := range forbidden(w.Body.String()) {
						t.Errorf("%s: %s", name, bad)
					}
				}
			}
		}
	}
	if strings.Contains(policy, "unsafe") || strings.Contains(policy, "*") || strings.Contains(policy, "http") || pages < 100 {
		t.Errorf("policy %q, %d pages", policy, pages)
	}
	t.Logf("%d pages", pages)
}

// forbidden reads a page as a browser does and lists what the policy would make it drop, or what
// comes from elsewhere.
func forbidden(page string) (found []string) {
	z := html.NewTokenizer(strings.NewReader(page))
	for {
		switch z.Next() {
		case html.ErrorToken:
			return found
		case html.StartTagToken, html.SelfClosingTagToken:
			tag := z.Token()
			at := map[string]string{}
			for _, a := range tag.Attr {
				at[a.Key] = a.Val
				if strings.HasPrefix(a.Key, "on") || a.Key == "style" || strings.HasPrefix(strings.ToLower(strings.TrimSpace(a.Val)), "javascript:") {
					found = append(found, fmt.Sprintf("<%s %s=%q>", tag.Data, a.Key, a.Val))
				}
				if (a.Key == "src" || a.Key == "href" || a.Key == "action" || a.Key == "formaction" || a.Key == "srcset") && foreign.MatchString(a.Val) {
					found = append(found, fmt.Sprintf("<%s %s=%q> leads elsewhere", tag.Data, a.Key, a.Val))
				}
			}
			switch {
			case tag.Data == "style" || tag.Data == "base" || tag.Data == "iframe" || tag.Data == "object" || tag.Data == "embed":
				found = append(found, "<"+tag.Data+">")
			case tag.Data == "script" && at["src"] == "" && at["type"] != "application/json":
				found = append(found, "a script inside the page")
			}
		}
	}
}

var foreign = regexp.MustCompile(`^\s*(https?:)?//`)

// TestForbiddenIsFound shows that the reader above finds what it looks for.
func TestForbiddenIsFound(t *testing.T) {
	for _, bad := range []string{`<script>x</script>`, `<p style="color:red">`, `<b ONCLICK=x>`, `<style>p{}</style>`, `<a href=" JavaScript:x">`,
		`<img src="//elsewhere.example/x">`, `<form action="https://elsewhere.example">`, `<svg><rect onload="x"/></svg>`, `<base href="/x">`} {
		if len(forbidden(bad)) == 0 {
			t.Errorf("not found: %s", bad)
		}
	}
	if bad := forbidden(`<p class="on">on style=</p><script src="/assets/x.js"></script><script type="application/json">{}</script>`); len(bad) > 0 {
		t.Errorf("found: %v", bad)
	}
}

// TestEveryWritingRouteRefusesOtherSites sends to every address that changes something what a page
// of another site can make a browser send, as the signed-in trainer: it is refused before any
// handler, and nothing in the store changes.
func TestEveryWritingRouteRefusesOtherSites(t *testing.T) {
	d := newDoor(t)
	b := d.as(access.Trainer)
	before := storeDump(t, d)
	tried := 0
	for _, route := range append(Routes(), d.gate.Routes()...) {
		if route.Method == "GET" {
			continue
		}
		path := wildcard.ReplaceAllString(strings.NewReplacer("{id}", "own", "{one}", "own", "{other}", "other", "{date}", "2026-06-01").Replace(route.Pattern), "1")
		for _, from := range []map[string]string{
			{"Sec-Fetch-Site": "cross-site"},
			{"Sec-Fetch-Site": "same-site"},
			{"Sec-Fetch-Site": "cross-site", "Origin": "https://ringcraft-abcd.local:8443"},
			{"Origin": "https://elsewhere.example"}, // browsers that do not say where a request is from
			{"Origin": "null"},
			{"Origin": "http://ringcraft-abcd.local:8443.elsewhere.example"},
		} {
			r := httptest.NewRequest(route.Method, path, strings.NewReader("name=Rider+1&device=x&what=voice&given_by=x"))
			r.Host = "ringcraft-abcd.local:8443"
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			for k, v := range from {
				r.Header.Set(k, v)
			}
			r.AddCookie(b.cookie)
			w := httptest.NewRecorder()
			d.site.ServeHTTP(w, r)
			tried++
			if w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "cross-origin") {
				t.Errorf("%s %s with %v: %d %.80s", route.Method, path, from, w.Code, w.Body)
			}
		}
	}
	if after := storeDump(t, d); after != before {
		t.Errorf("the store changed")
	}
	t.Logf("%d requests", tried)
}

// TestReadingChangesNothing asks for every address that reads, as the trainer: no record changes.
func TestReadingChangesNothing(t *testing.T) {
	d := newDoor(t)
	b := d.as(access.Trainer)
	before := storeDump(t, d)
	for _, route := range append(Routes(), d.gate.Routes()...) {
		if route.Method != "GET" || route.Pattern == "/guest/{token}" {
			continue
		}
		for _, id := range []string{"own", "s", "c1", "r1", "h1"} {
			path := strings.NewReplacer("{$}", "", "{id}", id, "{one}", "own", "{other}", "other", "{date}", "2026-06-01").Replace(route.Pattern)
			b.do("GET", wildcard.ReplaceAllString(path, "1"), nil)
		}
	}
	if after := storeDump(t, d); after != before {
		t.Errorf("reading changed the store:\n%s\nwas\n%s", after, before)
	}
}

// storeDump is every record of the store but sessions and caches.
func storeDump(t *testing.T, d *door) string {
	t.Helper()
	db, err := sql.Open("sqlite", d.db.Path())
	d.must(err)
	defer db.Close()
	var out strings.Builder
	for _, c := range testkit.Columns(t, db) {
		if c.Table == "session" || c.Table == "computed" {
			continue
		}
		var all string
		d.must(db.QueryRow(fmt.Sprintf("SELECT coalesce(group_concat(quote(%q)), '') FROM %q", c.Name, c.Table)).Scan(&all))
		fmt.Fprintf(&out, "%s.%s: %s\n", c.Table, c.Name, all)
	}
	return out.String()
}

// TestStrangersSendLittle: whoever is not signed in cannot make the server hold much in memory.
func TestStrangersSendLittle(t *testing.T) {
	d := newDoor(t)
	_, err := d.guard.SetPassword(ctx, "Tess", "rain on the roof")
	d.must(err)
	for _, route := range append(Routes(), d.gate.Routes()...) {
		if route.Rule == access.Open && route.bodyLimit() > maxStrangerBody {
			t.Errorf("%s takes %d bytes from anybody", route.Pattern, route.bodyLimit())
		}
	}
	long := url.Values{"name": {"Tess"}, "password": {"rain on the roof"}, "more": {strings.Repeat("x", 1<<20)}}
	if w := d.browser().do("POST", "/sign-in", long); w.Code < 400 || w.Code >= 500 {
		t.Errorf("a form of 1 MB: %d", w.Code)
	}
	if w := d.browser().do("POST", "/sign-in", url.Values{"name": {"Tess"}, "password": {"rain on the roof"}}); w.Code != http.StatusSeeOther {
		t.Errorf("the right form: %d", w.Code)
	}
}
