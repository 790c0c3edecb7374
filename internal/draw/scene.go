// Package draw turns plans and rides into pictures: the arena, the line of the test, strips
// over time and small charts, all as one scene that is written as SVG, PDF or PNG.
//
// A scene is measured in millimetres of paper, x to the right and y down. Nothing in it
// depends on the output, so the three outputs show the same thing, and the same scene always
// gives the same bytes. What the styles mean is said once, in docs/LOOK.md.
package draw

import "math"

// Pt is a point of a scene in millimetres.
type Pt struct{ X, Y float64 }

// Ink is a colour as #rrggbb; the empty ink paints nothing.
type Ink string

// Style says how a path is painted. Class is the name a web page's style sheet may restyle.
type Style struct {
	Class  string
	Stroke Ink
	Width  float64   // mm
	Dash   []float64 // mm on, off, on, off ...; empty for a solid line
	Round  bool      // round line ends; flat ones otherwise
	Fill   Ink
}

// Item is a part of a scene: Path, Text or *Group.
type Item interface{ isItem() }

// Path is one or more polylines painted together.
type Path struct {
	Style
	Lines  [][]Pt
	Closed bool
}

// Anchor says which end of a text stands at its place.
type Anchor string

// The anchors, with the names SVG has for them.
const (
	Start  Anchor = "start"
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Text is one line of words; At is on the base line. Size is the font size in millimetres.
type Text struct {
	At     Pt
	Size   float64
	Anchor Anchor
	Bold   bool
	Class  string
	Ink    Ink
	Words  string
}

// Group holds items that belong together. Title and Desc are read out by screen readers;
// Data become data- attributes in SVG, in the order given.
type Group struct {
	Class, Title, Desc string
	Data               [][2]string
	Items              []Item
}

func (Path) isItem()   {}
func (Text) isItem()   {}
func (*Group) isItem() {}

// Add puts items at the end of the group.
func (g *Group) Add(items ...Item) { g.Items = append(g.Items, items...) }

// Scene is one picture. Data become data- attributes of the SVG root.
type Scene struct {
	W, H        float64 // mm
	Title, Desc string
	Data        [][2]string
	Group
}

// Embed puts a copy of s into g, scaled by k with its upper left corner at (x, y). Line
// widths and text scale too.
func (g *Group) Embed(s *Scene, x, y, k float64) {
	in := &Group{Class: "embedded", Title: s.Title, Desc: s.Desc}
	t := func(p Pt) Pt { return Pt{x + k*p.X, y + k*p.Y} }
	for _, it := range s.Items {
		in.Add(mapItem(it, t, k))
	}
	g.Add(in)
}

func mapItem(it Item, t func(Pt) Pt, k float64) Item {
	switch it := it.(type) {
	case Path:
		lines := make([][]Pt, len(it.Lines))
		for i, l := range it.Lines {
			lines[i] = make([]Pt, len(l))
			for j, p := range l {
				lines[i][j] = t(p)
			}
		}
		it.Lines = lines
		it.Width *= k
		dash := make([]float64, len(it.Dash))
		for i, d := range it.Dash {
			dash[i] = d * k
		}
		it.Dash = dash
		return it
	case Text:
		it.At, it.Size = t(it.At), it.Size*k
		return it
	case *Group:
		out := &Group{Class: it.Class, Title: it.Title, Desc: it.Desc, Data: it.Data}
		for _, c := range it.Items {
			out.Add(mapItem(c, t, k))
		}
		return out
	}
	return it
}

// Mono returns the scene in black, white and greys: colour is always the second sign here,
// so nothing is lost.
func (s *Scene) Mono() *Scene {
	out := *s
	out.Items = nil
	for _, it := range s.Items {
		out.Add(monoItem(it))
	}
	return &out
}

func monoItem(it Item) Item {
	switch it := it.(type) {
	case Path:
		it.Stroke, it.Fill = it.Stroke.grey(), it.Fill.grey()
		return it
	case Text:
		it.Ink = it.Ink.grey()
		return it
	case *Group:
		out := &Group{Class: it.Class, Title: it.Title, Desc: it.Desc, Data: it.Data}
		for _, c := range it.Items {
			out.Add(monoItem(c))
		}
		return out
	}
	return it
}

func (k Ink) rgb() (r, g, b int, ok bool) {
	if len(k) != 7 || k[0] != '#' {
		return 0, 0, 0, false
	}
	v := [3]int{}
	for i := range v {
		v[i] = hexDigit(k[1+2*i])<<4 | hexDigit(k[2+2*i])
	}
	return v[0], v[1], v[2], true
}

func hexDigit(c byte) int {
	switch {
	case c >= '0' && c <= '9':
		return int(c - '0')
	case c >= 'a' && c <= 'f':
		return int(c-'a') + 10
	case c >= 'A' && c <= 'F':
		return int(c-'A') + 10
	}
	return 0
}

// grey keeps the lightness of light inks and takes every dark one (below half of full
// luminance) to black, so that a laser printer needs no screening for lines.
func (k Ink) grey() Ink {
	y, ok := k.Luminance()
	if !ok {
		return k
	}
	if y < 0.5 {
		return "#000000"
	}
	v := int(math.Round(255 * srgb(y)))
	const hex = "0123456789abcdef"
	d := []byte{hex[v>>4], hex[v&15]}
	return Ink("#" + string(d) + string(d) + string(d))
}

// Luminance is the relative luminance of WCAG 2.1, 0 for black to 1 for white; ok is false
// for an ink that paints nothing.
func (k Ink) Luminance() (y float64, ok bool) {
	r, g, b, ok := k.rgb()
	if !ok {
		return 0, false
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b), true
}

func linear(v int) float64 {
	c := float64(v) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

func srgb(y float64) float64 {
	if y <= 0.0031308 {
		return 12.92 * y
	}
	return 1.055*math.Pow(y, 1/2.4) - 0.055
}

// Contrast is the contrast ratio of WCAG 2.1 between two inks, 1 to 21.
func Contrast(a, b Ink) float64 {
	x, _ := a.Luminance()
	y, _ := b.Luminance()
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}
