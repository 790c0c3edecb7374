package arena

import "math"

// Segment is a piece of line of constant curvature: a straight (Curvature 0), an arc, or,
// with Length 0, a turn on the spot by Turn.
type Segment struct {
	Start     Point
	Heading   Angle   // direction the horse faces along the line at Start
	Length    Metres  // distance travelled, >= 0
	Curvature float64 // 1/m, positive to the left
	Turn      Angle   // turn on the spot, only with Length 0
	Backward  bool    // rein-back: travels opposite to Heading
}

// Pose is a place on a path: the point, the direction the line faces there and its curvature.
type Pose struct {
	Point
	Heading   Angle
	Curvature float64
}

// At returns the pose after travelling d metres of the segment, 0 <= d <= Length.
func (g Segment) At(d Metres) Pose {
	s := float64(d)
	if g.Backward {
		s = -s
	}
	h := float64(g.Heading)
	if math.Abs(g.Curvature) < 1e-12 {
		return Pose{g.Start.Add(g.Heading.Unit().Mul(s)), g.Heading, 0}
	}
	k := g.Curvature
	h2 := h + k*s
	return Pose{Point{g.Start.X + (math.Sin(h2)-math.Sin(h))/k, g.Start.Y - (math.Cos(h2)-math.Cos(h))/k}, Angle(h2), k}
}

// End returns the pose at the end of the segment, after its turn on the spot.
func (g Segment) End() Pose {
	p := g.At(g.Length)
	p.Heading += g.Turn
	return p
}

// Centre returns the centre of an arc; ok is false for a straight.
func (g Segment) Centre() (c Point, ok bool) {
	if g.Curvature == 0 {
		return Point{}, false
	}
	return g.Start.Add(g.Heading.Unit().Left().Mul(1 / g.Curvature)), true
}

// Line returns the straight segment from p to q.
func Line(p, q Point) Segment {
	return Segment{Start: p, Heading: q.Sub(p).Heading(), Length: p.Dist(q)}
}

// Arc returns the arc that starts at p facing h and turns by sweep (positive left) at radius r > 0.
func Arc(p Point, h Angle, r Metres, sweep Angle) Segment {
	k := 1 / float64(r)
	if sweep < 0 {
		k = -k
	}
	return Segment{Start: p, Heading: h, Length: Metres(math.Abs(float64(sweep))) * r, Curvature: k}
}

// Path is a sequence of segments, each starting where the one before ended.
type Path []Segment

// Length returns the distance travelled over the whole path.
func (p Path) Length() Metres {
	var l Metres
	for _, g := range p {
		l += g.Length
	}
	return l
}

// At returns the pose d metres along the path, clamped to its ends. An empty path gives the zero pose.
func (p Path) At(d Metres) Pose {
	if len(p) == 0 {
		return Pose{}
	}
	for _, g := range p {
		if d <= g.Length && g.Length > 0 {
			return g.At(max(d, 0))
		}
		d -= g.Length
	}
	return p[len(p)-1].End()
}
