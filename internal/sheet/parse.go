package sheet

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"unicode"
)

// Limits of one sheet; beyond them the rest is reported, not read.
const (
	maxMovements = 1000
	maxLine      = 2000 // characters
	maxProblems  = 500
	maxHalts     = 3600 // seconds of all halts
)

// Parse reads a sheet. It never fails: what it cannot read is a positioned problem in the
// file's Problems and everything else is still read. It takes linear time.
func Parse(path string, text []byte) *File {
	p := &parser{f: &File{Path: path}, v: english, memo: map[string]string{}}
	lines := splitLines(text)
	p.numbered, p.named = p.hasNumbers(lines), hasName(lines)
	for _, l := range p.gather(lines) {
		p.now, p.line = l, l.pieces[0].Line
		p.readLine(l.text)
	}
	p.finish()
	return p.f
}

type parser struct {
	f          *File
	v          *vocabulary
	line       int
	numbered   bool // some line starts with a number
	full       bool
	dropped    int
	named      bool              // some line is "name: ..."
	now        logical           // the line being read
	asides     []int             // lines that ask nothing
	ended      bool              // below the totals
	tabled     bool              // a heading names a column of directives
	aims       int               // where the column of directives begins, 0 not known
	collecting bool              // under a line "Collective marks"
	memo       map[string]string // nearest words already looked up
}

// boundHalts holds the seconds of all halts of a sheet to an hour: its timeline has to fit.
func (p *parser) boundHalts() {
	total := 0.0
	for i := range p.f.Movements {
		for j := range p.f.Movements[i].Parts {
			part := &p.f.Movements[i].Parts[j]
			for k := range part.Acts {
				total += part.Acts[k].Seconds
				if total > maxHalts {
					part.Acts[k].Seconds = 0
					p.line = part.Line
					p.problem(1, Error, "", "the halts of this sheet last more than %d minutes together; the seconds from here on were not read", maxHalts/60)
				}
			}
			if total > maxHalts {
				total = maxHalts
			}
		}
	}
}

// nearest looks a word up once; a file of other words stays cheap.
func (p *parser) nearest(w string) string {
	n, ok := p.memo[w]
	if !ok && len(p.memo) < 2000 {
		n = p.v.nearest(w)
		p.memo[w] = n
	}
	return n
}

func (p *parser) problem(col int, sev Severity, suggestion, format string, args ...any) {
	if len(p.f.Problems) >= maxProblems {
		p.dropped++
		return
	}
	at := Pos{p.line, col}
	if len(p.now.pieces) > 1 && p.now.pieces[0].Line == p.line {
		at = p.now.at(col)
	}
	p.f.Problems = append(p.f.Problems, Problem{File: p.f.Path, Pos: at, Severity: sev,
		Message: fmt.Sprintf(format, args...), Suggestion: suggestion})
}

func hasName(lines []string) bool {
	for _, l := range lines {
		if key, _, ok := strings.Cut(l, ":"); ok && headerKeys[strings.ToLower(strings.TrimSpace(key))] == "name" {
			return true
		}
	}
	return false
}

// hasNumbers reports whether a movement has a number; those of the collective marks do not count.
func (p *parser) hasNumbers(lines []string) bool {
	for _, l := range lines {
		if n, rest := leadingNumber(l); n > 0 && !(n == 20 && strings.Contains(rest, "60")) {
			return true
		}
		if len(l) < 60 && len(strings.TrimSpace(l)) > 4 {
			if w := p.pageWords(l); w.collective && !w.act && !w.pace && !p.keyed(l) {
				return false
			}
		}
	}
	return false
}

