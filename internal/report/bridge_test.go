package report

import (
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
)

// TestBridgeDoubt makes paths of white acceleration, takes those whose last place and speed are known
// out of the middle by least squares (the best linear guess from the end), and compares the scatter that
// is left with the closed form. Places and speeds at the start are 0 and known.
func TestBridgeDoubt(t *testing.T) {
	const q, h, steps, paths = 1.7, 6.0, 600, 4000
	dt := h / steps
	rng := rand.New(rand.NewPCG(3, 5))
	for _, u := range []float64{0.25, 0.5, 0.8} {
		var xx, xv, vv, mx, mv, mm float64
		for range paths {
			x, v, mid := 0.0, 0.0, 0.0
			for k := range steps {
				x += v * dt
				v += math.Sqrt(q*dt) * rng.NormFloat64()
				if k == int(u*steps)-1 {
					mid = x
				}
			}
			xx, xv, vv, mx, mv, mm = xx+x*x, xv+x*v, vv+v*v, mx+mid*x, mv+mid*v, mm+mid*mid
		}
		det := xx*vv - xv*xv
		a, b := (mx*vv-mv*xv)/det, (mv*xx-mx*xv)/det
		left := (mm - a*mx - b*mv) / paths
		if want := bridgeVariance(q, h, u); math.Abs(left/want-1) > 0.1 {
			t.Errorf("u = %.2f: variance %.4f m², formula %.4f m²", u, left, want)
		}
	}
}

// TestBridgedRide: the band widens into a gap and is narrow on both sides of it; nothing is set into a
// gap too long to know the way, and a bridged sample says that it is one.
func TestBridgedRide(t *testing.T) {
	r := &match.Ridden{}
	for k := range 400 {
		at := float64(k) / 5
		if at > 30 && at < 38 || at > 60 && at < 75 {
			continue
		}
		s := match.Sample{T: gait.Seconds(at), PosSD: 0.1, PlanM: arena.Metres(3 * at), Movement: 2}
		s.X, s.Y, s.V = 8*math.Sin(at/4), 8*math.Cos(at/4), arena.Point{X: 2 * math.Cos(at/4), Y: -2 * math.Sin(at/4)}
		r.Samples = append(r.Samples, s)
	}
	r.Samples = append(r.Samples, match.Sample{T: 140, PosSD: 0.1})
	o := RiddenOverlay(r)
	widest, before, gaps := 0.0, 0.0, 0
	for _, p := range o.Points {
		switch {
		case p.T > 30.1 && p.T < 37.9:
			gaps++
			if !p.Gap {
				t.Errorf("%.1f s is said to be recorded", p.T)
			}
			if off := math.Hypot(p.X-8*math.Sin(p.T/4), p.Y-8*math.Cos(p.T/4)); off > 2.5*p.HalfWidth+0.1 {
				t.Errorf("%.1f s: bridged %.1f m off the circle, doubt %.1f m", p.T, off, p.HalfWidth)
			}
			widest = max(widest, p.HalfWidth)
		case p.T < 30:
			before = max(before, p.HalfWidth)
		case p.T > 80 && p.T < 139.9:
			t.Errorf("a way is made up at %.1f s, where nothing was recorded for a minute", p.T)
		}
	}
	if gaps < 12 || widest < 5*before {
		t.Errorf("%d bridging points, band %.2f m against %.2f m before", gaps, widest, before)
	}
}
