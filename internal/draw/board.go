package draw

import (
	"math"

	"ringcraft/internal/arena"
)

// frame puts the arena into a scene: A at the bottom, C at the top, the B side to the right.
type frame struct {
	board  *arena.Board
	k      float64 // mm per metre
	ox, oy float64 // upper left corner of the boards, mm
	u      float64 // size of signs and words, 1 at 90 mm of width
}

// margin around the boards for the letters, in units of u mm.
const margin = 7.5

func newFrame(b *arena.Board, x, y, width float64) frame {
	u := signSize(width)
	return frame{board: b, k: (width - 2*margin*u) / float64(b.Width), ox: x + margin*u, oy: y + margin*u, u: u}
}

func (f frame) height() float64 { return float64(f.board.Length)*f.k + 2*margin*f.u }

func (f frame) pt(p arena.Point) Pt {
	return Pt{f.ox + (p.X+float64(f.board.Width)/2)*f.k, f.oy + (float64(f.board.Length)-p.Y)*f.k}
}

// dir is the direction of an arena angle on paper (y down).
func (f frame) dir(a arena.Angle) Pt {
	p := a.Unit()
	return Pt{p.X, -p.Y}
}

// data lets a page turn arena metres into the picture's millimetres:
// x = ox + (x_m + w/2) k, y = oy + (l - y_m) k.
func (f frame) data() [][2]string {
	return [][2]string{{"k", num(f.k * 100)}, {"ox", num(f.ox)}, {"oy", num(f.oy)},
		{"w", num(float64(f.board.Width))}, {"l", num(float64(f.board.Length))}}
}

// drawBoard returns the boards, the centre line and the letters.
func (f frame) drawBoard() *Group {
	g := &Group{Class: "arena", Title: "Arena " + num(float64(f.board.Width)) + " by " + num(float64(f.board.Length)) + " metres"}
	w, l := float64(f.board.Width)/2, float64(f.board.Length)
	corner := func(x, y float64) Pt { return f.pt(arena.Point{X: x, Y: y}) }
	g.Add(Path{Style: Style{Class: "hair", Stroke: InkFaint, Width: 0.2 * f.u, Dash: []float64{0.4 * f.u, 1.6 * f.u}}, Lines: [][]Pt{{corner(0, 0), corner(0, l)}}})
	gap := 1.2 // the entrance at A, drawn open
	g.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.5 * f.u},
		Lines: [][]Pt{{corner(-gap, 0), corner(-w, 0), corner(-w, l), corner(w, l), corner(w, 0), corner(gap, 0)}}})
	for _, name := range f.board.Letters() {
		g.Add(f.letter(name)...)
	}
	return g
}

func (f frame) letter(name string) []Item {
	p, _ := f.board.Letter(name)
	side, _ := f.board.SideOf(name)
	at, size := f.pt(p), 4.4*f.u
	t := Text{Size: size, Anchor: Middle, Bold: true, Class: "ink", Ink: InkMain, Words: name}
	down := size * 0.36 // from the middle of a capital to its base line
	tick := func(dx float64) Item {
		return Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.35 * f.u}, Lines: [][]Pt{{at, {at.X + dx, at.Y}}}}
	}
	switch side {
	case arena.OnWest:
		t.At = Pt{at.X - 4*f.u, at.Y + down}
		return []Item{tick(-1.4 * f.u), t}
	case arena.OnEast:
		t.At = Pt{at.X + 4*f.u, at.Y + down}
		return []Item{tick(1.4 * f.u), t}
	case arena.OnSouth:
		t.At = Pt{at.X, at.Y + 5*f.u}
		return []Item{t}
	case arena.OnNorth:
		t.At = Pt{at.X, at.Y - 1.9*f.u}
		return []Item{t}
	}
	t.Size, t.Bold, t.Class, t.Ink = 2.9*f.u, false, "soft", InkSoft
	t.At = Pt{at.X + 2.2*f.u, at.Y + t.Size*0.36}
	return []Item{
		Path{Style: Style{Class: "soft", Fill: InkSoft}, Lines: [][]Pt{disc(at, 0.4*f.u)}, Closed: true}, t}
}

// arrowhead is a solid triangle whose middle is at p, pointing along d (unit vector).
func arrowhead(p, d Pt, length, width float64) []Pt {
	n := Pt{-d.Y, d.X}
	tip := Pt{p.X + d.X*length/2, p.Y + d.Y*length/2}
	back := Pt{p.X - d.X*length/2, p.Y - d.Y*length/2}
	return []Pt{tip, {back.X + n.X*width/2, back.Y + n.Y*width/2}, {back.X - n.X*width/2, back.Y - n.Y*width/2}}
}

func unit(a, b Pt) Pt {
	d := dist(a, b)
	if d == 0 || math.IsNaN(d) {
		return Pt{0, -1}
	}
	return Pt{(b.X - a.X) / d, (b.Y - a.Y) / d}
}

// signSize is the size of signs and words in a picture width mm wide, 1 at 90 mm. Small
// pictures keep signs that can be read.
func signSize(width float64) float64 { return min(max(width/90, 0.6), 1.5) }
