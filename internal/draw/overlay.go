package draw

import (
	"fmt"
	"math"
	"slices"

	"ringcraft/internal/arena"
)

// Overlay is a second line over the plan: a ride, as neutral geometry.
type Overlay struct {
	Label  string // for the legend: "ridden"
	Points []OverlayPoint
}

// OverlayPoint is one place of an overlay. HalfWidth is the doubt either side of the line in
// metres; Gap says that this point was not recorded: the line is broken there, its doubt is not; Movement is the movement's
// number, 0 when unknown.
type OverlayPoint struct {
	arena.Point
	HalfWidth float64
	T         float64 // seconds on the ride's clock
	Movement  int
	Gap       bool
}

// Mark is a place to look at: Kind is "good", "fault" or "note". A mark with the number of a
// movement is left out of the pictures of other single movements.
type Mark struct {
	arena.Point
	Kind, Label string
	Movement    int
}

// farApart is the time in seconds between two points after which nothing joins them.
const farApart = 2.5

// outside is how far beyond the boards in metres a line is drawn: what is ridden further out, before the
// test or after it, is not part of it.
const outside = 6

// pieces cuts the overlay where it is not known, to the arena and, for one movement, to that movement. The
// line also ends where it was not recorded; its doubt is drawn there too.
func (o *Overlay) pieces(b *arena.Board, movement int, recorded bool) [][]OverlayPoint {
	var out [][]OverlayPoint
	var cur []OverlayPoint
	flush := func() {
		if len(cur) > 1 {
			out = append(out, cur)
		}
		cur = nil
	}
	for i, p := range o.Points {
		bad := math.IsNaN(p.X) || math.IsNaN(p.Y) || !b.Contains(p.Point, -outside) || movement != 0 && p.Movement != movement
		far := i > 0 && p.T-o.Points[i-1].T > farApart
		if bad || far || recorded && (p.Gap || i > 0 && o.Points[i-1].Gap) {
			flush()
		}
		if !bad {
			cur = append(cur, p)
		}
	}
	flush()
	return out
}

// drawDoubt is the band inside which the ride was, two thirds of the time.
func (f frame) drawDoubt(o *Overlay, movement int) *Group {
	g := &Group{Class: "doubts"}
	for _, piece := range o.pieces(f.board, movement, false) {
		var lines [][]Pt
		for i := 1; i < len(piece); i++ {
			a, b := piece[i-1], piece[i]
			pa, pb := f.pt(a.Point), f.pt(b.Point)
			w := math.Min((a.HalfWidth+b.HalfWidth)/2, 5) * 2 * f.k
			if !(w > 0) || dist(pa, pb) < 0.05 {
				continue
			}
			lines = append(lines, strokePieces([]Pt{pa, pb}, w, true)...)
		}
		if len(lines) > 0 {
			g.Add(Path{Style: Style{Class: "doubt", Fill: InkDoubt}, Lines: lines, Closed: true})
		}
	}
	return g
}

// drawRidden is the ridden line, the only unbroken line of a drawing.
func (f frame) drawRidden(o *Overlay, movement int) *Group {
	g := &Group{Class: "ride", Title: o.Label}
	for _, piece := range o.pieces(f.board, movement, true) {
		l := make([]Pt, len(piece))
		for i, p := range piece {
			l[i] = f.pt(p.Point)
		}
		l = simplify(l, 0.04)
		g.Add(Path{Style: Style{Class: "ridden", Stroke: InkRidden, Width: 0.5 * f.u, Round: true}, Lines: [][]Pt{l}})
	}
	return g
}

// drawMark is a sign with its words: a ring for good, a triangle for a fault, a square for
// a note, so that shape alone tells them apart.
func (pl *plotter) drawMark(m Mark) *Group {
	c, u := pl.pt(m.Point), pl.u
	words := m.Label
	if words != "" && m.Movement != 0 && pl.o.Movement == 0 {
		words = fmt.Sprintf("%d: %s", m.Movement, m.Label)
	}
	g := &Group{Class: "mark " + m.Kind, Title: m.Kind + ": " + words}
	g.Add(markSign(m.Kind, c, u))
	if t, ok := pl.markWords(m, c, words); ok {
		g.Add(pl.haloText(t)...)
	}
	return g
}

