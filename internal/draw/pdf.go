package draw

import (
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

const fontFamily = "go"

// NewPDF starts a document in millimetres with the embedded typefaces and fixed dates, so
// that the same content gives the same bytes. w and h are the page size in portrait.
func NewPDF(w, h float64, title string) *fpdf.Fpdf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	f.SetCatalogSort(true)
	epoch := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	f.SetCreationDate(epoch)
	f.SetModificationDate(epoch)
	f.SetTitle(title, true)
	f.SetCreator("Ringcraft", true)
	f.SetProducer("Ringcraft", true)
	f.SetLang("en")
	f.AddUTF8FontFromBytes(fontFamily, "", FontRegular)
	f.AddUTF8FontFromBytes(fontFamily, "B", FontBold)
	f.SetFont(fontFamily, "", 10)
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	return f
}

// PDF writes the scene as a document of one page of the scene's size.
func (s *Scene) PDF(w io.Writer) error {
	f := NewPDF(s.W, s.H, s.Title)
	f.AddPage()
	s.Onto(f, 0, 0, 1)
	return f.Output(w)
}

// Onto draws the scene on the current page of f, scaled by k, upper left corner at (x, y).
func (s *Scene) Onto(f *fpdf.Fpdf, x, y, k float64) {
	t := func(p Pt) Pt { return Pt{x + k*p.X, y + k*p.Y} }
	for _, it := range s.Items {
		pdfItem(f, mapItem(it, t, k))
	}
	f.SetDashPattern(nil, 0)
	f.SetDrawColor(0, 0, 0)
	f.SetTextColor(0, 0, 0)
}

func pdfItem(f *fpdf.Fpdf, it Item) {
	switch it := it.(type) {
	case Path:
		pdfPath(f, it)
	case Text:
		pdfText(f, it)
	case *Group:
		for _, c := range it.Items {
			pdfItem(f, c)
		}
	}
}

func pdfPath(f *fpdf.Fpdf, p Path) {
	how := ""
	if r, g, b, ok := p.Fill.rgb(); ok {
		f.SetFillColor(r, g, b)
		how = "F"
	}
	if r, g, b, ok := p.Stroke.rgb(); ok && p.Width > 0 {
		f.SetDrawColor(r, g, b)
		f.SetLineWidth(p.Width)
		f.SetDashPattern(p.Dash, 0)
		f.SetLineJoinStyle("round")
		f.SetLineCapStyle(capName(p.Round))
		how += "D"
	}
	if how == "" {
		return
	}
	if how == "FD" {
		how = "DF"
	}
	drawn := false
	for _, l := range p.Lines {
		if len(l) < 2 {
			continue
		}
		drawn = true
		f.MoveTo(l[0].X, l[0].Y)
		for _, q := range l[1:] {
			f.LineTo(q.X, q.Y)
		}
		if p.Closed {
			f.ClosePath()
		}
	}
	if drawn {
		f.DrawPath(how)
	}
}

func capName(round bool) string {
	if round {
		return "round"
	}
	return "butt"
}

func pdfText(f *fpdf.Fpdf, t Text) {
	r, g, b, ok := t.Ink.rgb()
	if !ok || t.Words == "" {
		return
	}
	style := ""
	if t.Bold {
		style = "B"
	}
	f.SetFont(fontFamily, style, 10)
	f.SetFontUnitSize(t.Size)
	f.SetTextColor(r, g, b)
	x := t.At.X
	switch t.Anchor {
	case Middle:
		x -= f.GetStringWidth(t.Words) / 2
	case End:
		x -= f.GetStringWidth(t.Words)
	}
	f.Text(x, t.At.Y, t.Words)
}
