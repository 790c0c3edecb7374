package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/prepare"
)

// LessonPDF writes a lesson or homework on paper: first the order of the whole lesson with a box
// to tick at every block, to be read from the hand; then each exercise once, with its arena lying
// on its side as it is seen from B, both reins side by side.
func LessonPDF(w io.Writer, in LessonPaper) error {
	p := newPages(in.Title, in.Title)
	p.title(in.Title, in.Facts)
	if slices.ContainsFunc(in.Blocks, func(b LessonBlock) bool { return !b.WithoutClock }) {
		lessonOrder(p, in.Blocks)
	}
	if len(in.Cautions) > 0 {
		p.smallList("Mind", in.Cautions)
		p.y += 2
	}
	for _, e := range exercisesOf(in.Blocks) {
		e.put(p)
	}
	if len(in.LeftOut) > 0 {
		p.smallList("Left out", in.LeftOut)
	}
	return p.finish(w)
}

// lessonOrder lists the blocks by the clock. What has no drawing further on has its words here.
func lessonOrder(p *pages, blocks []LessonBlock) {
	said := map[string]bool{}
	for _, b := range blocks {
		var lines []string
		for _, l := range b.words() {
			if !isExercise(b) && !said[l] {
				lines = append(lines, l)
			}
			said[l] = true
		}
		p.need(7 + float64(len(lines))*4)
		p.rule(0.2)
		p.boxed(edge, p.y+1.2, 4.6, 4.6, 0.4)
		p.put(edge+19, p.y+1.4, 4.4, true, draw.InkMain, draw.End, b.clock())
		p.put(edge+32, p.y+1.8, 3.4, false, draw.InkSoft, draw.End, minutes(b.LengthS))
		x, w := edge+35.0, p.width()-35
		facts := ""
		if b.Rein != "both" {
			facts = reinWords(b.Rein)
		}
		title := draw.Wrap(b.Title, 4.2, w-draw.TextWidth(facts, 3.4, false)-3, isExercise(b))
		p.put(pageW-edge, p.y+1.8, 3.4, false, draw.InkMain, draw.End, facts)
		for _, l := range title {
			p.line(x, p.y+1.5, 4.2, isExercise(b), l)
			p.y += 5.4
		}
		p.y += 1.6
		for _, l := range lines {
			p.para(x, w, 3, false, l)
		}
		if len(lines) > 0 {
			p.y++
		}
	}
	p.rule(0.2)
}

func minutes(s float64) string { return strconv.FormatFloat(math.Round(s/6)/10, 'f', -1, 64) + " min" }

// isExercise tells what is drawn from the known walks, pauses and loosening lines.
func isExercise(b LessonBlock) bool { return b.Kind == prepare.ExerciseBlock || b.Kind == "" }

// words are the lines below a block's title.
func (b LessonBlock) words() []string {
	var out []string
	if b.Look != "" {
		out = append(out, "Right is: "+b.Look)
	}
	if b.Fault != "" {
		out = append(out, "Usual fault: "+b.Fault)
	}
	return append(out, b.Lines...)
}

// exercisePaper is one exercise on all its reins.
type exercisePaper struct {
	first  LessonBlock
	blocks []LessonBlock
	lines  []string
}

// exercisesOf gathers the exercises, those of one title together, each line of words once.
func exercisesOf(blocks []LessonBlock) []exercisePaper {
	var out []exercisePaper
	for _, b := range blocks {
		if !isExercise(b) {
			continue
		}
		i := slices.IndexFunc(out, func(e exercisePaper) bool {
			return !b.WithoutClock && e.first.Title == b.Title && len(e.blocks) < 2
		})
		if i < 0 {
			i = len(out)
			out = append(out, exercisePaper{first: b})
		}
		e := &out[i]
		e.blocks = append(e.blocks, b)
		for _, l := range b.words() {
			if !slices.Contains(e.lines, l) {
				e.lines = append(e.lines, l)
			}
		}
	}
	return out
}

// Sizes of an exercise on paper, in mm. The arena lies, so that even two side by side are wider
// than a standing one could be; one alone has its words beside it.
const (
	pairGap   = 4.0
	aloneW    = 104.0
	wordsSize = 3.1
	pairLabel = 4.0
)

