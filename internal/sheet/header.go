package sheet

import (
	"fmt"
	"strconv"
	"strings"
)

// headerKeys are the keys a sheet may carry, with the other spellings people use.
var headerKeys = map[string]string{
	"name": "name", "title": "name", "test": "name", "sheet": "name", "arena": "arena", "time": "time", "max": "max", "maximum": "max",
	"max points": "max", "maximum points": "max", "rules": "rules", "rule set": "rules", "level": "level", "class": "level",
	"collective": "collective", "collectives": "collective", "rein": "rein", "year": "year", "version": "version",
	"source": "source", "author": "author", "note": "note", "notes": "note", "language": "language", "body": "body", "number": "number", "pace": "pace", "start": "start",
	"invented": "note", "caution": "note", "valid from": "version", "revision": "version", "issued": "year"}

var headerNames = []string{"arena", "body", "collective", "language", "level", "max", "name", "note", "number", "pace", "rein", "rules", "source", "start", "time", "version", "year"}

// header reads a "key: value" line; false when the line is none.
func (p *parser) header(line string) bool {
	if p.plainHeader(line) {
		return true
	}
	key, value, ok := strings.Cut(line, ":")
	k := strings.ToLower(strings.Join(strings.Fields(key), " "))
	if !ok || len(k) < 3 || len(k) > 24 || strings.ContainsAny(k, "0123456789|,;.(\t") {
		return false
	}
	value = strings.TrimSpace(value)
	col := len([]rune(line)) - len([]rune(strings.TrimLeft(line, " \t\uFEFF"))) + 1
	canonical, known := headerKeys[k]
	if !known {
		if p.collecting || p.ended || p.wording(key) || p.pageWords(key).page || strings.Count(k, " ") > 1 {
			return false
		}
		p.unknownHeader(k, line, col)
		return true
	}
	if canonical == "collective" {
		for _, one := range p.markList(value, col) {
			p.collective(one, col)
		}
		return true
	}
	if h, dup := p.f.Header(canonical); dup && canonical != "note" && canonical != "source" {
		p.problem(col, Warning, "", "%s is given twice; the first is kept", canonical)
		p.f.Problems[len(p.f.Problems)-1].Also = &h.Pos
		return true
	}
	p.f.Headers = append(p.f.Headers, Header{Pos{p.line, col}, canonical, value})
	p.checkHeader(canonical, value, len([]rune(line))-len([]rune(value))+1)
	return true
}

// plainHeader reads "Arena 20 m x 40 m" above the movements, and the collective marks listed
// under a line that says so, as people copy them without a colon.
func (p *parser) plainHeader(line string) bool {
	t := strings.TrimSpace(line)
	low := strings.ToLower(t)
	if len(p.f.Movements) == 0 && p.arenaWithin(line) {
		return true
	}
	col := len([]rune(line)) - len([]rune(strings.TrimLeft(line, " \t"))) + 1
	if n, _ := leadingNumber(line); n > 0 || strings.Contains(line, ":") {
		return false
	}
	switch _, has := p.f.Header("arena"); {
	case strings.HasPrefix(low, "arena ") && len(p.f.Movements) == 0 && !has:
		p.f.Headers = append(p.f.Headers, Header{Pos{p.line, col}, "arena", strings.TrimSpace(t[len("arena"):])})
		p.checkHeader("arena", strings.TrimSpace(t[len("arena"):]), col+len("arena "))
	default:
		return false
	}
	return true
}

// arenaWithin takes the size of the arena from a line above the movements that names it in any
// way ("Standard arena 20m x 60m"). A line that holds nothing else is used up by it.
func (p *parser) arenaWithin(line string) bool {
	if _, has := p.f.Header("arena"); has || strings.Contains(strings.ToLower(strings.TrimSpace(line)), "arena:") && !p.pageWords(line).page {
		return false
	}
	var n []word
	words := scanWords(line, 1)
	for i, w := range words {
		if w.kind == 'n' && (len(n) == 0 || len(n) == 1 && arenaBetween(words, n[0], i)) {
			n = append(n, w)
		} else if w.kind == 'n' && len(n) == 1 {
			n = []word{w}
		}
	}
	if len(n) < 2 || strings.HasPrefix(strings.ToLower(strings.TrimSpace(line)), "arena") {
		return false
	}
	size := n[0].text + " x " + n[1].text
	if _, _, err := ParseArena(size); err != nil {
		return false
	}
	p.f.Headers = append(p.f.Headers, Header{Pos{p.line, n[0].col}, "arena", size})
	w := p.pageWords(strings.TrimSpace(line))
	return !w.page && !w.bad && !w.act && !w.pace && !w.letters
}

// arenaBetween reports that only a sign of multiplication and units stand between a and word i.
func arenaBetween(words []word, a word, i int) bool {
	times := false
	for j := i - 1; j >= 0 && words[j].col > a.col; j-- {
		times = times || isTimes(words[j])
		if words[j].kind == 'n' || !isTimes(words[j]) && words[j].low != "m" {
			return false
		}
	}
	return times
}

// plainCollective reports a line that asks nothing of the ride.
func (p *parser) plainCollective(t string) bool {
	toks := lex(p.v, scanWords(t, 1))
	for i, k := range toks {
		if k.cat == "letters" && (i == 0 || toks[i-1].cat == "prep") {
			return false
		}
	}
	return true
}

