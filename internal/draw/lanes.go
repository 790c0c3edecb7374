package draw

import (
	"math"
	"slices"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// Where a test rides the same ground twice the second line is drawn beside the first, one
// lane further in, so that both can be followed. Lanes are for the whole test only; they
// move a line by less than 3 m and the legend says so.
const (
	laneWidth  = 0.75 // metres
	laneNear   = 0.6  // metres within which two lines count as the same
	laneApart  = 8    // metres along the line before it can meet itself again
	laneMin    = 6    // metres a shared piece must last to be moved
	laneStep   = 0.5  // metres between the places looked at
	laneSmooth = 5    // places either side over which a move is spread
	laneMost   = 4
	cellMost   = 60 // stations kept of a square metre: enough for laneMost, and bounds the work of endless sheets
)

// station is a place of the line, looked at for lanes.
type station struct {
	p     arena.Point
	h     arena.Angle
	d     arena.Point // unit vector of h
	m     float64
	curve float64
	leg   int // grows where the line turns back on itself
	back  bool
	lane  int

	movement int // number
}

// lanes returns for each sample of a line how far to move it, in metres.
func lanes(ss []rideplan.Sample, b *arena.Board) []arena.Point {
	if len(ss) == 0 {
		return nil
	}
	st := stations(ss)
	countLanes(st, newCells(b))
	dropShort(st)
	moves := make([]arena.Point, len(st))
	for i := range st {
		moves[i] = inward(st[i], b).Mul(laneWidth * float64(st[i].lane))
	}
	moves = spread(st, moves)
	out := make([]arena.Point, len(ss))
	for i, s := range ss {
		f := float64(s.M-ss[0].M) / laneStep
		j := min(int(f), len(st)-1)
		k := min(j+1, len(st)-1)
		switch back := s.Variety == gait.ReinBackVar; { // no half moves at the ends of a rein-back
		case st[j].back != back:
			j = k
		case st[k].back != back:
			k = j
		}
		out[i] = moves[j].Lerp(moves[k], min(max(f-float64(j), 0), 1))
	}
	return out
}

// stations are places half a metre apart along a line that is not empty.
func stations(ss []rideplan.Sample) []station {
	m0 := float64(ss[0].M)
	n := int((float64(ss[len(ss)-1].M)-m0)/laneStep) + 2
	out := make([]station, 0, n)
	leg, back, j := 0, false, 0
	for i := 0; i < n; i++ {
		m := m0 + float64(i)*laneStep
		for j+1 < len(ss) && float64(ss[j+1].M) <= m { // samples are close: no need to interpolate
			j++
		}
		s := &ss[j]
		nowBack := s.Variety == gait.ReinBackVar
		if k := len(out); k > 0 && (nowBack != back || math.Abs(float64(s.Heading.Diff(out[k-1].h))) > 1) {
			leg++
		}
		back = nowBack
		out = append(out, station{p: s.Point, h: s.Heading, d: s.Heading.Unit(), m: m, curve: s.Curvature, leg: leg, back: back, movement: s.Movement})
	}
	return out
}

// cells are squares of a metre with the stations in them, in riding order.
type cells struct {
	wide, high int
	in         [][]int32
}

func newCells(b *arena.Board) *cells {
	c := &cells{wide: int(b.Width) + 6, high: int(b.Length) + 6}
	c.in = make([][]int32, c.wide*c.high)
	return c
}

// at is the cell of a point; points far outside the arena share the cells at its edge.
func (c *cells) at(p arena.Point) (x, y int) {
	return min(max(int(math.Floor(p.X))+c.wide/2, 1), c.wide-2), min(max(int(math.Floor(p.Y))+3, 1), c.high-2)
}

// countLanes sets each station's lane to the number of earlier passes over the same ground.
func countLanes(st []station, c *cells) {
	var same []int32
	for i := range st {
		x, y := c.at(st[i].p)
		same = same[:0]
		for row := y - 1; row <= y+1; row++ {
			for _, in := range c.in[row*c.wide+x-1 : row*c.wide+x+2] {
				for _, j := range in {
					if samePlace(&st[i], &st[j]) {
						same = append(same, j)
					}
				}
			}
		}
		slices.Sort(same)
		st[i].lane = min(passes(st, same), laneMost)
		if at := y*c.wide + x; len(c.in[at]) < cellMost {
			c.in[at] = append(c.in[at], int32(i))
		}
	}
}

// passes counts how often the line came by: stations of one pass follow each other closely.
func passes(st []station, same []int32) int {
	n := 0
	for k, j := range same {
		if k == 0 || st[j].m-st[same[k-1]].m > 4 || st[j].leg != st[same[k-1]].leg {
			n++
		}
	}
	return n
}

// samePlace reports whether station a, later on the line, lies on the ground of b.
func samePlace(a, b *station) bool {
	dx, dy := a.p.X-b.p.X, a.p.Y-b.p.Y
	if dx*dx+dy*dy >= laneNear*laneNear || math.Abs(a.d.Dot(b.d)) <= 0.94 {
		return false
	}
	return a.m-b.m >= laneApart || (a.leg != b.leg && a.back)
}

// dropShort takes back moves that do not last and bridges short breaks between them, level
// by level; a rein-back, always short, keeps its own.
func dropShort(st []station) {
	for level := 1; level <= laneMost; level++ {
		eachRun(st, level, func(run []station, above, inside bool) {
			short := run[len(run)-1].m-run[0].m < laneMin
			for k := range run {
				switch {
				case !short || run[k].back:
				case above:
					run[k].lane = level - 1
				case inside:
					run[k].lane = level
				}
			}
		})
	}
}

// eachRun calls f for every run of stations that lie at or above a level and for every run
// below it; inside is false for the first and the last run.
func eachRun(st []station, level int, f func(run []station, above, inside bool)) {
	for i := 0; i < len(st); {
		j, above := i, st[i].lane >= level
		for j < len(st) && (st[j].lane >= level) == above {
			j++
		}
		f(st[i:j], above, i > 0 && j < len(st))
		i = j
	}
}

// inward is the direction in which a line gives way: to the inside of a curve or of the
// track, and on lines across the middle always towards B or C.
func inward(s station, b *arena.Board) arena.Point {
	n := s.h.Unit().Left()
	if math.Abs(s.curve) > 1.0/30 {
		if s.curve < 0 {
			return n.Mul(-1)
		}
		return n
	}
	half, l := float64(b.Width)/2, float64(b.Length)
	towards := arena.Point{X: 1, Y: 1e-3}
	switch {
	case half-math.Abs(s.p.X) < 3 && math.Abs(n.X) > 0.9:
		towards = arena.Point{X: -s.p.X}
	case math.Min(s.p.Y, l-s.p.Y) < 3 && math.Abs(n.Y) > 0.9:
		towards = arena.Point{Y: l/2 - s.p.Y}
	}
	if n.Dot(towards) < 0 {
		return n.Mul(-1)
	}
	return n
}

// spread smooths moves along the line, but not across the ends of a rein-back.
func spread(st []station, moves []arena.Point) []arena.Point {
	out := make([]arena.Point, len(moves))
	for i := range moves {
		var sum arena.Point
		n := 0.0
		for j := max(0, i-laneSmooth); j <= min(len(moves)-1, i+laneSmooth); j++ {
			if st[i].back == st[j].back {
				sum, n = sum.Add(moves[j]), n+1
			}
		}
		out[i] = sum.Mul(1 / n)
	}
	return out
}
