package arena

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Letter positions: corner letters 6 m from the corner, the others 12 m apart in the long and
// 14 m in the short arena, A and C in the middle of the short sides, centre-line letters
// between the facing pairs (national rule books and guides; the FEI arena). Counted from the
// K-E-H side in the sources, from the centre line here.
func TestLetterPositions(t *testing.T) {
	tests := []struct {
		b    *Board
		rows string
	}{
		{Standard60, "A 0 0;C 0 60;K -10 6;F 10 6;V -10 18;P 10 18;E -10 30;B 10 30;S -10 42;R 10 42;H -10 54;M 10 54;D 0 6;L 0 18;X 0 30;I 0 42;G 0 54"},
		{Small40, "A 0 0;C 0 40;K -10 6;F 10 6;E -10 20;B 10 20;H -10 34;M 10 34;D 0 6;X 0 20;G 0 34"},
	}
	for _, c := range tests {
		rows := strings.Split(c.rows, ";")
		if n := len(c.b.Letters()); n != len(rows) {
			t.Errorf("%g x %g: %d letters, want %d", c.b.Width, c.b.Length, n, len(rows))
		}
		for _, r := range rows {
			var l string
			var w Point
			if _, err := fmt.Sscan(r, &l, &w.X, &w.Y); err != nil {
				t.Fatal(err)
			}
			if p, ok := c.b.Letter(l); !ok || p != w {
				t.Errorf("%s at %v, want %v", l, p, w)
			}
		}
	}
	if _, ok := Small40.Letter("V"); ok {
		t.Error("the short arena has no V")
	}
}

// Lengths and angles derived from the positions (facts of rule books, computed there and
// printed to a tenth; 29.05 degrees is printed as 29.0).
func TestDerivedLengths(t *testing.T) {
	tests := []struct {
		b              *Board
		from, to       string
		length, degree float64 // angle to the long side
	}{
		{Standard60, "K", "M", 52.0, 22.6}, {Standard60, "H", "F", 52.0, 22.6}, {Standard60, "H", "B", 31.2, 39.8},
		{Standard60, "V", "R", 31.2, 39.8}, {Standard60, "K", "B", 31.2, 39.8}, {Standard60, "H", "P", 41.2, 29.0}, {Standard60, "F", "S", 41.2, 29.0},
		{Standard60, "F", "X", 26.0, 22.6}, {Standard60, "B", "G", 26.0, 22.6}, {Standard60, "D", "H", 49.0, 11.8},
		{Small40, "K", "M", 34.4, 35.5}, {Small40, "K", "B", 24.4, 55.0}, {Small40, "F", "X", 17.2, 35.5}, {Small40, "D", "H", 29.7, 19.7},
	}
	for _, c := range tests {
		p, _ := c.b.Letter(c.from)
		q, _ := c.b.Letter(c.to)
		v := q.Sub(p)
		angle := math.Atan2(math.Abs(v.X), math.Abs(v.Y)) * 180 / math.Pi
		if l := float64(v.Norm()); math.Abs(l-c.length) > 0.05 || math.Abs(angle-c.degree) > 0.06 {
			t.Errorf("%s-%s: %.2f m at %.2f degrees, want %.1f at %.1f", c.from, c.to, l, angle, c.length, c.degree)
		}
	}
}

func TestBoardFor(t *testing.T) {
	if b, err := BoardFor(20, 40); err != nil || b != Small40 {
		t.Errorf("20 x 40: %v, %v", b, err)
	}
	if _, err := BoardFor(30, 60); err == nil || !strings.Contains(err.Error(), "20 x 60") {
		t.Errorf("30 x 60: %v", err)
	}
}

func TestSideOf(t *testing.T) {
	for l, want := range map[string]Side{"A": OnSouth, "C": OnNorth, "E": OnWest, "B": OnEast, "X": OnCentreLine, "G": OnCentreLine} {
		if s, ok := Standard60.SideOf(l); !ok || s != want {
			t.Errorf("SideOf(%s) = %v, %v", l, s, ok)
		}
	}
	if _, ok := Small40.SideOf("R"); ok {
		t.Error("SideOf knows R in the short arena")
	}
}

