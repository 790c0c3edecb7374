package sheet

import (
	"fmt"
	"strings"
)

// What stands on a page beside the movements: headings of the columns, totals, deductions, lines
// for signatures, page numbers, advice for the whole test. It asks nothing of the ride and never
// becomes a movement; one note says which lines were read so.

// pageWords are what a line holds, by the kinds that tell page furniture from a movement.
type pageWords struct {
	page, collective, end          bool // "Test", "Collective marks", "Total"
	directive                      bool // a heading of the column of directives
	foot                           bool // "Page 1"
	advice                         bool // "may be ridden"
	act, pace, letters, first, bad bool // first: it begins with letters; bad: a word not known
	any                            bool
}

func (p *parser) pageWords(line string) (w pageWords) {
	toks := lex(p.v, scanWords(line, 1))
	for i, t := range toks {
		switch t.cat {
		case "page":
			w.page = true
			w.collective = w.collective || t.val == "collective"
			w.end = w.end || t.val == "end"
			w.foot = w.foot || t.val == "foot"
			w.directive = w.directive || t.val == "directive"
		case "qual":
			w.advice = w.advice || t.val == "advice"
		case "act":
			w.act = true
		case "pace", "variety", "form":
			w.pace = true
		case "letters":
			w.letters = true
			w.first = w.first || i == 0
		case "unknown":
			w.bad = true
		}
		w.any = w.any || t.cat != "sep" && t.cat != "open" && t.cat != "close"
	}
	return w
}

// pageLine takes a line that asks nothing of the ride; false when it may be a movement.
func (p *parser) pageLine(line string) bool {
	number, rest := leadingNumber(line)
	w := p.pageWords(rest)
	if p.inOrder(number) && (w.letters && w.first || w.act && !p.collecting) {
		p.collecting, p.ended = false, false
		return false
	}
	if number == 0 && !w.letters && !p.ended && p.rideMark(line) {
		p.collecting = true
		p.collective(strings.TrimSpace(line), 1)
		return true
	}
	switch {
	case !w.any && number == 0:
	case number > 0 && !w.any && !p.inOrder(number): // a page number
	case w.foot && number == 0 && !w.act && !w.pace && !w.first:
	case w.collective && !w.first && number == 0 && !w.act && !w.pace:
		p.collecting = true
	case w.directive && number == 0 && !w.act:
		p.tabled = true
	case p.collecting && !w.end && !w.first && p.plainCollective(rest):
		text, col := strings.TrimSpace(rest), len([]rune(line))-len([]rune(strings.TrimLeft(rest, " \t")))+1
		if !w.page || w.bad || strings.ContainsAny(text, "0123456789") || p.wordy(text) {
			p.collective(text, col)
			return true
		}
	case w.end && !w.first && !w.act && len(p.f.Movements) > 0 && (number == 0 || !w.bad && !w.letters):
		p.ended = true
	case p.ended && number == 0 && !w.first:
	case number == 0 && w.page && !w.first && !w.act && !w.pace:
	case number == 0 && w.advice && !w.letters && !w.act:
	case number == 0 && len(p.f.Movements) > 0 && p.isName(line):
	default:
		return false
	}
	p.aside(line)
	return true
}

// rideMark reports "Impulsion (desire to move forward, ...)" below the movements: a mark for the
// whole ride with what it stands for in a bracket.
func (p *parser) rideMark(line string) bool {
	name, _, ok := strings.Cut(line, "(")
	if !ok || len(p.f.Movements) == 0 || strings.TrimLeft(line, " \t") != line {
		return false
	}
	name = strings.NewReplacer("'", " ", "’", " ", "&", "and").Replace(strings.ToLower(name))
	return p.v.rideMarks[strings.Join(strings.Fields(name), " ")]
}

// wordy reports more than table words alone ("Rider x2" is a mark, "Marks" is a heading).
func (p *parser) wordy(text string) bool {
	return len(strings.Fields(text)) > 0 && !p.isTable(text)
}

func (p *parser) isTable(text string) bool {
	for _, t := range lex(p.v, scanWords(text, 1)) {
		if t.cat == "page" && t.val == "table" {
			return true
		}
	}
	return false
}

