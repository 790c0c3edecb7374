package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// TestAStartAndItsSheet writes a start down, goes to its day, and opens the judge's sheet twice: one
// ride is made for it.
func TestAStartAndItsSheet(t *testing.T) {
	b, r := shortRide(t)
	h := site(t, b)
	at := "/combinations/" + r.CombinationID + "/shows"
	_, body := get(t, h, at+"/new")
	clean(t, body)
	has(t, body, "Žofie &lt;b&gt;Ray&lt;/b&gt;", "Reed Hollow 1", `name="travel"`)
	form := func(more ...string) url.Values {
		f := url.Values{"date": {"2026-06-14"}, "start": {"11:20"}, "sheet": {r.SheetID}, "remark": {"<i>gloves</i>"}}
		for i := 0; i < len(more); i += 2 {
			f.Set(more[i], more[i+1])
		}
		return f
	}
	for name, bad := range map[string]url.Values{"half the weather": form("temp", "30"), "travel": form("travel", "far"), "no time": form("start", "late"), "no day": form("date", "soon"), "hot": form("temp", "99", "humidity", "5")} {
		w := post(t, h, at, bad)
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "&lt;i&gt;gloves&lt;/i&gt;") {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
	if list, _ := b.Appointments(ctx, "2026-01-01", "2026-12-31"); len(list) != 0 {
		t.Errorf("bad forms wrote %v", list)
	}
	w := post(t, h, at, form("travel", "40", "temp", "21", "humidity", "50"))
	to := w.Header().Get("Location")
	if w.Code != http.StatusSeeOther || !strings.HasSuffix(to, "/show?humidity=50&temp=21&travel=40") {
		t.Fatalf("status %d to %s", w.Code, to)
	}
	_, body = get(t, h, to)
	has(t, body, "Start at 11:20", "Type the judge's sheet", "Reed Hollow 1")
	sheet := strings.Split(to, "?")[0] + "/sheet"
	first := post(t, h, sheet, nil).Header().Get("Location")
	again := post(t, h, sheet, nil).Header().Get("Location")
	if first == "" || first != again || !strings.HasSuffix(first, "/marks") {
		t.Errorf("%q, then %q", first, again)
	}
	_, body = get(t, h, first)
	has(t, body, `name="judge" value="C"`, "Reed Hollow 1")
	rides, _ := b.Rides(ctx, logbook.RideFilter{CombinationID: r.CombinationID})
	if len(rides) != 2 {
		t.Errorf("%d rides", len(rides))
	}
	without := post(t, h, at, form("sheet", "")).Header().Get("Location")
	if w := post(t, h, without+"/sheet", nil); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("no sheet: status %d", w.Code)
	}
}
