package web

import (
	"net/http"
	"testing"
)

// A stranger gets the same answer everywhere, with both ways in.
func TestStrangersAreShownBothWaysIn(t *testing.T) {
	d := newDoor(t)
	for _, path := range []string{"/", "/rides/x", "/sheets/x", "/lessons/x/run"} {
		w := d.browser().do("GET", path, nil)
		if w.Code != http.StatusUnauthorized {
			t.Errorf("%s: %d", path, w.Code)
		}
		has(t, w.Body.String(), "Sign in first", `href="/sign-in"`, `href="/pair"`)
	}
}

// The measures' sentence stands once.
func TestCompareSaysItOnce(t *testing.T) {
	const why = "of 10 measures compared 3 are better"
	v := compareView{Summary: []string{"Better. The measures decide: " + why + "."}, Measured: why, Total: totalView{Reason: "marked by the trainer, so the measures decide: " + why}}
	v.sayOnce("better", why)
	if v.Measured != "better" || v.Total.Reason != "marked by the trainer, so the measures decide" {
		t.Errorf("%q, %q", v.Measured, v.Total.Reason)
	}
}

// Degrees that were typed in Celsius stand beside the limit in Fahrenheit.
func TestShowDayDegrees(t *testing.T) {
	for _, c := range []struct{ words, celsius, want string }{
		{"temperature in F plus humidity is over 150: walk", "30", "temperature in °F (30 °C is 86 °F) plus humidity is over 150: walk"},
		{"temperature in F plus humidity is over 150: walk", "", "temperature in F plus humidity is over 150: walk"},
		{"no weather", "30", "no weather"},
	} {
		if got := bothDegrees(c.words, c.celsius); got != c.want {
			t.Errorf("%q", got)
		}
	}
}
