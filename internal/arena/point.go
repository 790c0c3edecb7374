// Package arena holds the dressage arena and plane geometry in the arena frame:
// boards, letters, points, angles and paths.
//
// Arena frame: metres, origin at A, y towards C, x towards the B side (right when
// looking from A to C). Angles count anticlockwise positive seen from above, 0 along +x;
// riding from A to C is therefore 90 degrees.
package arena

import "math"

// Metres is a length in metres.
type Metres float64

// Angle is an angle in radians, anticlockwise positive seen from above.
type Angle float64

// Degrees makes an Angle from degrees.
func Degrees(d float64) Angle { return Angle(d * math.Pi / 180) }

// Deg returns the angle in degrees.
func (a Angle) Deg() float64 { return float64(a) * 180 / math.Pi }

// Norm returns the same direction in (-pi, pi].
func (a Angle) Norm() Angle {
	r := math.Remainder(float64(a), 2*math.Pi)
	if r <= -math.Pi {
		r += 2 * math.Pi
	}
	return Angle(r)
}

// Diff returns the signed turn that leads from b to a, in (-pi, pi].
func (a Angle) Diff(b Angle) Angle { return (a - b).Norm() }

// Unit returns the unit vector in direction a.
func (a Angle) Unit() Point { return Point{math.Cos(float64(a)), math.Sin(float64(a))} }

// Point is a place or a displacement in the arena frame, in metres.
// A recording in its own frame is a different type (track.Local) on purpose.
type Point struct{ X, Y float64 }

// Add returns p+q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Sub returns p-q.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Mul returns p scaled by k.
func (p Point) Mul(k float64) Point { return Point{p.X * k, p.Y * k} }

// Dot returns the inner product.
func (p Point) Dot(q Point) float64 { return p.X*q.X + p.Y*q.Y }

// Cross returns the z component of p x q; positive when q lies to the left of p.
func (p Point) Cross(q Point) float64 { return p.X*q.Y - p.Y*q.X }

// Norm returns the length of p.
func (p Point) Norm() Metres { return Metres(math.Hypot(p.X, p.Y)) }

// Dist returns the distance between p and q.
func (p Point) Dist(q Point) Metres { return p.Sub(q).Norm() }

// Heading returns the direction of p as a displacement.
func (p Point) Heading() Angle { return Angle(math.Atan2(p.Y, p.X)) }

// Left returns p turned by +90 degrees.
func (p Point) Left() Point { return Point{-p.Y, p.X} }

// Lerp returns the point a fraction f of the way from p to q.
func (p Point) Lerp(q Point, f float64) Point { return p.Add(q.Sub(p).Mul(f)) }
