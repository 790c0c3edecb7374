package sheet

import (
	"strings"
	"unicode"
)

// A sheet pasted from paper has sentences broken over lines and directives running on beside
// them. They are put together before the lines are read; every character keeps its place.

// piece is a stretch of a put-together line and where it stands in the text.
type piece struct {
	from int // column in the put-together line, from 1
	Pos      // of its first character
}

// logical is a line of the sheet, put together from one or more lines of the text.
type logical struct {
	text   string
	pieces []piece
}

// gather puts broken lines together.
func (p *parser) gather(lines []string) []logical {
	var out []logical
	open, begun := false, false // the last line may go on; the movements have begun
	for i, l := range lines {
		p.line = i + 1
		if open && p.goesOn(&out[len(out)-1], l) {
			continue
		}
		out = append(out, logical{l, []piece{{1, Pos{i + 1, 1}}}})
		if n, _ := leadingNumber(l); n > 0 || !p.numbered && hasCat(lex(p.v, scanWords(l, 1)), "letters") {
			begun = true
		}
		open = begun && strings.TrimSpace(l) != "" && !strings.Contains(l, "#") && len(l) < maxLine && !p.keyed(l)
	}
	return out
}

// keyed reports a "key: value" line.
func (p *parser) keyed(l string) bool {
	key, _, ok := strings.Cut(l, ":")
	return ok && headerKeys[strings.ToLower(strings.Join(strings.Fields(key), " "))] != ""
}

// goesOn joins line l to the line before where it is the rest of its sentence or of its directive.
func (p *parser) goesOn(before *logical, l string) bool {
	if n, rest := leadingNumber(l); n > 0 && !p.unitAhead(rest) || strings.Contains(l, "#") || p.keyed(l) || len(before.text)+len(l) > maxLine {
		return false
	}
	cells := cutCells([]rune(l), 1)
	if p.waitsForPlace(before, cells) {
		return true
	}
	if len(cells) > 1 && isMark(cells[1].text) { // the marks stand beside the last line
		cells = []cell{{strings.TrimRight(string([]rune(l)[cells[0].col-1:]), " \t"), cells[0].col}}
		if _, rest := leadingNumber(before.text); isMark(lastCell(rest)) {
			return false
		}
	}
	if len(cells) == 0 || len(cells) > 2 || len(cells) == 2 && p.placesOnly(cells[0].text) || strings.ContainsAny(l, "|") {
		return false
	}
	_, rest := leadingNumber(before.text)
	was := cutCells([]rune(rest), len([]rune(before.text))-len([]rune(rest))+1)
	if len(was) == 0 {
		return false
	}
	marks := len(was)
	for marks > 1 && isMark(was[marks-1].text) {
		marks--
	}
	wording := 0
	if marks > 1 && p.placesOnly(was[0].text) {
		wording = 1
	}
	switch {
	case len(cells) == 1 && marks > wording+1 && cells[0].col >= was[marks-1].col-1 && !p.placesOnly(cells[0].text):
		before.insert(p.line, was, marks-1, cells[0]) // more of the directive
	case !p.sentenceGoesOn(was, wording, cells[0]):
		return false
	case len(cells) == 2 && (marks != wording+2 || cells[1].col < was[marks-1].col-1 || isMark(cells[1].text)):
		return false
	default:
		if len(cells) == 2 {
			before.insert(p.line, was, marks-1, cells[1])
		}
		before.insert(p.line, was, wording, cells[0])
	}
	return true
}

func lastCell(s string) string {
	if c := cutCells([]rune(s), 1); len(c) > 1 {
		return c[len(c)-1].text
	}
	return ""
}

// waitsForPlace joins "Between" alone in its column with the letters and the wording below it.
func (p *parser) waitsForPlace(before *logical, cells []cell) bool {
	_, rest := leadingNumber(before.text)
	was := cutCells([]rune(rest), len([]rune(before.text))-len([]rune(rest))+1)
	if len(was) == 0 || len(cells) == 0 || len(cells) > 3 || !p.placesOnly(cells[0].text) {
		return false
	}
	toks := lex(p.v, scanWords(was[0].text, 1))
	if len(toks) != 1 || toks[0].cat != "prep" {
		return false
	}
	for i := len(cells) - 1; i >= 0; i-- { // the last first: each goes right behind the word
		if i > 0 {
			cells[i].text = "\t" + cells[i].text
		}
		before.insert(p.line, was, 0, cells[i])
	}
	return true
}

// unitAhead reports that the number before it counts something: "20 metres diameter".
func (p *parser) unitAhead(rest string) bool {
	m, _ := p.afterNumber(rest)
	return m.cat == "unit"
}

