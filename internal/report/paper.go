package report

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/rideplan"
)

func planFacts(plan *rideplan.Plan) string {
	facts := []string{}
	if plan.Board != nil {
		facts = append(facts, fmt.Sprintf("Arena %g x %g m", float64(plan.Board.Width), float64(plan.Board.Length)))
	}
	facts = append(facts, plural(len(plan.Movements), "movement", "movements"), "about "+duration(float64(plan.Total)),
		fmt.Sprintf("%.0f m", float64(plan.Length)))
	if plan.PublishedS > 0 {
		facts = append(facts, "published time "+duration(float64(plan.PublishedS)))
	}
	if plan.MaxPoints > 0 {
		facts = append(facts, plural(plan.MaxPoints, "mark", "marks")+" at most")
	}
	return strings.Join(facts, " · ")
}

// figureAndUnit is a number with its unit; no line ends between them.
var figureAndUnit = regexp.MustCompile(`(\d) (m|metres|steps|strides)\b`)

// movementWords are plainWords for paper, where lines are broken.
func movementWords(m *rideplan.Movement) string {
	return figureAndUnit.ReplaceAllString(plainWords(m), "$1\u00a0$2")
}

// plainWords are the sheet's own words with the coefficient.
func plainWords(m *rideplan.Movement) string {
	words := CallWords(m)
	if m.Coefficient > 1 {
		words += fmt.Sprintf(" (x%d)", m.Coefficient)
	}
	return words
}

// foldCells are the pictures of one fold sheet: two columns of three.
const foldCells = 6

// FoldSheetsPDF writes a set to learn the test from. On the left half of each sheet are the
// movements' lines without a word, each with a grey end of the one before it; folded behind,
// on the right half, are the words, the seconds, and where preparing begins. Look at a line,
// say it, unfold to check.
func FoldSheetsPDF(w io.Writer, plan *rideplan.Plan) error {
	p := newPages(plan.Name+": fold sheets", plan.Name)
	for i := 0; i < len(plan.Movements); i += foldCells {
		if i > 0 {
			p.f.AddPage()
		}
		foldSheet(p, plan, plan.Movements[i:min(i+foldCells, len(plan.Movements))])
	}
	if len(plan.Movements) == 0 {
		p.para(edge, p.width(), 4, false, "This sheet has no movements yet.")
	}
	return p.finish(w)
}

func foldSheet(p *pages, plan *rideplan.Plan, ms []rideplan.Movement) {
	p.line(edge, edge, 4, true, plan.Name)
	if f := FaultWords(plan); f != "" {
		p.line(edge, edge+4.6, 2.8, true, f)
	}
	p.put(pageW-edge, edge, 2.8, false, draw.InkSoft, draw.End, "look left, say it, unfold to check")
	mid := pageW / 2
	fold := draw.Scene{}
	fold.Add(draw.Path{Style: draw.Style{Stroke: draw.InkSoft, Width: 0.25, Dash: []float64{3, 2}}, Lines: [][]draw.Pt{{{X: mid, Y: edge + 8}, {X: mid, Y: footY - 4}}}},
		draw.Text{At: draw.Pt{X: mid, Y: edge + 6.5}, Size: 2.6, Anchor: draw.Middle, Ink: draw.InkSoft, Words: "fold here"})
	fold.Onto(p.f, 0, 0, 1)
	top, cellH := edge+9.0, (footY-4-edge-9.0)/3
	cellW := (mid - edge - 4) / 2
	for i := range ms {
		m := &ms[i]
		x, y := edge+float64(i%2)*cellW, top+float64(i/2)*cellH
		pic := draw.Plan(plan, draw.Options{Movement: m.Number, Width: cellW - 3})
		k := min(1, (cellH-7)/pic.H)
		p.put(x+(cellW-3)/2, y, 4.6, true, draw.InkMain, draw.Middle, fmt.Sprint(m.Number))
		pic.Onto(p.f, x+(cellW-3-pic.W*k)/2, y+5, k)
	}
	wordH := (footY - 4 - top) / foldCells
	for i := range ms {
		foldWords(p, plan, &ms[i], mid+5, top+float64(i)*wordH, pageW-edge-mid-5, wordH-1)
	}
}

func foldWords(p *pages, plan *rideplan.Plan, m *rideplan.Movement, x, y, w, h float64) {
	p.put(x+5, y, 4.6, true, draw.InkMain, draw.End, fmt.Sprint(m.Number))
	end := y + h
	y = foldText(p, x+8, y, end, w-8, 3.9, true, movementWords(m))
	y = foldText(p, x+8, y+0.8, end, w-8, 3, false, movementFacts(m))
	if d := hardest(m); d != nil {
		at := plan.SampleAtM(d.PrepareM)
		letter := ""
		if plan.Board != nil {
			letter, _ = plan.Board.NearestLetter(at.Point)
		}
		y = foldText(p, x+8, y+0.4, end, w-8, 3, false, fmt.Sprintf("To prepare, from near %s: %s: %s.", letter, d.What, NeedsAndHas(float64(d.Needs), float64(d.Has))))
	}
	foldText(p, x+8, y+0.4, end, w-8, 2.8, false, m.Reading)
}