// Angles: Norm lies in (-pi, pi], Diff leads from one to the other.
func TestAngles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		a, b := Angle(r.Float64()*40-20), Angle(r.Float64()*40-20)
		n := a.Norm()
		if n <= -math.Pi || n > math.Pi || a.Unit().Dist(n.Unit()) > 1e-9 {
			t.Fatalf("Norm(%v) = %v", a, n)
		}
		if (b + a.Diff(b)).Unit().Dist(a.Unit()) > 1e-9 {
			t.Fatalf("Diff(%v, %v) = %v", a, b, a.Diff(b))
		}
	}
	if Degrees(-180).Norm() != math.Pi {
		t.Error("-180 degrees is 180")
	}
}

// walk is the slow twin of Segment.At: many small steps along the heading.
func walk(g Segment, d float64) Point {
	const n = 20000
	p, h, step := g.Start, float64(g.Heading), d/n
	if g.Backward {
		step = -step
	}
	for range n {
		h += g.Curvature * step / 2
		p = p.Add(Angle(h).Unit().Mul(step))
		h += g.Curvature * step / 2
	}
	return p
}

func TestSegmentTwin(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 60 {
		g := Segment{Start: Point{r.Float64()*20 - 10, r.Float64() * 60}, Heading: Angle(r.Float64() * 7), Length: Metres(r.Float64() * 40),
			Backward: r.IntN(4) == 0}
		if r.IntN(3) > 0 {
			g.Curvature = r.Float64()*0.6 - 0.3
		}
		d := r.Float64() * float64(g.Length)
		if off := g.At(Metres(d)).Point.Dist(walk(g, d)); off > 1e-5 {
			t.Errorf("%+v at %.2f: %.6f m off", g, d, off)
		}
	}
}

func TestArcAndCentre(t *testing.T) {
	g := Arc(Point{0, 0.8}, 0, 9.2, Degrees(360))
	c, ok := g.Centre()
	if !ok || c.Dist(Point{0, 10}) > 1e-9 || math.Abs(float64(g.Length)-2*math.Pi*9.2) > 1e-9 || g.End().Point.Dist(g.Start) > 1e-9 {
		t.Errorf("circle at A: centre %v length %v end %v", c, g.Length, g.End())
	}
	if _, ok := Line(Point{0, 0}, Point{3, 4}).Centre(); ok {
		t.Error("a straight has no centre")
	}
}

// Path.At against walking the segments one by one, also over turns on the spot.
func TestPathTwin(t *testing.T) {
	p := Path{Line(Point{0, 0}, Point{0, 10}), Arc(Point{0, 10}, Degrees(90), 5, Degrees(-90))}
	p = append(p, Segment{Start: p[1].End().Point, Heading: p[1].End().Heading, Turn: Degrees(180)})
	p = append(p, Segment{Start: p[1].End().Point, Heading: p[2].End().Heading, Length: 4})
	if l := float64(p.Length()); math.Abs(l-(10+2.5*math.Pi+4)) > 1e-9 {
		t.Errorf("length %v", l)
	}
	for d := -1.0; d < float64(p.Length())+2; d += 0.37 {
		rest, want := d, p[0].Start
		for _, g := range p {
			step := math.Max(0, math.Min(rest, float64(g.Length)))
			if g.Length > 0 && (rest > 0 || d <= 0) {
				want = g.At(Metres(step)).Point
			}
			rest -= float64(g.Length)
			if rest < 0 {
				break
			}
		}
		if got := p.At(Metres(d)).Point; got.Dist(want) > 1e-9 {
			t.Errorf("At(%.2f) = %v, want %v", d, got, want)
		}
	}
}

func TestContainsAndNearest(t *testing.T) {
	if !Standard60.Contains(Point{-10, 0}, 0) || Standard60.Contains(Point{-10, 0}, 0.8) || Standard60.Contains(Point{0, 60.01}, 0) {
		t.Error("Contains is wrong at the boards")
	}
	if l, d := Standard60.NearestLetter(Point{1, 31}); l != "X" || math.Abs(float64(d)-math.Sqrt2) > 1e-9 {
		t.Errorf("nearest to (1,31) is %s at %v", l, d)
	}
}
