package arena

import (
	"fmt"
	"math"
	"sort"
)

// Board is an arena with its letters; sizes are inside measures of the boards.
type Board struct {
	Width, Length Metres
	letters       map[string]Point
}

// letterRows gives y of the letters that stand in facing pairs on the long sides and of
// the centre-line letter between them (FEI and national rule books; see docs/SOURCES.md
// and the arena tests for the figures read).
type letterRow struct {
	west, east, middle string
	y                  float64
}

// Standard60 is the 20 x 60 m arena, Small40 the 20 x 40 m arena.
var (
	Standard60 = newBoard(20, 60, []letterRow{
		{"K", "F", "D", 6}, {"V", "P", "L", 18}, {"E", "B", "X", 30}, {"S", "R", "I", 42}, {"H", "M", "G", 54}})
	Small40 = newBoard(20, 40, []letterRow{
		{"K", "F", "D", 6}, {"E", "B", "X", 20}, {"H", "M", "G", 34}})
)

func newBoard(w, l Metres, rows []letterRow) *Board {
	b := &Board{Width: w, Length: l, letters: map[string]Point{"A": {0, 0}, "C": {0, float64(l)}}}
	half := float64(w) / 2
	for _, r := range rows {
		b.letters[r.west] = Point{-half, r.y}
		b.letters[r.east] = Point{half, r.y}
		b.letters[r.middle] = Point{0, r.y}
	}
	return b
}

// BoardFor returns the arena of the given inside size, or an error naming the sizes known.
func BoardFor(width, length Metres) (*Board, error) {
	for _, b := range []*Board{Small40, Standard60} {
		if math.Abs(float64(b.Width-width)) < 1e-9 && math.Abs(float64(b.Length-length)) < 1e-9 {
			return b, nil
		}
	}
	return nil, fmt.Errorf("arena %g x %g is not known; allowed: 20 x 40, 20 x 60", float64(width), float64(length))
}

// Letter returns the place of a letter and whether this arena has it.
func (b *Board) Letter(name string) (Point, bool) {
	p, ok := b.letters[name]
	return p, ok
}

// Letters returns all letters of the arena in alphabetical order.
func (b *Board) Letters() []string {
	out := make([]string, 0, len(b.letters))
	for n := range b.letters {
		out = append(out, n)
	}
	sort.Strings(out)
	return out
}

// Side says where a letter stands.
type Side int

// The places a letter can stand.
const (
	OnCentreLine Side = iota // D L X I G
	OnWest                   // K V E S H, x = -10
	OnEast                   // F P B R M, x = +10
	OnSouth                  // A
	OnNorth                  // C
)

// SideOf returns where the letter stands; ok is false for a letter this arena lacks.
func (b *Board) SideOf(name string) (s Side, ok bool) {
	p, ok := b.letters[name]
	half := float64(b.Width) / 2
	switch {
	case !ok:
		return 0, false
	case p.X == -half:
		return OnWest, true
	case p.X == half:
		return OnEast, true
	case p.Y == 0:
		return OnSouth, true
	case p.Y == float64(b.Length):
		return OnNorth, true
	}
	return OnCentreLine, true
}

// Contains reports whether p lies inside the boards shrunk by inset.
func (b *Board) Contains(p Point, inset Metres) bool {
	const eps = 1e-9
	half, in := float64(b.Width)/2, float64(inset)
	return math.Abs(p.X) <= half-in+eps && p.Y >= in-eps && p.Y <= float64(b.Length)-in+eps
}

// NearestLetter returns the letter closest to p and its distance.
func (b *Board) NearestLetter(p Point) (string, Metres) {
	best, bd := "", Metres(math.Inf(1))
	for _, n := range b.Letters() {
		if d := p.Dist(b.letters[n]); d < bd {
			best, bd = n, d
		}
	}
	return best, bd
}
