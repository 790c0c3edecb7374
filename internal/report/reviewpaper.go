package report

import (
	"fmt"
	"io"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/diagnose"
	"ringcraft/internal/draw"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
)

// Paper is what a review is printed from. Rider, Horse and Day may be empty; Ridden may be nil.
type Paper struct {
	Doc               *ReviewDoc
	Plan              *rideplan.Plan
	Ridden            *match.Ridden
	Rider, Horse, Day string
	Homework          []Homework
	// Words are remarks in the wording that the trainer kept for the rider; where a movement has
	// some, they stand in place of what was found.
	Words []remarks.Wording
}

// line is a movement's entry: the trainer's words where there are some.
func (p Paper) line(m *ReviewMovement) string {
	var said []string
	for _, w := range p.Words {
		if w.Movement == m.Number {
			w.Where = ""
			said = append(said, w.Text())
		}
	}
	if len(said) == 0 {
		return movementLine(m)
	}
	return short(partWords(m.Letters, m.Text), 44) + " — " + strings.Join(said, " ")
}

// Homework is one exercise to take home.
type Homework struct {
	Title, Rein, Pace string
	Purpose           string
	Look              string // what right looks and feels like
	Fault             string // the usual fault
	Times             string // how often, how long
	Plan              *rideplan.Plan
}

func (p Paper) facts() string {
	var out []string
	for _, s := range []string{p.Rider, p.Horse, p.Day, p.Doc.Sheet} {
		if s != "" {
			out = append(out, s)
		}
	}
	if p.Doc.Simulated {
		out = append(out, "simulated ride, not a real one")
	}
	return strings.Join(out, " · ")
}

// ReviewPDF writes the rider's two pages: what went well, what to change and where the marks
// are; then the drawing, the movements and the homework.
func ReviewPDF(w io.Writer, in Paper) error {
	s := Summarise(in.Doc)
	p := newPages("Your ride: "+in.Doc.Sheet, in.facts())
	p.title(s.Headline, in.facts())
	reviewFirstPage(p, in, s)
	p.addPage()
	reviewSecondPage(p, in)
	return p.finish(w)
}

func reviewFirstPage(p *pages, in Paper, s Summary) {
	p.noBreaks = true
	defer func() { p.noBreaks = false }()
	p.heading("What went well", 10)
	if len(s.Well) == 0 {
		p.para(edge, p.width(), 3.6, false, "Nothing stood out in what was marked, said or measured.")
	}
	for _, l := range s.Well {
		p.bullet("+", 3.6, l)
	}
	p.heading("Change these first", 20)
	for i, c := range s.Change {
		p.bullet(fmt.Sprint(i+1), 4.2, changeWords(c))
		if len(c.Evidence) > 0 {
			p.y -= 0.5
			p.para(edge+6, p.width()-6, 3.1, false, short(strings.Join(c.Evidence, "; "), 220))
		}
		if c.Try != "" {
			p.para(edge+6, p.width()-6, 3.4, true, "To find out which cause: "+short(c.Try, 200))
		}
		p.y += 1.2
	}
	if len(s.Change) == 0 {
		p.para(edge, p.width(), 3.6, false, "Nothing to change can be named from what was given.")
	}
	shareBars(p, s.Where)
	bottom := p.bottom() - 46
	pictured := closeUps(s, in)
	if len(pictured) > 0 {
		bottom -= closeUpH
	}
	for _, l := range append(append([]string{}, in.Doc.Cautions...), s.Unsaid...) {
		if p.y > bottom-9 {
			break
		}
		p.bullet("–", 3, short(l, 230))
	}
	closeUpRow(p, in, pictured, bottom)
	strip := draw.Strip(in.Plan, draw.StripOptions{Width: p.width(), Height: 36})
	p.line(edge, p.bottom()-44, 3.4, true, "Where there is little time to prepare")
	strip.Onto(p.f, edge, p.bottom()-39, 1)
}

// closeUpH is the room of the pictures of single movements on the first page, in mm.
const closeUpH = 74.0

// closeUps are the movements of the things to change, at most five, each once.
func closeUps(s Summary, in Paper) []int {
	var out []int
	seen := map[int]bool{}
	for _, c := range s.Change {
		for _, n := range c.Movements[:min(2, len(c.Movements))] {
			if !seen[n] && in.Plan.MovementByNumber(n) != nil && len(out) < 5 {
				seen[n] = true
				out = append(out, n)
			}
		}
	}
	return out
}

// closeUpRow draws single movements side by side, asked and ridden, where there is room.
func closeUpRow(p *pages, in Paper, ns []int, y float64) {
	if len(ns) == 0 || p.y > y {
		return
	}
	marks := PlaceMarks(in.Doc, in.Plan)
	w := p.width() / 5
	for i, n := range ns {
		pic := draw.Plan(in.Plan, draw.Options{Movement: n, Width: w - 3, Ridden: RiddenOverlay(in.Ridden), Marks: marks})
		k := min(1, (closeUpH-8)/pic.H)
		x := edge + float64(i)*w
		p.put(x+w/2-1, y, 4, true, draw.InkMain, draw.Middle, fmt.Sprint(n))
		pic.Onto(p.f, x+(w-3-pic.W*k)/2, y+4.5, k)
	}
}

func changeWords(c Change) string {
	out := c.What
	if len(c.Movements) > 0 {
		out += ": " + numbers(c.Movements)
	}
	switch {
	case c.Percent > 0 && c.Marks == 0: // no mark was given: what such a fault usually costs
		out += fmt.Sprintf(", usually worth about %s\u00a0%%", decimals(c.Percent, 1))
	case c.Percent > 0:
		out += fmt.Sprintf(", worth about %s\u00a0%%", decimals(c.Percent, 1))
	}
	return out
}

