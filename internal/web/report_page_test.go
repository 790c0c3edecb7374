package web

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/access"
)

var hrefs = regexp.MustCompile(`href="([^"]+)"`)

// TestGuestReadsThePage: a guest's link opens the report as a page, the paper is one link away, both
// end with the link, and nothing on the page leads to what a guest may not open.
func TestGuestReadsThePage(t *testing.T) {
	d := newDoor(t)
	b := d.as(access.Guest)
	w := b.do("GET", "/rides/"+d.own+"/report.html", nil)
	if w.Code != http.StatusOK {
		t.Fatalf("the linked report: %d", w.Code)
	}
	page := w.Body.String()
	clean(t, page)
	has(t, page, `href="/rides/`+d.own+`/report.pdf"`, "Movement by movement")
	for _, m := range hrefs.FindAllStringSubmatch(page, -1) {
		if m[1] == "/" || strings.HasPrefix(m[1], "#") || strings.HasPrefix(m[1], "/assets/") { // the brand, places on the page, its files
			continue
		}
		if w := b.do("GET", m[1], nil); w.Code != http.StatusOK {
			t.Errorf("a link to %s: %d for a guest", m[1], w.Code)
		}
	}
	if w := b.do("GET", "/rides/"+d.other+"/report.html", nil); w.Code == http.StatusOK {
		t.Error("a guest reads another report")
	}
	d.shift = access.LinkLife + time.Minute
	for _, file := range []string{"report.html", "report.pdf"} {
		if w := b.do("GET", "/rides/"+d.own+"/"+file, nil); w.Code != http.StatusUnauthorized {
			t.Errorf("%s after its end: %d", file, w.Code)
		}
	}
}

// TestReportPage shows what the paper shows: the summary, every movement, the homework.
func TestReportPage(t *testing.T) {
	status, page := get(t, site(t, demoYard(t)), "/rides/demo-quillon-2/report.html")
	if status != http.StatusOK {
		t.Fatalf("status %d", status)
	}
	clean(t, page)
	has(t, page, "What went well", "What to change first", "Exercise:", "To find out which cause:", "Homework", `id="m20"`, "64.444 %")
}
