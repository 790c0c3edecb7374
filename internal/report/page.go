package report

import (
	"fmt"
	"io"

	"codeberg.org/go-pdf/fpdf"

	"ringcraft/internal/draw"
)

// A4 in millimetres, and the margin that every printer keeps clear.
const (
	pageW, pageH = 210.0, 297.0
	edge         = 14.0
	footY        = pageH - 8
)

// pages writes a document of A4 pages: words, tables and scenes at a running height.
type pages struct {
	f        *fpdf.Fpdf
	y        float64 // top of what comes next, mm
	head     string  // repeated at the top of every page but the first
	foot     string  // at the foot of every page, before the page number
	y0       float64 // where content begins on a following page
	noBreaks bool
	ruled    bool // tables have lines between their columns too
	missing  int  // characters written so far that the typeface lacks
}

func newPages(title, foot string) *pages {
	p := &pages{f: draw.NewPDF(pageW, pageH, title), head: title, foot: foot, y0: edge + 6}
	p.f.AddPage()
	p.y = edge
	return p
}

// width of the text.
func (p *pages) width() float64 { return pageW - 2*edge }

// bottom is the lowest place for content.
func (p *pages) bottom() float64 { return footY - 5 }

func (p *pages) addPage() {
	p.f.AddPage()
	p.line(edge, edge, 3, false, p.head)
	p.y = p.y0
}

// need begins a new page unless h mm are left on this one.
func (p *pages) need(h float64) {
	if p.y+h > p.bottom() && p.y > p.y0 && !p.noBreaks {
		p.addPage()
	}
}

// line writes one line of text with its upper edge at y.
func (p *pages) line(x, y, size float64, bold bool, words string) {
	p.put(x, y, size, bold, draw.InkMain, draw.Start, words)
}

func (p *pages) put(x, y, size float64, bold bool, ink draw.Ink, anchor draw.Anchor, words string) {
	p.missing += len(draw.Missing(words))
	s := draw.Scene{}
	s.Add(draw.Text{At: draw.Pt{X: x, Y: y + 0.82*size}, Size: size, Bold: bold, Ink: ink, Anchor: anchor, Words: words})
	s.Onto(p.f, 0, 0, 1)
}

// title is the heading of the document with a line of facts below it.
func (p *pages) title(words, facts string) {
	for _, l := range draw.Wrap(words, 7.5, p.width(), true) {
		p.line(edge, p.y, 7.5, true, l)
		p.y += 9
	}
	if facts != "" {
		p.para(edge, p.width(), 3.6, false, facts)
		p.y += 1.5
	}
}

// heading starts a section and keeps at least room mm of it on the same page.
func (p *pages) heading(words string, room float64) {
	p.need(8 + room)
	p.y += 3
	p.line(edge, p.y, 5, true, words)
	p.y += 7
}

// para writes wrapped text at x and moves down; it breaks pages between lines.
func (p *pages) para(x, w, size float64, bold bool, words string) {
	for _, l := range draw.Wrap(words, size, w, bold) {
		p.need(size * 1.35)
		p.line(x, p.y, size, bold, l)
		p.y += size * 1.35
	}
}

// bullet writes a wrapped item with a sign before it.
func (p *pages) bullet(sign string, size float64, words string) {
	p.need(size * 1.35)
	p.line(edge, p.y, size, true, sign)
	p.para(edge+6, p.width()-6, size, false, words)
	p.y += 1
}

// careful writes what the reader must mind, with a bar beside it as on the pages.
func (p *pages) careful(size float64, words string) {
	lines := draw.Wrap(words, size, p.width()-6, false)
	h := float64(len(lines)) * size * 1.35
	p.need(h)
	p.strokes(1.2, []draw.Pt{{X: edge + 1, Y: p.y}, {X: edge + 1, Y: p.y + h - 0.3*size}})
	p.para(edge+6, p.width()-6, size, false, words)
	p.y += 1
}

// rule draws a line across the text.
func (p *pages) rule(weight float64) {
	p.strokes(weight, []draw.Pt{{X: edge, Y: p.y}, {X: pageW - edge, Y: p.y}})
}

func (p *pages) strokes(weight float64, lines ...[]draw.Pt) {
	s := draw.Scene{}
	s.Add(draw.Path{Style: draw.Style{Stroke: draw.InkMain, Width: weight}, Lines: lines})
	s.Onto(p.f, 0, 0, 1)
}

// boxed draws a frame.
func (p *pages) boxed(x, y, w, h, weight float64) {
	p.strokes(weight, []draw.Pt{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}, {X: x, Y: y}})
}

// lettersMissing is what a paper says of characters that it shows as boxes.
const lettersMissing = "Boxes on this paper stand for letters outside Latin, Greek and Cyrillic; the pages in the browser show them."

// finish writes page numbers and the document.
func (p *pages) finish(w io.Writer) error {
	n, boxes := p.f.PageCount(), p.missing > 0
	for i := 1; i <= n; i++ {
		p.f.SetPage(i)
		if boxes {
			p.put(edge, footY-4.2, 2.6, false, draw.InkMain, draw.Start, lettersMissing)
		}
		p.put(edge, footY, 2.8, false, draw.InkSoft, draw.Start, p.foot)
		p.put(pageW-edge, footY, 2.8, false, draw.InkSoft, draw.End, fmt.Sprintf("page %d of %d", i, n))
	}
	return p.f.Output(w)
}

// column is one column of a table.
type column struct {
	head string
	w    float64
	bold bool
}

// table writes rows of wrapped cells with a rule above each; minH is the least height of a
// row, so that there is room to write by hand. The head is repeated on every page.
func (p *pages) table(cols []column, rows [][]string, size, minH float64) {
	p.need(8 + minH)
	p.tableHead(cols, size)
	for _, r := range rows {
		h := minH
		cells := make([][]string, len(cols))
		for i, c := range cols {
			if i < len(r) {
				cells[i] = draw.Wrap(r[i], size, c.w-2.5, c.bold)
			}
			h = max(h, float64(len(cells[i]))*size*1.3+2)
		}
		if p.y+h > p.bottom() && !p.noBreaks {
			p.addPage()
			p.tableHead(cols, size)
		}
		p.strokes(0.2, []draw.Pt{{X: edge, Y: p.y}, {X: pageW - edge, Y: p.y}})
		x := edge
		for i, c := range cols {
			for j, l := range cells[i] {
				p.line(x+1, p.y+1.2+float64(j)*size*1.3, size, c.bold, l)
			}
			if p.ruled && i > 0 {
				p.strokes(0.2, []draw.Pt{{X: x - 0.5, Y: p.y}, {X: x - 0.5, Y: p.y + h}})
			}
			x += c.w
		}
		p.y += h
	}
	p.rule(0.2)
}

func (p *pages) tableHead(cols []column, size float64) {
	x := edge
	for _, c := range cols {
		p.put(x+1, p.y+1, size*0.9, true, draw.InkSoft, draw.Start, c.head)
		x += c.w
	}
	p.y += size*1.3 + 1.5
}