// afterNumber is the phrase that follows a number; not ok where a column of its own or letters do.
func (p *parser) afterNumber(rest string) (m meaning, ok bool) {
	w := scanWords(rest, 1)
	if len(w) == 0 || rest[0] == '\t' || rest[0] == '|' || letterWord(w[0], p.v) || routeBegins(w) {
		return meaning{}, false
	}
	m, _ = p.v.longest((&lexer{v: p.v, w: w}).lows())
	return m, true
}

// routeBegins reports a route in small letters, "m-x-k": its M is no metre.
func routeBegins(w []word) bool {
	letter := func(i int) bool { return w[i].kind == 'w' && len(w[i].text) == 1 }
	return len(w) > 2 && letter(0) && w[1].text == "-" && w[1].glued && letter(2) && w[2].glued
}

// isMark reports a column of marks or of a coefficient.
func isMark(s string) bool {
	if t, coef := cutCoefficient("y " + s); coef > 0 && strings.TrimSpace(t) == "y" {
		return true
	}
	for _, c := range s {
		if !unicode.IsDigit(c) && !strings.ContainsRune("._-()/ ", c) {
			return false
		}
	}
	return s != ""
}

func (p *parser) placesOnly(s string) bool {
	w := raiseLetters(p.v, scanWords(s, 1))
	return len(w) > 0 && placeWords(p.v, w) == len(w)
}

// sentenceGoesOn reports whether cell c is the rest of the wording was[k]: it begins small, or
// the wording ends in a word that cannot end it.
func (p *parser) sentenceGoesOn(was []cell, k int, c cell) bool {
	text, _ := cutCoefficient(was[k].text)
	toks := lex(p.v, scanWords(text, 1))
	first := scanWords(c.text, 1)
	if len(toks) == 0 || len(first) == 0 {
		return false
	}
	last := toks[len(toks)-1]
	if p.placesOnly(was[k].text) || letterWord(first[0], p.v) {
		return last.cat == "prep" || last.cat == "join" && len(toks) > 2 && toks[len(toks)-2].cat == "letters"
	}
	if last.cat == "sep" && last.val == "." {
		return false
	}
	if strings.Count(text, "(") > strings.Count(text, ")") {
		return true
	}
	next := append(lex(p.v, first), tok{})
	switch last.cat {
	case "prep", "join", "frac", "nth", "rest":
		return true
	case "form":
		return next[0].cat == "pace" || next[0].cat == "form" || next[0].cat == "act"
	case "num":
		return next[0].cat == "unit" || next[0].cat == "act" || next[0].cat == "every"
	case "sep":
		return last.val == ","
	}
	if n := placeWords(p.v, first); n > 0 && n < len(first) {
		return false // "after C  turn on the haunches" is a part of its own
	}
	f := []rune(c.text)[0]
	small := unicode.IsLower(f) && (len(first[0].text) > 1 || first[0].text == "a") || unicode.IsDigit(f) && !hasCat(toks, "num") || f == '('
	return small && text != strings.ToLower(text)
}

// insert puts the text of c behind the cell was[k] of the line.
func (l *logical) insert(line int, was []cell, k int, c cell) {
	r := []rune(l.text)
	end := was[k].col - 1 + len([]rune(was[k].text))
	if t, coef := cutCoefficient(was[k].text); coef > 0 {
		end = was[k].col - 1 + len([]rune(t))
	}
	end = min(end, len(r))
	add := []rune(" " + c.text)
	l.text = string(r[:end]) + string(add) + string(r[end:])
	var after []piece
	at := 0
	for i, q := range l.pieces {
		if q.from <= end+1 {
			at = i
			continue
		}
		q.from += len(add)
		after = append(after, q)
	}
	head := append([]piece(nil), l.pieces[:at+1]...)
	h := head[at]
	head = append(head, piece{end + 2, Pos{line, c.col}}, piece{end + 1 + len(add), Pos{h.Line, h.Column + end + 1 - h.from}})
	l.pieces = append(head, after...)
}

// at says where column col of the line stands in the text.
func (l logical) at(col int) Pos {
	for i := len(l.pieces) - 1; i >= 0; i-- {
		if q := l.pieces[i]; col >= q.from {
			return Pos{q.Line, q.Column + col - q.from}
		}
	}
	return Pos{l.pieces[0].Line, max(col, 1)}
}

// relocate gives the acts of a put-together line their places in the text.
func (l logical) relocate(acts []Act) {
	if len(l.pieces) < 2 {
		return
	}
	for i := range acts {
		a := &acts[i]
		a.Pos = l.at(a.Column)
		if end := l.at(a.Column + a.Width); end.Line != a.Line {
			a.Width = 0
		}
		for _, q := range []*Place{a.At, a.To} {
			if q != nil {
				q.Pos = l.at(q.Column)
			}
		}
	}
}