// readLine reads one line: comment, header or part.
func (p *parser) readLine(raw string) {
	line := raw
	if i := strings.IndexByte(line, '#'); i >= 0 {
		p.f.Comments = append(p.f.Comments, Comment{Pos{p.line, len([]rune(line[:i])) + 1}, strings.TrimSpace(line[i+1:])})
		line = line[:i]
	}
	if strings.TrimSpace(line) == "" {
		return
	}
	if n := len([]rune(line)); n > maxLine {
		p.problem(maxLine+1, Error, "break the line", "the line has %d characters; the rest after %d was not read", n, maxLine)
		line = string([]rune(line)[:maxLine])
	}
	if p.header(line) || p.pageLine(line) {
		return
	}
	p.part(line)
}

// part reads "number letters wording coefficient".
func (p *parser) part(line string) {
	number, rest := leadingNumber(line)
	if number > 0 && p.countNotNumber(number, line, rest) {
		number, rest = 0, line
	}
	col := len([]rune(line)) - len([]rune(rest)) + 1
	cols, coef, maxMark := splitColumns(rest, col)
	if len(cols) == 0 && number == 0 {
		return
	}
	if number == 0 && len(p.f.Movements) == 0 && p.preamble(line, cols) {
		return
	}
	cols, coef, maxMark = marksWithin(cols, coef, maxMark)
	part := p.readPart(cols, col)
	if len(p.f.Movements) > 0 && leaves(part.Acts) {
		n := len(p.f.Movements) - 1
		p.f.Movements[n].Parts = append(p.f.Movements[n].Parts, part)
		p.problem(col, Note, "", "riding out of the arena is not marked; it is kept with movement %d", p.f.Movements[n].Number)
		return
	}
	if !p.movement(number, col) {
		return
	}
	m := &p.f.Movements[len(p.f.Movements)-1]
	if coef > 0 {
		m.Coefficient = coef
	}
	if maxMark > 0 {
		m.MaxMark = maxMark
	}
	if part.Letters != "" || part.Text != "" || len(part.Acts) > 0 {
		m.Parts = append(m.Parts, part)
	}
}

// countNotNumber tells "5 flying changes every stride", a wording that begins with a count,
// from movement 5: a count comes out of turn and its next word is counted.
func (p *parser) countNotNumber(n int, line, rest string) bool {
	last := 0
	if k := len(p.f.Movements); k > 0 {
		last = p.f.Movements[k-1].Number
	}
	m, ok := p.afterNumber(rest)
	if !ok {
		return false
	}
	counted := m.cat == "unit" || m.val == "flying change" || m.val == "loop" || m.val == "change" || m.val == "serpentine"
	indented := line != strings.TrimLeft(line, " \t")
	return counted && (n != last+1 || m.cat == "unit" || indented)
}

// movement opens a numbered movement, or keeps the one above when number is 0.
func (p *parser) movement(number, col int) bool {
	n := len(p.f.Movements)
	if number == 0 && n > 0 && p.numbered {
		return true
	}
	if number == 0 {
		number = n + 1
		if n == 0 && p.numbered {
			p.problem(1, Warning, "1  A  Enter ...", "no number yet; taken as movement 1")
		} else if n == 0 {
			p.problem(1, Note, "", "no line has a number; the lines are numbered from 1")
		}
	} else if n > 0 {
		p.checkOrder(number, col)
	}
	if n >= maxMovements {
		if !p.full {
			p.problem(1, Error, "", "more than %d movements; the rest was not read", maxMovements)
		}
		p.full = true
		return false
	}
	if n > 0 && p.f.Movements[n-1].Number == number {
		return true // reported; the line continues that movement
	}
	p.f.Movements = append(p.f.Movements, Movement{Pos: Pos{p.line, 1}, Number: number, Coefficient: 1, MaxMark: 10})
	return true
}