func (e exercisePaper) pictures(width float64) []*draw.Scene {
	var out []*draw.Scene
	for _, b := range e.blocks {
		if b.Plan != nil {
			out = append(out, draw.Plan(b.Plan, draw.Options{Lying: true, Width: width, NoNumbers: len(b.Plan.Movements) < 2}))
		}
	}
	return out
}

// put writes an exercise and keeps it on one page.
func (e exercisePaper) put(p *pages) {
	pics := e.pictures((p.width() - pairGap) / 2)
	beside := len(pics) == 1
	if beside {
		pics = e.pictures(aloneW)
	}
	picH := 0.0
	for _, s := range pics {
		picH = math.Max(picH, s.H)
	}
	if len(pics) > 1 {
		picH += pairLabel
	}
	textW := p.width()
	if beside {
		textW -= aloneW + pairGap
	}
	wordsH := 0.0
	for _, l := range e.lines {
		wordsH += float64(len(draw.Wrap(l, wordsSize, textW, false)))*wordsSize*1.35 + 0.3
	}
	h := picH + wordsH
	if beside {
		h = math.Max(picH, wordsH)
	}
	p.need(math.Min(h+15, p.bottom()-p.y0-1))
	e.heading(p)
	top := p.y
	for i, s := range pics {
		x := edge + float64(i)*(s.W+pairGap)
		if beside {
			s.Onto(p.f, x, top, 1)
			continue
		}
		p.put(x, top, 3.4, true, draw.InkMain, draw.Start, strings.TrimSpace(e.blocks[i].clock()+" "+reinWords(e.blocks[i].Rein)))
		s.Onto(p.f, x, top+pairLabel, 1)
	}
	x := edge
	if beside {
		x = edge + aloneW + pairGap
	} else {
		p.y += picH
	}
	for _, l := range e.lines {
		p.para(x, textW, wordsSize, false, l)
		p.y += 0.3
	}
	p.y = math.Max(p.y, top+picH) + 2
}

func (e exercisePaper) heading(p *pages) {
	p.rule(0.5)
	b := e.first
	x := edge
	if b.WithoutClock {
		p.boxed(edge, p.y+1.6, 4.6, 4.6, 0.4)
		x += 7
	}
	facts := b.Pace
	if len(e.blocks) == 1 {
		facts = b.facts()
	} else if b.RepeatsOrDuration != "" {
		facts = strings.TrimPrefix(fmt.Sprintf("%s · %s", facts, b.RepeatsOrDuration), " · ")
	}
	title := draw.Wrap(b.Title, 5, p.width()-(x-edge), true)
	for _, l := range title {
		p.line(x, p.y+1.4, 5, true, l)
		p.y += 6.2
	}
	if n := len(title); n > 0 && draw.TextWidth(title[n-1], 5, true)+draw.TextWidth(facts, 3.2, false)+6 < p.width() {
		p.put(pageW-edge, p.y-3.8, 3.2, false, draw.InkMain, draw.End, facts)
		p.y += 1.6
		return
	}
	p.y += 1.2
	p.para(edge, p.width(), 3.2, false, facts)
	p.y += 0.8
}

// smallList is a heading with lines in small print, as one block of text each.
func (p *pages) smallList(head string, lines []string) {
	p.need(12)
	p.y += 1.5
	p.rule(0.3)
	p.line(edge, p.y+1.2, 3.4, true, head)
	p.y += 5.6
	for _, l := range lines {
		p.para(edge, p.width(), 2.9, false, l)
		p.y += 0.7
	}
}

// LeftOutLines says what a lesson left out, one line a reason with all that it kept out.
func LeftOutLines(all []prepare.LeftOut) []string {
	var reasons []string
	titles := map[string][]string{}
	for _, x := range all {
		if titles[x.Reason] == nil {
			reasons = append(reasons, x.Reason)
		}
		titles[x.Reason] = append(titles[x.Reason], x.Title)
	}
	out := make([]string, len(reasons))
	for i, r := range reasons {
		out[i] = strings.Join(titles[r], ", ") + ": " + r
	}
	return out
}
