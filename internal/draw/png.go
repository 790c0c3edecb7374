package draw

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// maxPixels bounds either side of a PNG.
const maxPixels = 8000

// PNG writes the scene as a bitmap of the given width in pixels on white paper. Lines are
// stroked and dashed here: the rasteriser only fills.
func (s *Scene) PNG(w io.Writer, widthPx int) error {
	widthPx = min(max(widthPx, 16), maxPixels)
	k := float64(widthPx) / s.W
	h := min(max(int(math.Ceil(s.H*k)), 16), maxPixels)
	c := &canvas{img: image.NewRGBA(image.Rect(0, 0, widthPx, h)), k: k}
	draw.Draw(c.img, c.img.Bounds(), image.White, image.Point{}, draw.Src)
	for _, it := range s.Items {
		if err := c.item(it); err != nil {
			return err
		}
	}
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	return enc.Encode(w, c.img)
}

type canvas struct {
	img *image.RGBA
	k   float64 // pixels per mm

	raster vector.Rasterizer
}

func (c *canvas) item(it Item) error {
	switch it := it.(type) {
	case Path:
		c.path(it)
	case Text:
		return c.text(it)
	case *Group:
		for _, i := range it.Items {
			if err := c.item(i); err != nil {
				return err
			}
		}
	}
	return nil
}

func (c *canvas) path(p Path) {
	if col, ok := p.Fill.color(); ok {
		c.fill(p.Lines, col)
	}
	if col, ok := p.Stroke.color(); ok && p.Width > 0 {
		for _, l := range p.Lines {
			if p.Closed && len(l) > 2 {
				l = append(append([]Pt{}, l...), l[0])
			}
			for _, d := range dashes(l, p.Dash) {
				c.stroke(d, p.Width, p.Round, col)
			}
		}
	}
}

// strokeChunk is how many points of a line are painted at once. The rasteriser's work grows
// with the box around what it paints, so long lines are painted in parts that share a whole
// segment, which leaves no seam.
const strokeChunk = 12

func (c *canvas) stroke(l []Pt, width float64, round bool, col color.Color) {
	if len(l) <= strokeChunk {
		c.fill(strokePieces(l, width, round), col)
		return
	}
	for i := 0; i < len(l)-1; i += strokeChunk {
		part := l[max(i-1, 0):min(i+strokeChunk+1, len(l))]
		c.fill(strokePieces(part, width, round), col)
	}
}

// fill paints closed outlines; where they overlap and turn the same way they unite.
func (c *canvas) fill(outlines [][]Pt, col color.Color) {
	box, any := c.bounds(outlines)
	if !any {
		return
	}
	r := &c.raster
	r.Reset(box.Dx(), box.Dy())
	ox, oy := float32(box.Min.X), float32(box.Min.Y)
	at := func(p Pt) (float32, float32) { return float32(p.X*c.k) - ox, float32(p.Y*c.k) - oy }
	for _, l := range outlines {
		if len(l) < 3 {
			continue
		}
		r.MoveTo(at(l[0]))
		for _, p := range l[1:] {
			r.LineTo(at(p))
		}
		r.ClosePath()
	}
	r.Draw(c.img, box, image.NewUniform(col), image.Point{})
}

func (c *canvas) bounds(outlines [][]Pt) (image.Rectangle, bool) {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, l := range outlines {
		for _, p := range l {
			x0, x1 = math.Min(x0, p.X*c.k), math.Max(x1, p.X*c.k)
			y0, y1 = math.Min(y0, p.Y*c.k), math.Max(y1, p.Y*c.k)
		}
	}
	if !(x1 >= x0) || math.IsInf(x1-x0, 0) || math.IsInf(y1-y0, 0) {
		return image.Rectangle{}, false
	}
	box := image.Rect(int(math.Floor(x0))-1, int(math.Floor(y0))-1, int(math.Ceil(x1))+1, int(math.Ceil(y1))+1)
	box = box.Intersect(c.img.Bounds())
	return box, !box.Empty()
}

func (k Ink) color() (color.Color, bool) {
	r, g, b, ok := k.rgb()
	return color.RGBA{uint8(r), uint8(g), uint8(b), 255}, ok
}

func (c *canvas) text(t Text) error {
	col, ok := t.Ink.color()
	if !ok || t.Words == "" {
		return nil
	}
	f, err := opentype.NewFace(face(t.Bold).font, &opentype.FaceOptions{Size: t.Size * c.k, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		return err
	}
	defer f.Close()
	d := font.Drawer{Dst: c.img, Src: image.NewUniform(col), Face: f}
	x := t.At.X * c.k
	adv := float64(d.MeasureString(t.Words)) / 64
	switch t.Anchor {
	case Middle:
		x -= adv / 2
	case End:
		x -= adv
	}
	d.Dot = fixed.Point26_6{X: fixed.Int26_6(x * 64), Y: fixed.Int26_6(t.At.Y * c.k * 64)}
	d.DrawString(t.Words)
	return nil
}
