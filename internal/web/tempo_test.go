package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// motionOf writes what a sensor at the saddle feels of a trot of so many strides a minute: up and down
// twice a stride, to the side once. Nothing is written between from and to, as if it had stopped.
func motionOf(seconds, perMinute, from, to float64) string {
	var b strings.Builder
	b.WriteString("t_s,acc_x_mps2,acc_y_mps2,acc_z_mps2\n")
	f := perMinute / 60
	for i := 0; i < int(50*seconds); i++ {
		t := float64(i) / 50
		if t >= from && t < to {
			continue
		}
		w := 2 * math.Pi * f * t
		fmt.Fprintf(&b, "%.3f,%.3f,%.3f,%.3f\n", t, 0.8*math.Sin(2*w+0.4), 0.9*math.Sin(w), 9.81+4.5*math.Cos(2*w)+0.5*math.Cos(4*w))
	}
	return b.String()
}

// TestTempoStrip: without motion the page says so in words; with motion the tempo is drawn beside the
// speed, and the line is broken where the sensor wrote nothing.
func TestTempoStrip(t *testing.T) {
	b, h, pair, _, track := consentYard(t)
	w := sendParts(t, h, pair+"/rides", part{name: "sheet", text: "s"}, part{name: "date", text: "2026-05-31"}, part{name: "kind", text: "training"}, part{name: "recorder", text: "rtk"},
		part{name: "agreed_by", text: "Jo Holm"}, part{name: "guardian", text: "1"}, part{"track", "t.csv", track})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %.300s", w.Code, w.Body)
	}
	at := w.Header().Get("Location")
	_, page := get(t, h, at)
	has(t, page, "No motion recorded: the tempo is not known", "Speed over the time")
	if strings.Contains(page, "Tempo over the time") {
		t.Error("a strip of a tempo that is not known")
	}

	w = sendParts(t, h, at+"/files", part{"motion", "m.csv", motionOf(430, 79, 120, 160)})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("motion: status %d: %.400s", w.Code, w.Body)
	}
	_, page = get(t, h, at)
	has(t, page, "Tempo over the time of the ride, strides a minute", "strides a minute")
	if strings.Contains(page, "No motion recorded") {
		t.Error("motion is denied")
	}
	rev, err := b.ReviewOf(ctx, strings.TrimPrefix(at, "/rides/"))
	if err != nil || !rev.Tempo.Motion || len(rev.Tempo.Points) < 300 {
		t.Fatalf("%d points (%v)", len(rev.Tempo.Points), err)
	}
	for _, p := range rev.Tempo.Points {
		if math.Abs(p.PerMinute-79) > 1 {
			t.Errorf("%.0f s: %.1f strides a minute, made at 79", p.T, p.PerMinute)
		}
		if p.T > 123 && p.T < 157 {
			t.Errorf("a tempo at %.0f s, where nothing was written", p.T)
		}
	}
	if n := pieces(t, rev); n < 2 {
		t.Errorf("the line is in %d pieces over the gap", n)
	}
}

// pieces counts the unbroken pieces of the ridden tempo as drawn.
func pieces(t *testing.T, rev *logbook.Review) int {
	t.Helper()
	svg, err := svgOf(tempoStrip(rev))
	if err != nil {
		t.Fatal(err)
	}
	_, ridden, ok := strings.Cut(string(svg), "<title>ridden</title>")
	if !ok {
		t.Fatalf("no ridden tempo in %.400s", svg)
	}
	return strings.Count(ridden[:strings.Index(ridden, "</g>")], `class="ridden"`)
}