// foldText writes wrapped lines until bottom and returns where it stopped; what is cut off
// ends in an ellipsis.
func foldText(p *pages, x, y, bottom, w, size float64, bold bool, words string) float64 {
	lines := draw.Wrap(words, size, w, bold)
	for i, l := range lines {
		if y+2*size*1.3 > bottom && i+1 < len(lines) {
			l += " …"
			p.line(x, y, size, bold, l)
			return bottom
		}
		if y+size > bottom {
			return bottom
		}
		p.line(x, y, size, bold, l)
		y += size * 1.3
	}
	return y
}

func movementFacts(m *rideplan.Movement) string {
	return fmt.Sprintf("%.0f s, %.0f m, about %.0f strides", float64(m.EndS-m.StartS), float64(m.EndM-m.StartM), m.Strides)
}

func hardest(m *rideplan.Movement) *rideplan.Demand {
	var out *rideplan.Demand
	for i := range m.Demands {
		if out == nil || m.Demands[i].Pressure > out.Pressure {
			out = &m.Demands[i]
		}
	}
	return out
}

// MarkSheetPDF writes the sheet with room for marks and remarks by hand.
func MarkSheetPDF(w io.Writer, plan *rideplan.Plan) error {
	p := newPages(plan.Name+": marks", plan.Name)
	p.title(plan.Name, planFacts(plan))
	p.faults(plan)
	p.blanks("Rider", "Horse", "Judge, at", "Day")
	cols := []column{{"", 10, true}, {"asked", 76, false}, {"coeff.", 14, false}, {"mark", 18, false}, {"remark", p.width() - 118, false}}
	var rows [][]string
	for i := range plan.Movements {
		m := &plan.Movements[i]
		rows = append(rows, []string{fmt.Sprint(m.Number), CallWords(m), coefficient(m.Coefficient)})
	}
	for _, c := range plan.Collectives {
		rows = append(rows, []string{"", c.Name, coefficient(c.Coefficient)})
	}
	p.ruled = true
	p.table(cols, rows, 3.2, 10)
	p.ruled = false
	p.y += 4
	p.need(28)
	p.blanks("Errors of course", "Points", fmt.Sprintf("of %d", plan.MaxPoints), "Percent")
	p.blanks("Best moment", "One thing to change")
	return p.finish(w)
}

func coefficient(c int) string {
	if c > 1 {
		return fmt.Sprintf("x%d", c)
	}
	return ""
}

// blanks writes labels side by side with lines to write on.
func (p *pages) blanks(labels ...string) {
	p.need(12)
	w := p.width() / float64(len(labels))
	for i, l := range labels {
		x := edge + float64(i)*w
		p.put(x, p.y+2, 3, false, draw.InkSoft, draw.Start, l)
		tw := draw.TextWidth(l, 3, false) + 2
		p.strokes(0.25, []draw.Pt{{X: x + tw, Y: p.y + 6}, {X: x + w - 3, Y: p.y + 6}})
	}
	p.y += 10
}

// CallPDF writes the caller's script to read from: large, one call a row, with a box to tick.
func CallPDF(w io.Writer, s CallScript) error {
	p := newPages(s.Sheet+": to call", s.Sheet)
	p.title(s.Sheet, fmt.Sprintf("Each call ends %s s before its movement · about %s · %s", decimals(s.LeadS, 1), duration(s.TotalS), plural(len(s.Calls), "call", "calls")))
	for _, n := range append(allowedWords(s), s.Notes...) {
		p.careful(3.4, n)
	}
	for _, c := range s.Calls {
		lines := draw.Wrap(c.Words, 5.4, p.width()-44, true)
		h := max(float64(len(lines))*7+4, 12)
		p.need(h)
		p.strokes(0.2, []draw.Pt{{X: edge, Y: p.y}, {X: pageW - edge, Y: p.y}})
		p.line(edge, p.y+2, 4.2, true, clockSigned(c.SpeakS))
		where := "near " + c.Letter
		if c.SpeakS < 0 {
			where = "before entry"
		}
		p.put(edge, p.y+7.2, 3, false, draw.InkSoft, draw.Start, where)
		for i, l := range lines {
			p.line(edge+26, p.y+2+float64(i)*7, 5.4, true, l)
		}
		if c.Tight {
			p.put(pageW-edge, p.y+2, 2.8, false, draw.InkSoft, draw.End, "lead "+decimals(c.LeadS, 1)+" s")
		}
		p.y += h
	}
	p.rule(0.2)
	return p.finish(w)
}

func allowedWords(s CallScript) []string {
	if s.Why == "" {
		return nil
	}
	return []string{s.Why}
}

func clockSigned(s float64) string {
	if s < 0 {
		return "-" + duration(-s)
	}
	return duration(s)
}