func (p *parser) checkOrder(number, col int) {
	last := p.f.Movements[len(p.f.Movements)-1]
	switch {
	case number == last.Number:
		p.problem(max(1, col-2), Warning, fmt.Sprint(number+1), "movement %d appears twice; the line continues it", number)
		p.f.Problems[len(p.f.Problems)-1].Also = &Pos{last.Line, last.Column}
	case number < last.Number:
		p.problem(max(1, col-2), Error, fmt.Sprint(last.Number+1), "movement %d comes after movement %d", number, last.Number)
		p.f.Problems[len(p.f.Problems)-1].Also = &Pos{last.Line, last.Column}
	case number > last.Number+1:
		p.problem(max(1, col-2), Warning, fmt.Sprint(last.Number+1), "movement %d follows %d; is one missing?", number, last.Number)
	}
}

// leadingNumber reads "12", "12.", "12)" or "12:" followed by a blank or the line's end.
func leadingNumber(line string) (int, string) {
	s := strings.TrimLeft(line, " \t\uFEFF|•·▪*")
	i := 0
	open := strings.HasPrefix(s, "(")
	if open {
		s = s[1:]
	}
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		i++
	}
	if i == 0 || i > 4 || open && !strings.HasPrefix(s[i:], ")") {
		return 0, line
	}
	rest := s[i:]
	if rest != "" && strings.ContainsRune(".):", rune(rest[0])) {
		rest = rest[1:]
	} else if rest != "" && rest[0] != ' ' && rest[0] != '\t' && rest[0] != '|' {
		return 0, line
	}
	n, _ := strconv.Atoi(s[:i])
	if n == 0 || n > maxMovements+1 { // a year
		return 0, line
	}
	return n, rest
}

// cell is one column of a line.
type cell struct {
	text string
	col  int
}

// splitColumns cuts at tabs, bars and runs of two or more blanks, and takes the coefficient
// and a column of marks from the end.
func splitColumns(s string, col int) (cells []cell, coef, maxMark int) {
	s, coef = cutCoefficient(s)
	cells = cutCells([]rune(s), col)
	for len(cells) > 1 {
		last := cells[len(cells)-1].text
		mark, k := markColumn(last)
		if mark == 0 && k == 0 && strings.Trim(last, "_.-… ") != "" {
			break // room for the pen goes, words stay
		}
		if mark > 0 {
			maxMark = mark
		}
		if k > 0 && coef == 0 {
			coef = k
		}
		cells = cells[:len(cells)-1]
	}
	return cells, coef, maxMark
}

// marksWithin takes columns of marks that stand before a last column of directives.
func marksWithin(cells []cell, coef, maxMark int) ([]cell, int, int) {
	n := len(cells)
	if n < 3 || isMark(cells[n-1].text) || !isMark(cells[n-2].text) {
		return cells, coef, maxMark
	}
	last := cells[n-1]
	for n--; n > 1 && isMark(cells[n-1].text); n-- {
		mark, k := markColumn(cells[n-1].text)
		if mark > 0 {
			maxMark = mark
		}
		if k > 0 && coef == 0 {
			coef = k
		}
	}
	return append(append([]cell(nil), cells[:n]...), last), coef, maxMark
}

// markColumn reads a last column: a best mark of 5 or more, a coefficient below it, or both
// ("10 (2)", "10 x 2", "10 2"), with room left for the judge's pen.
func markColumn(s string) (mark, coef int) {
	s, coef = cutCoefficient("y " + s)
	s = strings.Trim(strings.TrimSpace(s[1:]), " _.()[]/-")
	var n []int
	for _, w := range strings.Fields(strings.NewReplacer("(", " ", ")", " ", "_", " ", "x", " ", "×", " ", "*", " ").Replace(s)) {
		k, err := strconv.Atoi(w)
		if err != nil || k < 1 || k > 100 {
			return 0, 0
		}
		n = append(n, k)
	}
	for _, k := range n {
		if k >= 5 && mark == 0 {
			mark = k
		} else if k < 5 && coef == 0 {
			coef = k
		}
	}
	if len(n) > 2 {
		return 0, 0
	}
	return mark, coef
}