// shareBars draws where the marks are as three bars told apart by their pattern.
func shareBars(p *pages, where []Share) {
	total := 0.0
	for _, s := range where {
		total += s.Marks
	}
	if total <= 0 {
		return
	}
	p.heading("Where the marks are", 24)
	for i, s := range where {
		scene := draw.ShareBar(90, 5.5, s.Marks/total, i)
		scene.Onto(p.f, edge, p.y, 1)
		p.line(edge+94, p.y+0.6, 3.4, i == 0, fmt.Sprintf("%s: %s marks, %s %%", s.Words, decimals(s.Marks, 1), decimals(s.Percent, 1)))
		p.y += 7.5
	}
}

func reviewSecondPage(p *pages, in Paper) {
	top := p.y
	drawW := 66.0
	if len(in.Homework) == 0 {
		drawW = 84
	}
	s := draw.Plan(in.Plan, draw.Options{Width: drawW, Legend: true, Ridden: RiddenOverlay(in.Ridden), Marks: PlaceMarks(in.Doc, in.Plan)})
	homeH := 0.0
	if len(in.Homework) > 0 {
		homeH = 62
	}
	placed, size := draw.Wrap(strings.TrimSpace(PlacedWords(in.Doc.Recording)+" "+notedWords(in.Doc.Recording)), 2.6, drawW, false), 2.6
	k := min(1, (p.bottom()-top-homeH-float64(len(placed))*size*1.35)/s.H)
	s.Onto(p.f, edge, top, k)
	for i, l := range placed {
		p.line(edge, top+s.H*k+float64(i)*size*1.35, size, false, l)
	}
	movementList(p, in, edge+drawW+4, top, p.width()-drawW-4, p.bottom()-homeH-3)
	if homeH > 0 {
		p.y = p.bottom() - homeH
		homeworkRow(p, in.Homework)
	}
}

// movementList sets one short entry a movement, as large as fits.
func movementList(p *pages, in Paper, x, top, w, bottom float64) {
	d, size := in.Doc, 3.2
	height := func() float64 {
		h := 0.0
		for i := range d.Movements {
			h += float64(len(draw.Wrap(in.line(&d.Movements[i]), size, w-5.2*size, false)))*size*1.25 + size*0.5
		}
		return h
	}
	for size > 1.6 && height() > bottom-top {
		size -= 0.1
	}
	y := top
	for i := range d.Movements {
		m := &d.Movements[i]
		lines := draw.Wrap(in.line(m), size, w-5.2*size, false)
		if y+float64(len(lines))*size*1.25 > bottom+size {
			p.line(x, y, size, false, "… and more in the full review")
			return
		}
		p.put(x+1.9*size, y, size, true, draw.InkMain, draw.End, fmt.Sprint(m.Number))
		if v, ok := m.MeanMark(); ok {
			p.put(x+4.4*size, y, size, true, draw.InkMain, draw.End, MarkWords(v))
		}
		for j, l := range lines {
			p.line(x+5.2*size, y+float64(j)*size*1.25, size, false, l)
		}
		y += float64(len(lines))*size*1.25 + size*0.5
	}
}

func movementLine(m *ReviewMovement) string {
	out := short(partWords(m.Letters, m.Text), 44)
	worst := -1
	for i, l := range m.Lost {
		if l.Reach != diagnose.Ceiling && !unexplained(l) && (worst < 0 || l.Worth() > m.Lost[worst].Worth()) {
			worst = i
		}
	}
	if worst >= 0 {
		out += " — " + m.Lost[worst].Reason
	}
	for _, x := range m.Measures {
		if x.Value != nil && x.Verdict != measure.OK && x.Verdict != measure.CannotTell {
			return out + "; " + MeasureWords(x)
		}
	}
	return out
}

func homeworkRow(p *pages, hs []Homework) {
	p.line(edge, p.y, 5, true, "Homework")
	p.y += 7
	n := min(len(hs), 3)
	w := p.width() / 3
	for i := 0; i < n; i++ {
		h, x := hs[i], edge+float64(i)*w
		y, textW := p.y, w-4
		if h.Plan != nil {
			pic := draw.Plan(h.Plan, draw.Options{Width: textW, Lying: true, NoNumbers: true})
			pic.Onto(p.f, x, y, 1)
			y += pic.H + 1
		}
		y = foldText(p, x, y, p.bottom(), textW, 3.2, true, h.Title)
		for _, words := range []string{h.Times, h.Look} {
			if words != "" {
				y = foldText(p, x, y+0.8, p.bottom(), textW, 2.8, false, words)
			}
		}
	}
}

// PlaceMarks puts the named faults of a ride's measures on the drawing, at the place of the
// plan they belong to, and a ring in each of the best marked movements that was measured right.
func PlaceMarks(d *ReviewDoc, plan *rideplan.Plan) []draw.Mark {
	var out []draw.Mark
	best := bestMovements(d)
	for i := range d.Movements {
		ringed := false
		for _, m := range d.Movements[i].Measures {
			if m.AtM == nil || m.Value == nil || m.Verdict == measure.CannotTell || m.Verdict == "" {
				continue
			}
			mark := draw.Mark{Point: plan.SampleAtM(arena.Metres(*m.AtM)).Point, Kind: "fault", Label: m.Verdict, Movement: d.Movements[i].Number}
			if m.Verdict == measure.OK {
				if ringed || !best[i] {
					continue
				}
				ringed, mark.Kind, mark.Label = true, "good", ""
			}
			out = append(out, mark)
		}
	}
	return out
}
