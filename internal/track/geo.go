package track

import "math"

// WGS84 ellipsoid (NIMA TR8350.2: defining semi-major axis and flattening).
const (
	wgs84A  = 6378137.0
	wgs84F  = 1 / 298.257223563
	wgs84E2 = wgs84F * (2 - wgs84F)
)

const degree = math.Pi / 180

// Plane is the local tangent plane of the WGS84 ellipsoid at an origin: x east, y north, in metres.
//
// Positions are turned to earth-centred coordinates on the ellipsoid and seen along the plane, so
// within 200 m of the origin a distance differs from the geodesic by less than 0.1 mm (checked
// against Vincenty's inverse in the tests; the leading term is d^3/6R^2, 0.03 micrometres at
// 200 m, 3 cm at 20 km). Height above the ellipsoid is left out: at 1000 m all distances
// are 0.016 % short, 1 cm in 60 m.
type Plane struct {
	origin             LatLon
	sinP, cosP         float64 // latitude of the origin
	sinL, cosL         float64 // longitude of the origin
	x0, y0, z0         float64 // origin, earth-centred
	perLatDeg, perLonD float64 // metres per degree at the origin
}

// NewPlane returns the plane that touches the ellipsoid at origin.
func NewPlane(origin LatLon) Plane {
	p := Plane{origin: origin}
	p.sinP, p.cosP = math.Sincos(origin.LatDeg * degree)
	p.sinL, p.cosL = math.Sincos(origin.LonDeg * degree)
	p.x0, p.y0, p.z0 = earthCentred(origin)
	w2 := 1 - wgs84E2*p.sinP*p.sinP
	p.perLatDeg = wgs84A * (1 - wgs84E2) / (w2 * math.Sqrt(w2)) * degree
	p.perLonD = wgs84A / math.Sqrt(w2) * p.cosP * degree
	return p
}

func earthCentred(q LatLon) (x, y, z float64) {
	sp, cp := math.Sincos(q.LatDeg * degree)
	sl, cl := math.Sincos(q.LonDeg * degree)
	n := wgs84A / math.Sqrt(1-wgs84E2*sp*sp)
	return n * cp * cl, n * cp * sl, n * (1 - wgs84E2) * sp
}

// Origin returns the place where the plane touches.
func (p Plane) Origin() LatLon { return p.origin }

// ToLocal returns q in metres east and north of the origin.
func (p Plane) ToLocal(q LatLon) Local {
	x, y, z := earthCentred(q)
	dx, dy, dz := x-p.x0, y-p.y0, z-p.z0
	return Local{
		X: -p.sinL*dx + p.cosL*dy,
		Y: -p.sinP*(p.cosL*dx+p.sinL*dy) + p.cosP*dz,
	}
}

// FromLocal is the inverse of ToLocal for points on the ellipsoid within some kilometres of the
// origin (Newton steps with the radii at the origin; error below 1e-12 degrees there).
func (p Plane) FromLocal(l Local) LatLon {
	q := LatLon{p.origin.LatDeg + l.Y/p.perLatDeg, p.origin.LonDeg + l.X/p.perLonD}
	for range 8 {
		at := p.ToLocal(q)
		dx, dy := l.X-at.X, l.Y-at.Y
		q.LatDeg += dy / p.perLatDeg
		q.LonDeg += dx / p.perLonD
		if math.Abs(dx)+math.Abs(dy) < 1e-10 {
			break
		}
	}
	return q
}

// Plane returns the tangent plane of a geographic recording; ok is false in other frames.
// Surveyed letters are mapped with it into the same local frame as the fixes.
func (t *Track) Plane() (p Plane, ok bool) {
	if t.Frame != FrameGeo {
		return Plane{}, false
	}
	return NewPlane(t.Origin), true
}
