package draw

import (
	"math"
	"strings"
)

// dashes cuts a polyline by a dash pattern (on, off, on, off ... in mm). An empty or
// all-zero pattern leaves the line whole.
func dashes(l []Pt, pattern []float64) [][]Pt {
	sum := 0.0
	for _, d := range pattern {
		sum += d
	}
	if len(l) < 2 || sum <= 0 {
		return [][]Pt{l}
	}
	var out [][]Pt
	i, left, on := 0, pattern[0], true
	cur := []Pt{l[0]}
	for j := 1; j < len(l); j++ {
		a, b := l[j-1], l[j]
		seg, done := dist(a, b), 0.0
		for seg-done > left {
			done += left
			p := lerp(a, b, done/seg)
			if on {
				out = append(out, append(cur, p))
			}
			cur, on = []Pt{p}, !on
			i = (i + 1) % len(pattern)
			left = pattern[i]
		}
		left -= seg - done
		if on {
			cur = append(cur, b)
		}
	}
	if on && len(cur) > 1 {
		out = append(out, cur)
	}
	return out
}

// strokePieces covers a polyline of the given width with convex outlines that all turn the
// same way: a box for each piece and a disc for each joint.
func strokePieces(l []Pt, width float64, round bool) [][]Pt {
	var out [][]Pt
	h := width / 2
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		d := dist(a, b)
		if d == 0 {
			continue
		}
		nx, ny := (b.Y-a.Y)/d*h, -(b.X-a.X)/d*h
		out = append(out, []Pt{{a.X + nx, a.Y + ny}, {b.X + nx, b.Y + ny}, {b.X - nx, b.Y - ny}, {a.X - nx, a.Y - ny}})
	}
	for i, p := range l {
		end := i == 0 || i == len(l)-1
		if (end && round) || (!end && width > 0.15) {
			out = append(out, disc(p, h))
		}
	}
	return out
}

// disc is a circle as a polygon, turning the same way as the boxes of strokePieces.
func disc(c Pt, r float64) []Pt {
	const n = 20
	out := make([]Pt, n)
	for i := range out {
		s, co := math.Sincos(2 * math.Pi * float64(i) / n)
		out[i] = Pt{c.X + r*co, c.Y + r*s}
	}
	return out
}

func dist(a, b Pt) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

func lerp(a, b Pt, f float64) Pt { return Pt{a.X + f*(b.X-a.X), a.Y + f*(b.Y-a.Y)} }

// simplify drops points of a polyline that lie within tol of the line through the ones kept
// (Douglas and Peucker 1973). The ends stay.
func simplify(l []Pt, tol float64) []Pt {
	if len(l) < 3 {
		return l
	}
	keep := make([]bool, len(l))
	keep[0], keep[len(l)-1] = true, true
	stack := [][2]int{{0, len(l) - 1}}
	for len(stack) > 0 {
		s := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		far, at := tol, -1
		for i := s[0] + 1; i < s[1]; i++ {
			if d := offLine(l[i], l[s[0]], l[s[1]]); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			stack = append(stack, [2]int{s[0], at}, [2]int{at, s[1]})
		}
	}
	out := l[:0:0]
	for i, k := range keep {
		if k {
			out = append(out, l[i])
		}
	}
	return out
}

// offLine is the distance of p from the segment a-b.
func offLine(p, a, b Pt) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	n := dx*dx + dy*dy
	if n == 0 {
		return dist(p, a)
	}
	f := ((p.X-a.X)*dx + (p.Y-a.Y)*dy) / n
	return dist(p, lerp(a, b, math.Max(0, math.Min(1, f))))
}

// splitSpaces cuts words at plain spaces and line ends; a no-break space holds.
func splitSpaces(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == '\r' })
}

// polar is the point r away from c at deg degrees, clockwise on paper from the right.
func polar(c Pt, r, deg float64) Pt {
	s, co := math.Sincos(deg * math.Pi / 180)
	return Pt{c.X + r*co, c.Y + r*s}
}
