package draw

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"strings"
)

// SVG writes the scene as one SVG element that needs nothing from outside: plain attributes
// for every style, so that it prints anywhere, and class names that a page may restyle.
func (s *Scene) SVG(w io.Writer) error {
	b := &svgWriter{w: bufio.NewWriter(w)}
	b.put(`<svg xmlns="http://www.w3.org/2000/svg" class="rc-drawing" role="img" width="`, num(s.W), `mm" height="`, num(s.H),
		`mm" viewBox="0 0 `, num(s.W), " ", num(s.H), `" font-family="system-ui, 'Go', 'DejaVu Sans', sans-serif"`)
	b.data(s.Data)
	b.put(">\n")
	b.titles(s.Title, s.Desc)
	for _, it := range s.Items {
		b.item(it)
	}
	b.put("</svg>\n")
	if b.err != nil {
		return b.err
	}
	return b.w.Flush()
}

type svgWriter struct {
	w   *bufio.Writer
	err error
}

func (b *svgWriter) put(parts ...string) {
	for _, p := range parts {
		if b.err == nil {
			_, b.err = b.w.WriteString(p)
		}
	}
}

func (b *svgWriter) data(kv [][2]string) {
	for _, d := range kv {
		b.put(" data-", d[0], `="`, escape(d[1]), `"`)
	}
}

func (b *svgWriter) titles(title, desc string) {
	if title != "" {
		b.put("<title>", escape(title), "</title>\n")
	}
	if desc != "" {
		b.put("<desc>", escape(desc), "</desc>\n")
	}
}

func (b *svgWriter) item(it Item) {
	switch it := it.(type) {
	case Path:
		b.path(it)
	case Text:
		b.text(it)
	case *Group:
		b.put("<g")
		b.class(it.Class)
		b.data(it.Data)
		b.put(">\n")
		b.titles(it.Title, it.Desc)
		for _, c := range it.Items {
			b.item(c)
		}
		b.put("</g>\n")
	}
}

func (b *svgWriter) class(c string) {
	if c != "" {
		b.put(` class="`, escape(c), `"`)
	}
}

func (b *svgWriter) path(p Path) {
	b.put("<path")
	b.class(p.Class)
	b.put(` fill="`, inkOr(p.Fill), `"`)
	if p.Stroke != "" && p.Width > 0 {
		b.put(` stroke="`, string(p.Stroke), `" stroke-width="`, num(p.Width), `" stroke-linejoin="round"`)
		if p.Round {
			b.put(` stroke-linecap="round"`)
		}
		if len(p.Dash) > 0 {
			d := make([]string, len(p.Dash))
			for i, v := range p.Dash {
				d[i] = num(v)
			}
			b.put(` stroke-dasharray="`, strings.Join(d, " "), `"`)
		}
	}
	b.put(` d="`)
	for _, l := range p.Lines {
		b.line(l, p.Closed)
	}
	b.put("\"/>\n")
}

// line writes a polyline with relative steps of whole hundredths, carrying the rounding
// along so that it never adds up.
func (b *svgWriter) line(l []Pt, closed bool) {
	if len(l) == 0 {
		return
	}
	x, y := centi(l[0].X), centi(l[0].Y)
	b.put("M", cents(x), " ", cents(y))
	for i, p := range l[1:] {
		nx, ny := centi(p.X), centi(p.Y)
		if nx == x && ny == y && len(l) > 2 {
			continue
		}
		if i == 0 {
			b.put("l")
		} else if nx-x >= 0 {
			b.put(" ")
		}
		b.put(cents(nx - x))
		if ny-y >= 0 {
			b.put(" ")
		}
		b.put(cents(ny - y))
		x, y = nx, ny
	}
	if closed {
		b.put("z")
	}
}

func (b *svgWriter) text(t Text) {
	b.put("<text")
	b.class(t.Class)
	b.put(` x="`, num(t.At.X), `" y="`, num(t.At.Y), `" font-size="`, num(t.Size), `" fill="`, inkOr(t.Ink), `"`)
	if t.Anchor != "" && t.Anchor != Start {
		b.put(` text-anchor="`, string(t.Anchor), `"`)
	}
	if t.Bold {
		b.put(` font-weight="bold"`)
	}
	b.put(">", escape(t.Words), "</text>\n")
}

func inkOr(k Ink) string {
	if k == "" {
		return "none"
	}
	return string(k)
}

func centi(v float64) int { return int(math.Round(v * 100)) }

func cents(c int) string { return num(float64(c) / 100) }

// num writes a number with at most two decimals and no trailing zeros.
func num(v float64) string {
	v = math.Round(v*100) / 100
	if v == 0 {
		v = 0 // no minus zero
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// escape makes text safe inside SVG and drops what XML cannot hold.
func escape(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r == '\t' || r == '\n' || r == '\r':
			b.WriteByte(' ')
		case r < 0x20 || r == 0xFFFE || r == 0xFFFF:
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