// markWords finds room for a mark's words at its place; where there is none, for the number of its
// movement alone, and where even that would be written over others the sign stands by itself: its title
// says the words, and so does the list beside the drawing.
func (pl *plotter) markWords(m Mark, c Pt, words string) (Text, bool) {
	tries := []string{words}
	if m.Movement != 0 && pl.o.Movement == 0 {
		tries = append(tries, fmt.Sprint(m.Movement))
	}
	for _, w := range tries {
		if m.Label == "" {
			break
		}
		sides := []Anchor{Start, End} // from the sign to the right, to the left
		if m.X > 2 {
			sides = []Anchor{End, Start}
		}
		for _, anchor := range sides {
			t := Text{At: Pt{c.X + 2.8*pl.u, c.Y + 1.1*pl.u}, Size: 3.2 * pl.u, Anchor: anchor, Class: "ink", Ink: InkMain, Words: w}
			if anchor == End {
				t.At.X = c.X - 2.8*pl.u
			}
			pl.within(&t)
			if pl.freeLine(&t) {
				return t, true
			}
		}
	}
	return Text{}, false
}

// within moves a mark's words sideways so that they stay between the long sides: outside stand
// the letters.
func (pl *plotter) within(t *Text) {
	lo, hi := pl.corners()
	b, pad := roomOf(*t), 0.2*t.Size
	t.At.X += max(0, lo.X+pad-b.x0)
	t.At.X -= max(0, roomOf(*t).x1-(hi.X-pad))
}

// freeLine keeps room for a mark's words, a line higher or lower where they would be written over those
// of another mark, over a mark's sign or over the number of a movement; false where there is none. They stay inside the boards.
func (pl *plotter) freeLine(t *Text) bool {
	lo, hi := pl.corners()
	y := t.At.Y
	for _, line := range []float64{0, 1, -1} {
		t.At.Y = y + 1.2*line*t.Size
		b := roomOf(*t)
		if b.y0 < lo.Y || b.y1 > hi.Y || slices.ContainsFunc(pl.said, b.meets) || slices.ContainsFunc(pl.signs, b.near(signRadius*pl.u)) || slices.ContainsFunc(pl.tags, b.near(tagRadius*pl.u)) {
			continue
		}
		pl.said = append(pl.said, b)
		return true
	}
	return false
}

// roomOf is the room kept for a mark's words: a browser without our typeface sets them in one that
// is up to a third wider.
func roomOf(t Text) area {
	b := boxOf(t)
	more := 0.33 * (b.x1 - b.x0)
	switch t.Anchor {
	case Middle:
		b.x0, b.x1 = b.x0-more/2, b.x1+more/2
	case End:
		b.x0 -= more
	default:
		b.x1 += more
	}
	return area{b.x0, b.y0 - 0.1*t.Size, b.x1, b.y1 + 0.25*t.Size}
}

// area is a box on paper.
type area struct{ x0, y0, x1, y1 float64 }

func (a area) meets(b area) bool { return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 }

// near reports whether a disc of radius r touches the box.
func (a area) near(r float64) func(Pt) bool {
	return func(p Pt) bool {
		return math.Hypot(p.X-min(max(p.X, a.x0), a.x1), p.Y-min(max(p.Y, a.y0), a.y1)) < r
	}
}

// boxOf is where the capitals and figures of a text stand.
func boxOf(t Text) area {
	w, x := TextWidth(t.Words, t.Size, t.Bold), t.At.X
	switch t.Anchor {
	case Middle:
		x -= w / 2
	case End:
		x -= w
	}
	return area{x, t.At.Y - 0.72*t.Size, x + w, t.At.Y}
}

// signRadius is how far a mark's sign reaches from its middle, in units of the drawing.
const signRadius = 2.1

// markSign is the sign of a kind of mark with its middle at c.
func markSign(kind string, c Pt, u float64) Item {
	shape := []Pt{{c.X - 1.5*u, c.Y - 1.5*u}, {c.X + 1.5*u, c.Y - 1.5*u}, {c.X + 1.5*u, c.Y + 1.5*u}, {c.X - 1.5*u, c.Y + 1.5*u}}
	switch kind {
	case "good":
		shape = disc(c, 1.7*u)
	case "fault":
		shape = []Pt{{c.X, c.Y - 2.1*u}, {c.X + 2*u, c.Y + 1.4*u}, {c.X - 2*u, c.Y + 1.4*u}}
	}
	return Path{Style: Style{Class: "tag", Stroke: InkMain, Fill: Paper, Width: 0.5 * u}, Lines: [][]Pt{shape}, Closed: true}
}

// haloText puts words on a patch of paper so that lines do not run through them.
func (f frame) haloText(t Text) []Item {
	w, x := TextWidth(t.Words, t.Size, t.Bold)*1.05, t.At.X
	switch t.Anchor {
	case Middle:
		x -= w / 2
	case End:
		x -= w
	}
	p := 0.2 * t.Size
	y0, y1 := t.At.Y-0.85*t.Size, t.At.Y+0.3*t.Size
	box := []Pt{{x - p, y0}, {x + w + p, y0}, {x + w + p, y1}, {x - p, y1}}
	return []Item{Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box}, Closed: true}, t}
}
