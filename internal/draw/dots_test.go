package draw

import (
	"testing"

	"pgregory.net/rapid"
)

// Brute-force twin: count by looking at every point.
func TestDotsWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := newDots(40, 90, 2)
		pts := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Pt {
			return Pt{rapid.Float64Range(-5, 45).Draw(t, "x"), rapid.Float64Range(-5, 95).Draw(t, "y")}
		}), 0, 80).Draw(t, "points")
		for _, p := range pts {
			d.add(p)
		}
		c := Pt{rapid.Float64Range(0, 40).Draw(t, "cx"), rapid.Float64Range(0, 90).Draw(t, "cy")}
		want := 0
		for _, p := range pts {
			if dist(p, c) < 2 {
				want++
			}
		}
		if got := d.within(c, 2); got != want {
			t.Fatalf("%d points near %v, want %d", got, c, want)
		}
	})
}