// inOrder reports a number that is the next movement's, or starts the sheet.
func (p *parser) inOrder(n int) bool {
	k := len(p.f.Movements)
	return n > 0 && (k == 0 || n == p.f.Movements[k-1].Number+1)
}

// isName reports the sheet's name again, as it stands at the head of every page.
func (p *parser) isName(line string) bool {
	h, ok := p.f.Header("name")
	return ok && strings.EqualFold(strings.Join(strings.Fields(line), " "), strings.Join(strings.Fields(h.Value), " "))
}

// aside remembers a line that asks nothing; before the first movement it is kept as a note.
func (p *parser) aside(line string) {
	t := strings.TrimSpace(line)
	if t != "" && len(p.f.Movements) == 0 && !p.collecting && strings.ContainsFunc(t, isLetterRune) && !p.onlyTable(t) {
		if _, ok := p.f.Header("name"); !ok && !p.named && !strings.Contains(t, ":") && !p.pageWords(t).advice {
			p.takeName(t)
			return
		}
		p.f.Headers = append(p.f.Headers, Header{Pos{p.line, 1}, "note", t})
		return
	}
	p.asides = append(p.asides, p.line)
}

// onlyTable reports the headings of columns.
func (p *parser) onlyTable(s string) bool {
	for _, t := range lex(p.v, scanWords(s, 1)) {
		if t.cat == "unknown" || t.cat == "page" && t.val == "furniture" {
			return false
		}
	}
	return true
}

func isLetterRune(r rune) bool { return r > '9' }

// sayAsides notes which lines were read as asking nothing.
func (p *parser) sayAsides() {
	if len(p.asides) == 0 {
		return
	}
	var list []string
	for i, n := range p.asides {
		if i == 12 {
			list = append(list, fmt.Sprintf("and %d more", len(p.asides)-i))
			break
		}
		list = append(list, fmt.Sprint(n))
	}
	what := "line"
	if len(p.asides) > 1 {
		what = "lines"
	}
	p.line = p.asides[0]
	p.problem(1, Note, "", "asks nothing of the ride, as headings, totals and remarks do: %s %s", what, strings.Join(list, ", "))
}

// preamble takes a line above the movements of a numbered sheet as its name, or as a note.
func (p *parser) preamble(line string, cells []cell) bool {
	if p.rides(line, cells) {
		return false
	}
	t := strings.Join(strings.Fields(strings.ReplaceAll(line, "|", " ")), " ")
	if _, ok := p.f.Header("name"); ok || p.named {
		p.f.Headers = append(p.f.Headers, Header{Pos{p.line, 1}, "note", t})
		return true
	}
	p.takeName(t)
	return true
}

func (p *parser) takeName(t string) {
	p.f.Headers = append(p.f.Headers, Header{Pos{p.line, 1}, "name", t})
	p.problem(1, Note, "name: "+t, "taken as the name of the sheet")
}

// rides reports whether a line without a number, above all that have one, asks something of the
// ride: it has a column of letters, or an entry.
func (p *parser) rides(line string, cells []cell) bool {
	toks := lex(p.v, scanWords(line, 1))
	if !p.numbered {
		acts, _ := buildActs(p.v, p.nearest, toks, p.line)
		return len(acts) > 0 || hasCat(toks, "letters") || hasCat(toks, "prep")
	}
	if len(cells) > 1 && p.placesOnly(cells[0].text) {
		return true
	}
	for i, t := range toks {
		if t.cat == "act" && t.val == "enter" || i == 0 && t.cat == "letters" && len(t.letters) == 1 && len(toks) > 1 && (toks[1].cat == "act" || toks[1].cat == "form") {
			return true
		}
	}
	return false
}

func hasCat(toks []tok, cat string) bool {
	for _, t := range toks {
		if t.cat == cat {
			return true
		}
	}
	return false
}

// leaves reports a part that only rides out of the arena: it is never marked.
func leaves(acts []Act) bool {
	for i, a := range acts {
		if i == 0 && a.Kind != "leave" || i > 0 && a.Kind != "pace" && a.Kind != "leave" && a.Kind != "stretch" {
			return false
		}
	}
	return len(acts) > 0
}
