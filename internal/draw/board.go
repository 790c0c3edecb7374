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
	lying  bool    // A at the left and C at the right
}

// margin around the boards for the letters, in units of u mm.
const margin = 7.5

func newFrame(b *arena.Board, x, y, width float64) frame {
	u := signSize(width)
	return frame{board: b, k: (width - 2*margin*u) / float64(b.Width), ox: x + margin*u, oy: y + margin*u, u: u}
}

// newLyingFrame lays the arena on its side, A at the left, as somebody at B sees it.
func newLyingFrame(b *arena.Board, x, y, width float64) frame {
	u := signSize(width * 0.72)
	return frame{board: b, k: (width - 2*margin*u) / float64(b.Length), ox: x + margin*u, oy: y + margin*u, u: u, lying: true}
}

func (f frame) height() float64 {
	if f.lying {
		return float64(f.board.Width)*f.k + 2*margin*f.u
	}
	return float64(f.board.Length)*f.k + 2*margin*f.u
}

func (f frame) pt(p arena.Point) Pt {
	x, y := p.X+float64(f.board.Width)/2, float64(f.board.Length)-p.Y
	if f.lying {
		x, y = p.Y, x
	}
	return Pt{f.ox + x*f.k, f.oy + y*f.k}
}

// corners are the upper left and the lower right corner of the boards on paper.
func (f frame) corners() (lo, hi Pt) {
	w, l := float64(f.board.Width)*f.k, float64(f.board.Length)*f.k
	if f.lying {
		w, l = l, w
	}
	return Pt{f.ox, f.oy}, Pt{f.ox + w, f.oy + l}
}

// dir is the direction of an arena angle on paper (y down).
func (f frame) dir(a arena.Angle) Pt {
	p := a.Unit()
	if f.lying {
		return Pt{p.Y, p.X}
	}
	return Pt{p.X, -p.Y}
}

// data lets a page turn arena metres into the picture's millimetres:
// x = ox + (x_m + w/2) k, y = oy + (l - y_m) k. A lying arena, which is for paper, has none.
func (f frame) data() [][2]string {
	if f.lying {
		return nil
	}
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
	if out, onBoards := f.outward(side); onBoards {
		t.At = Pt{at.X + out.X*4*f.u, at.Y + out.Y*3.45*f.u + size*0.36}
		if side == arena.OnSouth || side == arena.OnNorth {
			return []Item{t}
		}
		tick := [][]Pt{{at, {at.X + out.X*1.4*f.u, at.Y + out.Y*1.4*f.u}}}
		return []Item{Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.35 * f.u}, Lines: tick}, t}
	}
	t.Size, t.Bold, t.Class, t.Ink = 2.9*f.u, false, "soft", InkSoft
	t.At = Pt{at.X + 2.2*f.u, at.Y + t.Size*0.36}
	return []Item{
		Path{Style: Style{Class: "soft", Fill: InkSoft}, Lines: [][]Pt{disc(at, 0.4*f.u)}, Closed: true}, t}
}

// outward is the direction on paper away from a side of the boards.
func (f frame) outward(s arena.Side) (d Pt, onBoards bool) {
	switch s {
	case arena.OnWest:
		d = f.dir(arena.Degrees(180))
	case arena.OnEast:
		d = f.dir(0)
	case arena.OnSouth:
		d = f.dir(arena.Degrees(-90))
	case arena.OnNorth:
		d = f.dir(arena.Degrees(90))
	default:
		return Pt{}, false
	}
	return Pt{math.Round(d.X), math.Round(d.Y)}, true
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