// wording reports whether s says something of the ride, so that a colon after it is no header.
func (p *parser) wording(s string) bool {
	for _, t := range lex(p.v, scanWords(s, 1)) {
		switch t.cat {
		case "letters", "act", "pace", "form", "variety", "prep":
			return true
		}
	}
	return false
}

// unknownHeader keeps a line of another key: as a note above the movements, as an aside below.
// A key close to a known one is a slip of the pen.
func (p *parser) unknownHeader(k, line string, col int) {
	if n := Nearest(k, headerNames); n != "" {
		p.problem(col, Warning, fmt.Sprintf("did you mean %q?", n), "the header %q is not known and was kept as text", k)
		return
	}
	if p.ended || len(p.f.Movements) > 0 {
		p.aside(line)
		return
	}
	p.problem(col, Note, "known: "+strings.Join(headerNames, ", "), "the header %q is not known and was kept as a note", k)
	p.f.Headers = append(p.f.Headers, Header{Pos{p.line, 1}, "note", strings.TrimSpace(line)})
}

func (p *parser) checkHeader(key, value string, col int) {
	switch key {
	case "arena":
		if _, _, err := ParseArena(value); err != nil {
			p.problem(col, Error, "arena: 20 x 60", "%v", err)
		}
	case "time":
		if _, err := ParseTime(value); err != nil {
			p.problem(col, Error, "time: 5:30", "%v", err)
		}
	case "max":
		if n, err := strconv.Atoi(strings.Fields(value + " ?")[0]); err != nil || n <= 0 {
			p.problem(col, Error, "max: 290", "max %q is not a number of points", value)
		}
	}
}

func (p *parser) collective(value string, col int) {
	name, coef := collectiveName(value)
	if name == "" {
		p.problem(col, Error, "collective: Rider x2", "a collective mark needs a name")
		return
	}
	p.f.Collectives = append(p.f.Collectives, Collective{Pos{p.line, col}, name, max(coef, 1)})
}

// markList parts several marks for the whole ride on one line, "Paces, Impulsion, Submission,
// Rider x2": three or more short names, the first of them one that is known.
func (p *parser) markList(value string, col int) []string {
	list := strings.Split(value, ",")
	if len(list) < 3 || strings.ContainsAny(value, "(;") || !p.v.rideMarks[strings.ToLower(strings.TrimSpace(list[0]))] {
		return []string{value}
	}
	for i, s := range list {
		name, _ := collectiveName(s)
		list[i] = strings.TrimSpace(s)
		if n := len(strings.Fields(name)); n == 0 || n > 2 {
			return []string{value}
		}
	}
	p.problem(col, Note, "one line for each: collective: Rider x2", "read as %d collective marks", len(list))
	return list
}

// collectiveName parts the name of a mark for the whole ride from the best mark and coefficient
// beside it.
func collectiveName(value string) (name string, coef int) {
	cells, coef, _ := splitColumns(value, 1)
	var words []string
	for _, c := range cells {
		words = append(words, c.text)
	}
	name = strings.Join(strings.Fields(strings.Join(words, " ")), " ")
	if i := strings.LastIndexAny(name, " :"); i > 0 {
		if mark, _ := markColumn(name[i+1:]); mark > 0 {
			name = name[:i]
		}
	}
	return strings.TrimRight(name, " :.-"), coef
}

// ParseArena reads "20 x 60", "20x60 m", "60 x 20", "60", "40".
func ParseArena(s string) (width, length float64, err error) {
	var n []float64
	if size := english.sizes[strings.ToLower(strings.Join(strings.Fields(s), " "))]; size != "" {
		s = size
	}
	for _, w := range scanWords(s, 1) {
		if w.kind == 'n' {
			n = append(n, w.number())
		}
	}
	switch {
	case len(n) == 1 && (n[0] == 60 || n[0] == 40):
		return 20, n[0], nil
	case len(n) == 2 && n[0] > n[1]:
		n[0], n[1] = n[1], n[0]
	}
	if len(n) == 2 && n[0] == 20 && (n[1] == 60 || n[1] == 40) {
		return n[0], n[1], nil
	}
	return 20, 60, fmt.Errorf("arena %q is not known; allowed: 20 x 60, 20 x 40", s)
}

// ParseTime reads "5:30", "5'30\"", "5 min 30 s", "5.5 min" or "330 s" as seconds.
func ParseTime(s string) (float64, error) {
	var nums []float64
	unit := ""
	for _, w := range scanWords(s, 1) {
		switch {
		case w.kind == 'n':
			nums = append(nums, w.number())
		case w.kind == 'w' && unit == "" && (strings.HasPrefix(w.low, "m") || strings.HasPrefix(w.low, "s")):
			unit = w.low[:1]
		}
	}
	switch {
	case len(nums) == 1 && (unit == "s" || unit == "" && nums[0] > 30):
		return nums[0], nil
	case len(nums) == 1 && nums[0] > 0:
		return nums[0] * 60, nil
	case len(nums) == 2 && nums[1] < 60:
		return nums[0]*60 + nums[1], nil
	}
	return 0, fmt.Errorf("time %q is not understood; allowed: 5:30", s)
}
