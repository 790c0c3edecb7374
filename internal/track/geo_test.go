package track

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// vincenty is the geodesic distance on WGS84 by Vincenty's inverse formula (Survey Review 23:88-93,
// 1975), iterated to the end: the brute-force twin of the tangent plane.
func vincenty(a, b LatLon) float64 {
	f := wgs84F
	bb := wgs84A * (1 - f)
	l := (b.LonDeg - a.LonDeg) * degree
	u1, u2 := math.Atan((1-f)*math.Tan(a.LatDeg*degree)), math.Atan((1-f)*math.Tan(b.LatDeg*degree))
	s1, c1 := math.Sincos(u1)
	s2, c2 := math.Sincos(u2)
	lam := l
	var sig, ss, cs, ca2, c2m float64
	for range 200 {
		sl, cl := math.Sincos(lam)
		ss = math.Hypot(c2*sl, c1*s2-s1*c2*cl)
		if ss == 0 {
			return 0
		}
		cs = s1*s2 + c1*c2*cl
		sig = math.Atan2(ss, cs)
		sa := c1 * c2 * sl / ss
		ca2 = 1 - sa*sa
		c2m = 0
		if ca2 > 1e-15 {
			c2m = cs - 2*s1*s2/ca2
		}
		c := f / 16 * ca2 * (4 + f*(4-3*ca2))
		next := l + (1-c)*f*sa*(sig+c*ss*(c2m+c*cs*(2*c2m*c2m-1)))
		if math.Abs(next-lam) < 1e-15 {
			break
		}
		lam = next
	}
	u := ca2 * (wgs84A*wgs84A - bb*bb) / (bb * bb)
	ka := 1 + u/16384*(4096+u*(-768+u*(320-175*u)))
	kb := u / 1024 * (256 + u*(-128+u*(74-47*u)))
	d := kb * ss * (c2m + kb/4*(cs*(2*c2m*c2m-1)-kb/6*c2m*(4*ss*ss-3)*(4*c2m*c2m-3)))
	return bb * ka * (sig - d)
}

// Vincenty's own check: Flinders Peak to Buninyong, 54972.271 m (on GRS80, whose flattening differs
// from WGS84's in the ninth digit; Geoscience Australia's published example).
func TestVincentyTwin(t *testing.T) {
	a := LatLon{-(37 + 57/60. + 3.72030/3600), 144 + 25/60. + 29.52440/3600}
	b := LatLon{-(37 + 39/60. + 10.15610/3600), 143 + 55/60. + 35.38390/3600}
	if d := vincenty(a, b); math.Abs(d-54972.271) > 0.001 {
		t.Errorf("distance %.4f m, want 54972.271", d)
	}
}

// A degree at 45 degrees north: 111.132 km of latitude, 78.847 km of longitude (the usual WGS84
// table, from memory).
func TestDegreeLengths(t *testing.T) {
	p := NewPlane(LatLon{45, 8})
	if math.Abs(p.perLatDeg-111132) > 0.5 || math.Abs(p.perLonD-78847) > 0.5 {
		t.Errorf("degree of latitude %.3f m, of longitude %.3f m", p.perLatDeg, p.perLonD)
	}
}

// Within 200 m of the origin, anywhere a horse can be ridden, distances agree with the geodesic to
// 0.1 mm, and the way back is exact.
func TestPlaneAgainstGeodesic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := LatLon{rapid.Float64Range(-75, 75).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")}
		p := NewPlane(o)
		at := func(n string) (Local, LatLon) {
			l := Local{rapid.Float64Range(-140, 140).Draw(t, n+"x"), rapid.Float64Range(-140, 140).Draw(t, n+"y")}
			return l, p.FromLocal(l)
		}
		a, qa := at("a")
		b, qb := at("b")
		if back := p.ToLocal(qa); math.Hypot(back.X-a.X, back.Y-a.Y) > 1e-6 {
			t.Fatalf("there and back moves %v to %v", a, back)
		}
		plane, geodesic := math.Hypot(a.X-b.X, a.Y-b.Y), vincenty(qa, qb)
		if math.Abs(plane-geodesic) > 1e-4 {
			t.Fatalf("plane %.6f m, geodesic %.6f m", plane, geodesic)
		}
	})
}

func TestPlaneAxes(t *testing.T) {
	p := NewPlane(LatLon{52, 5})
	n, e := p.ToLocal(LatLon{52.001, 5}), p.ToLocal(LatLon{52, 5.001})
	if !(n.Y > 111 && math.Abs(n.X) < 1e-6 && e.X > 68 && math.Abs(e.Y) < 0.001) {
		t.Errorf("north %v, east %v", n, e)
	}
}
