package web

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
)

// picture writes a scene into the page. draw escapes every word it writes.
func picture(s *draw.Scene) templ.Component {
	var b bytes.Buffer
	if err := s.SVG(&b); err != nil {
		return templ.NopComponent // a buffer does not fail
	}
	return templ.Raw(b.String())
}

// lineOf draws the whole line of a plan.
func lineOf(p *logbook.Plan, legend bool) templ.Component {
	return picture(draw.Plan(p, draw.Options{Width: widthOf(p), Legend: legend}))
}

// smallLineOf draws the line as a sign to recognise a sheet by.
func smallLineOf(p *logbook.Plan) templ.Component {
	return picture(draw.Signature(p, 46))
}

// stageOf draws one stage of a test, a run of movements that does not ride over itself.
func stageOf(p *logbook.Plan, st draw.Stage) templ.Component {
	return picture(draw.Plan(p, draw.Options{Stage: &st, Width: 44}))
}

// lineBook writes the small line of a sheet once on a page; later ones point at the first, so that
// forty pairs on one sheet weigh little more than one.
type lineBook map[*logbook.Plan]string

func (l lineBook) line(p *logbook.Plan) templ.Component {
	if known, ok := l[p]; ok {
		return templ.Raw(known)
	}
	s := draw.Signature(p, 46)
	b, err := svgOf(s)
	if err != nil {
		return templ.NopComponent // a buffer does not fail
	}
	id := fmt.Sprintf("line%d", len(l)+1)
	l[p] = fmt.Sprintf(`<svg class="rc-drawing" viewBox="0 0 %g %g" role="img"><title>%s</title><use href="#%s" width="%g" height="%g"/></svg>`, s.W, s.H, templ.EscapeString(s.Title), id, s.W, s.H)
	return templ.Raw(strings.Replace(string(b), "<svg ", `<svg id="`+id+`" `, 1))
}

// widthOf gives the short arena a wider drawing, so that both are about as high.
func widthOf(p *logbook.Plan) float64 {
	if p.Board != nil && p.Board.Length < 50 {
		return 110
	}
	return 90
}

// riddenLine is a ride as an overlay of its sheet's drawing.
func riddenLine(line []logbook.RiddenPoint) *draw.Overlay {
	if len(line) == 0 {
		return nil
	}
	o := &draw.Overlay{Label: "ridden", Points: make([]draw.OverlayPoint, len(line))}
	for i, p := range line {
		q := draw.OverlayPoint{HalfWidth: p.Doubt, T: p.T, Movement: p.Movement, Gap: p.Gap}
		q.X, q.Y = p.X, p.Y
		o.Points[i] = q
	}
	return o
}

// svgOf writes a scene as a file of its own.
func svgOf(s *draw.Scene) ([]byte, error) {
	var b bytes.Buffer
	err := s.SVG(&b)
	return b.Bytes(), err
}

// clockOf writes seconds of a ride as minutes and seconds.
func clockOf[T ~float64](s T) string { return draw.Clock(float64(s)) }

// metres writes a length of the line.
func metres[T ~float64](m T) string { return strconv.FormatFloat(float64(m), 'f', 0, 64) + " m" }

func seconds1[T ~float64](s T) string { return strconv.FormatFloat(float64(s), 'f', 1, 64) + " s" }

// plural writes a count with its noun.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