// cutCells cuts at tabs, bars and runs of two or more blanks.
func cutCells(r []rune, col int) (cells []cell) {
	start := 0
	for i := 0; i <= len(r); i++ {
		gap := i == len(r) || r[i] == '\t' || r[i] == '|' || unicode.IsSpace(r[i]) && i+1 < len(r) && unicode.IsSpace(r[i+1])
		if !gap {
			continue
		}
		if t := strings.TrimSpace(string(r[start:i])); t != "" {
			lead := 0
			for unicode.IsSpace(r[start+lead]) {
				lead++
			}
			cells = append(cells, cell{t, col + start + lead})
		}
		start = i + 1
	}
	return cells
}

func isTimes(w word) bool { return w.low == "x" || w.text == "×" || w.text == "*" }

// cutCoefficient takes "x2", "x 2", "×2", "(x2)", "coefficient 2", "coeff. 2" from the end.
func cutCoefficient(s string) (string, int) {
	w := scanWords(s, 1)
	n := len(w)
	for k := max(1, n-3); k < n; k++ {
		var last []string
		for _, x := range w[k:] {
			if x.kind == 'w' {
				last = append(last, x.low)
			}
		}
		if english.double[strings.Join(last, " ")] {
			return strings.TrimRight(string([]rune(s)[:w[k].col-1]), " \t|,(["), 2
		}
	}
	for n > 0 && (w[n-1].text == ")" || w[n-1].text == "|" || w[n-1].text == "]") {
		n--
	}
	if k := n - 2; k > 0 && isTimes(w[n-1]) && w[n-1].glued && w[k].kind == 'n' && len(w[k].text) == 1 && w[k].text > "1" { // "2x"
		return strings.TrimRight(string([]rune(s)[:w[k].col-1]), " \t|,(["), int(w[k].number())
	}
	if k := n - 2; k > 0 && w[n-1].text == "2" && w[k].text == "(" && n < len(w) && w[n].text == ")" { // "(2)"
		return strings.TrimRight(string([]rune(s)[:w[k].col-1]), " \t|,"), 2
	}
	if n < 2 || w[n-1].kind != 'n' || len(w[n-1].text) > 1 {
		return s, 0
	}
	k := n - 2
	for k > 0 && (w[k].text == "." || w[k].text == ":" || w[k].text == "=") {
		k--
	}
	switch w[k].low {
	case "x", "×", "*", "coefficient", "coeff", "coef", "double":
	default:
		return s, 0
	}
	if w[k].text == "X" && !w[k].glued && !w[n-1].glued && k > 0 && w[k-1].low == "at" {
		return s, 0
	}
	if k > 0 && (w[k-1].text == "(" || w[k-1].text == "[") {
		k--
	}
	v := int(w[n-1].number())
	if v < 1 {
		return s, 0
	}
	return strings.TrimRight(string([]rune(s)[:w[k].col-1]), " \t|,"), v
}

// readPart reads letters, wording and directive of a line from its columns.
func (p *parser) readPart(cells []cell, col int) Part {
	part := Part{Pos: Pos{p.line, col}}
	if len(cells) == 0 {
		return part
	}
	part.Column = cells[0].col
	words := scanWords(cells[0].text, cells[0].col)
	if len(cells) > 1 {
		words = raiseLetters(p.v, words)
	}
	n := placeWords(p.v, words)
	text := cells
	if n == len(words) && len(cells) > 1 {
		part.Letters = cells[0].text
		text = cells[1:]
	} else if n > 0 {
		r := []rune(cells[0].text)
		cut := words[n-1].end - cells[0].col
		part.Letters = strings.TrimRight(string(r[:cut]), " ,:")
		rest := strings.TrimLeft(string(r[cut:]), " ,:")
		text = append([]cell{{rest, words[n-1].end}}, cells[1:]...)
	}
	all := append([]word(nil), words...)
	wording, directive := p.directive(text)
	for i, c := range cells[1:] {
		if directive == "" || i+2 < len(cells) { // the directive is the last column
			all = append(all, word{text: "|", low: "|", kind: 'p', col: c.col, end: c.col})
			all = append(all, scanWords(c.text, c.col)...)
		}
	}
	if n == len(words) && len(cells) > 1 { // the letters column is not parted by a comma
		all = append(append([]word(nil), words...), all[n+1:]...)
	}
	part.Text, part.Directive = wording, directive
	acts, probs := buildActs(p.v, p.nearest, lex(p.v, all), p.line)
	p.now.relocate(acts)
	part.Acts = acts
	for _, q := range probs {
		p.problem(q.Column, q.Severity, q.Suggestion, "%s", q.Message)
	}
	if len(acts) == 0 && !Has(probs, Error) {
		p.problem(part.Column, Warning, "", "nothing is asked here: %q", strings.TrimSpace(part.Letters+" "+part.Text))
	}
	return part
}

// Has reports whether any problem has the severity.
func Has(ps []Problem, s Severity) bool {
	for _, p := range ps {
		if p.Severity == s {
			return true
		}
	}
	return false
}

// directive takes a last column that asks nothing new as what the judge looks for.
func (p *parser) directive(text []cell) (wording, directive string) {
	var parts []string
	for i, c := range text {
		if i > 0 && i == len(text)-1 && p.isDirective(c) {
			directive, p.aims = c.text, c.col
			continue
		}
		if c.text != "" {
			parts = append(parts, c.text)
		}
	}
	return strings.Join(parts, " "), directive
}

// isDirective reports whether a last column says what the judge looks for: it stands under that
// heading or under another directive, it asks nothing, or most of its words ask nothing.
func (p *parser) isDirective(c cell) bool {
	if p.tabled || p.aims > 0 && c.col >= p.aims-1 && c.col <= p.aims+1 {
		return true
	}
	toks := lex(p.v, scanWords(c.text, c.col))
	acts, probs := buildActs(p.v, p.nearest, toks, p.line)
	if len(acts) == 0 || Has(probs, Warning) || Has(probs, Error) {
		return true
	}
	asks, says := 0, 0
	for _, t := range toks {
		switch {
		case t.cat == "act" && t.val == "judged", t.cat == "skip" && t.val == "" && len(t.text) > 3, t.cat == "page", t.cat == "unknown", t.cat == "sep" && t.val == ";":
			says++
		case t.cat == "letters":
			return false
		case t.cat == "act", t.cat == "pace", t.cat == "variety", t.cat == "hand", t.cat == "num", t.cat == "lead":
			asks++
		}
	}
	return says >= asks && says > 0
}

// placeWords counts the words at the start that only name places.
func placeWords(v *vocabulary, words []word) int {
	toks := lex(v, words)
	end := 0
	for i, t := range toks {
		ok := t.cat == "letters" || t.cat == "prep" && i+1 < len(toks) && toks[i+1].cat == "letters" ||
			t.cat == "join" && end > 0 && i+1 < len(toks) && toks[i+1].cat == "letters" ||
			t.cat == "sep" && t.val == "," && i+1 < len(toks) && toks[i+1].cat == "letters" && i+2 == len(toks)
		if !ok {
			break
		}
		if t.cat == "letters" {
			end = t.end
		}
	}
	n := 0
	for n < len(words) && words[n].end <= end {
		n++
	}
	return n
}

func (p *parser) finish() {
	p.now = logical{}
	p.boundHalts()
	p.sayAsides()
	if len(p.f.Movements) == 0 {
		p.line = max(p.line, 1)
		p.problem(1, Error, "1  A  Enter in working trot", "the sheet has no movements")
	}
	if p.dropped > 0 {
		p.f.Problems = append(p.f.Problems, Problem{File: p.f.Path, Pos: Pos{p.line, 1}, Severity: Note,
			Message: fmt.Sprintf("%d more problems not listed", p.dropped)})
	}
	sort.SliceStable(p.f.Problems, func(i, j int) bool {
		a, b := p.f.Problems[i], p.f.Problems[j]
		return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
	})
}
