package sheet

import "strings"

// tok is a concept: a phrase of the vocabulary, letters, a number or a separator.
type tok struct {
	cat, val string
	num, to  float64 // of a number or a range
	list     []int   // of "3-6-6-6-3"
	letters  []string
	text     string
	col, end int
}

// lexer turns words into concepts.
type lexer struct {
	v     *vocabulary
	w     []word
	i     int
	upper bool // the whole line is in capitals
	out   []tok
}

func lex(v *vocabulary, words []word) []tok {
	words = handLast(expand(v, joinWords(v, words)))
	l := &lexer{v: v, w: words, upper: allCapitals(words)}
	for l.i < len(l.w) {
		l.step()
	}
	return sayOnce(l.out)
}

// sayOnce drops a number said again in a bracket: "4 (four) steps".
func sayOnce(in []tok) []tok {
	out := in[:0]
	for i := 0; i < len(in); i++ {
		out = append(out, in[i])
		if in[i].cat == "num" && i+3 < len(in) && in[i+1].cat == "open" && in[i+2].cat == "num" && in[i+2].num == in[i].num && in[i+3].cat == "close" {
			i += 3
		}
	}
	return out
}

// handLast moves the hand of "turn right on the haunches" behind its noun, so that the phrase
// stays whole; each word keeps its place.
func handLast(given []word) []word {
	words := append([]word(nil), given...)
	for i := 0; i+3 < len(words); i++ {
		if words[i].low != "turn" || words[i+1].low != "left" && words[i+1].low != "right" || words[i+2].low != "on" {
			continue
		}
		last := i + 3
		if words[last].low == "the" && last+1 < len(words) {
			last++
		}
		if words[last].low != "haunches" && words[last].low != "forehand" && words[last].low != "hocks" {
			continue
		}
		hand := words[i+1]
		copy(words[i+1:last], words[i+2:last+1])
		words[last] = hand
	}
	return words
}

func allCapitals(words []word) bool {
	n := 0
	for _, w := range words {
		if w.kind == 'w' && w.text != strings.ToUpper(w.text) {
			return false
		}
		if w.kind == 'w' && len(w.text) > 3 {
			n++
		}
	}
	return n > 0
}

func (l *lexer) emit(t tok, n int) {
	t.col, t.end = l.w[l.i].col, l.w[l.i+n-1].end
	if t.text == "" {
		var parts []string
		for _, w := range l.w[l.i : l.i+n] {
			parts = append(parts, w.low)
		}
		t.text = strings.Join(parts, " ")
	}
	l.out = append(l.out, t)
	l.i += n
}

func (l *lexer) last() tok {
	if len(l.out) == 0 {
		return tok{cat: "sep"}
	}
	return l.out[len(l.out)-1]
}

func (l *lexer) peek(k int) word {
	if l.i+k >= len(l.w) || l.i+k < 0 {
		return word{kind: 'e'}
	}
	return l.w[l.i+k]
}

func (l *lexer) step() {
	w := l.w[l.i]
	switch {
	case w.kind == 'p':
		l.punct(w)
	case w.kind == 'n':
		l.numberTok(w)
	case l.lettersHere(w):
		l.group()
	default:
		l.phrase(w)
	}
}

func (l *lexer) punct(w word) {
	switch w.text {
	case ",", ";", ".", ":", "|":
		l.emit(tok{cat: "sep", val: w.text}, 1)
	case "(", "[":
		l.emit(tok{cat: "open"}, 1)
	case ")", "]":
		l.emit(tok{cat: "close"}, 1)
	case "°", "º":
		l.emit(tok{cat: "unit", val: "deg"}, 1)
	case "½":
		l.emit(tok{cat: "frac", num: 0.5}, 1)
	case "¼":
		l.emit(tok{cat: "frac", num: 0.25}, 1)
	case "×":
		l.emit(tok{cat: "times"}, 1)
	case "@":
		l.emit(tok{cat: "prep", val: "at"}, 1)
	case "-", "–", "—", "→", ">":
		if !w.glued && !l.peek(1).glued && !letterWord(l.peek(1), l.v) {
			l.emit(tok{cat: "sep", val: ","}, 1)
			return
		}
		l.i++
	default:
		l.i++
	}
}

func isDash(w word) bool {
	return w.kind == 'p' && strings.ContainsAny(w.text, "-–—→>")
}

// numberTok reads a number, a fraction (1/2), a range (4-6, 4 to 6) or a list (3-6-6-6-3).
func (l *lexer) numberTok(w word) {
	if m, n := l.v.longest(l.lows()); n > 1 && m.cat != "skip" {
		l.emitPhrase(m, n)
		return
	}
	if l.peek(1).text == "/" && l.peek(2).kind == 'n' && l.peek(2).number() > 0 {
		l.emit(tok{cat: "frac", num: w.number() / l.peek(2).number()}, 3)
		return
	}
	vals, n := []int{int(w.number())}, 1
	last := w
	for {
		p := n
		if len(vals) == 1 && l.sameUnit(n, n+2) {
			p++ // "10 m - 15 m"
		}
		if !l.upTo(l.peek(p)) || l.peek(p+1).kind != 'n' {
			break
		}
		last = l.peek(p + 1)
		vals = append(vals, int(last.number()))
		n = p + 2
	}
	t := tok{cat: "num", num: w.number(), to: last.number()}
	if len(vals) > 2 {
		t.to, t.list = t.num, vals
	}
	l.emit(t, n)
}

// upTo reports a word or mark between the ends of a range: "4-6", "4 to 6", "4 or 6".
func (l *lexer) upTo(w word) bool {
	if isDash(w) {
		return true
	}
	m, n := l.v.longest([]string{w.low})
	return n > 0 && (m.cat == "prep" && m.val == "to" || m.cat == "skip" && m.val == "or")
}

// sameUnit reports the same unit after both numbers of a range.
func (l *lexer) sameUnit(i, j int) bool {
	if !l.upTo(l.peek(i+1)) || l.peek(j).kind != 'n' || l.peek(i).kind != 'w' {
		return false
	}
	m, n := l.v.longest([]string{l.peek(i).low})
	q, k := l.v.longest([]string{l.peek(j + 1).low})
	return n > 0 && k > 0 && m == q && m.cat == "unit"
}

// lows gives the lower-case words from here on, hyphens and apostrophes left out, and stops
// at other punctuation.
func (l *lexer) lows() []string {
	var out []string
	for k := 0; k < 16; k++ { // no phrase is longer
		w := l.peek(k)
		if w.kind == 'e' {
			break
		}
		if w.kind == 'p' {
			if k > 0 && (isDash(w) || w.text == "'" || w.text == "’") && (w.glued || l.peek(k+1).glued) {
				continue
			}
			break
		}
		out = append(out, w.low)
	}
	return out
}

// span returns how many raw words the next n phrase words cover.
func (l *lexer) span(n int) int {
	k := 0
	for n > 0 {
		if l.peek(k).kind != 'p' {
			n--
		}
		k++
	}
	return k
}

func (l *lexer) emitPhrase(m meaning, n int) {
	t := tok{cat: m.cat, val: m.val}
	switch m.cat {
	case "num", "frac", "every", "portion":
		t.num = word{text: m.val}.number()
		t.to = t.num
	}
	l.emit(t, l.span(n))
}

func (l *lexer) phrase(w word) {
	if m, ok := l.v.abbr[w.text]; ok && !isDash(l.peek(1)) {
		l.emit(tok{cat: m.cat, val: m.val}, 1)
		return
	}
	if w.low == "x" && (l.last().cat == "num" || l.peek(1).kind == 'n') {
		l.emit(tok{cat: "times"}, 1)
		return
	}
	if w.low == "s" && l.i > 0 && w.glued && (l.w[l.i-1].text == "'" || l.w[l.i-1].text == "’") {
		l.emit(tok{cat: "skip"}, 1)
		return
	}
	if w.text == "L" || w.text == "R" || (w.text == "l" || w.text == "r") && l.takesHand(l.last()) {
		l.emit(tok{cat: "hand", val: map[string]string{"l": "left", "r": "right"}[w.low]}, 1)
		return
	}
	m, n := l.v.longest(l.lows())
	if lowerLetter(w) && l.smallLetter(m, n) {
		l.emit(tok{cat: "letters", letters: []string{strings.ToUpper(w.low)}}, 1)
		return
	}
	if m.cat == "portion" {
		m, n = l.notHalfOf(m, n)
	}
	if n > 0 {
		l.emitPhrase(m, n)
		return
	}
	l.emit(tok{cat: "unknown", text: w.text}, 1)
}

// smallLetter reports whether a single small letter is one of the arena. One that is also a
// word ("a") is a letter where a letter is waited for and no noun follows, and at the start
// of a line of small letters; m and n are the phrase that begins with it.
func (l *lexer) smallLetter(m meaning, n int) bool {
	if n == 0 {
		return true
	}
	last := l.last()
	if n == 1 && m.cat == "unit" && last.cat != "num" && l.i+1 < len(l.w) && isDash(l.w[l.i+1]) {
		return true // "m-x-k": metres of nothing
	}
	if n > 1 || m.cat != "skip" {
		return false
	}
	next, k := meaning{}, 0
	if l.i+1 < len(l.w) && l.w[l.i+1].kind != 'p' {
		rest := lexer{v: l.v, w: l.w, i: l.i + 1}
		next, k = l.v.longest(rest.lows())
	}
	switch {
	case last.cat == "join" || last.cat == "prep" && last.val == "to":
		return l.betweenOpen()
	case last.cat == "prep" || last.cat == "letters":
		return l.i+1 == len(l.w) || k == 0 && l.w[l.i+1].kind != 'n' || next.cat == "act" || next.cat == "join"
	}
	return len(l.out) == 0 && l.i+1 < len(l.w) && l.w[l.i+1].kind != 'p' && next.cat != "num"
}

// notHalfOf parts "first half-pass" from "first half": where the last word of a phrase begins a
// longer act, it belongs to that.
func (l *lexer) notHalfOf(m meaning, n int) (meaning, int) {
	low := l.lows()
	if q, k := l.v.longest(low[n-1:]); n > 1 && k > 1 && q.cat == "act" {
		return l.v.longest(low[:n-1])
	}
	return m, n
}

// betweenOpen reports "between K and" before here: the second letter is still to come.
func (l *lexer) betweenOpen() bool {
	n := len(l.out)
	if n >= 1 && l.out[n-1].cat == "prep" && l.i+1 == len(l.w) {
		return true // "... to a"
	}
	return n >= 3 && l.out[n-2].cat == "letters" && l.out[n-3].cat == "prep" && l.out[n-3].val == "between"
}

func lowerLetter(w word) bool { return len(w.text) == 1 && isLetterGroup(strings.ToUpper(w.text), 1) }

// lettersHere decides whether w is arena letters or a word, an abbreviation, a unit or a hand.
func (l *lexer) lettersHere(w word) bool {
	if !letterWord(w, l.v) || l.last().cat == "letters" && l.article(0) {
		return false
	}
	last := l.last()
	if last.cat == "letters" && l.haltSalute(0) {
		return false
	}
	joined := isDash(l.peek(1)) && letterWord(l.peek(2), l.v)
	switch {
	case w.text == "M" && last.cat == "num" || w.text == "X" && last.cat == "num" && l.peek(1).kind == 'n':
		return false
	case (w.text == "L" || w.text == "R") && !joined && l.takesHand(last):
		return false
	case l.upper && w.text == "A":
		return l.capitalLetterA(last)
	}
	if _, ok := l.v.abbr[w.text]; ok && !joined {
		return !l.abbreviationHere(last)
	}
	return true
}

// capitalLetterA reports whether the "A" of a line all in capitals is the letter and not the
// article: no noun or number follows where a letter was not asked for.
func (l *lexer) capitalLetterA(last tok) bool {
	rest := lexer{v: l.v, w: l.w, i: l.i + 1}
	m, _ := l.v.longest(rest.lows())
	next := l.peek(1)
	noun := next.kind == 'n' || m.cat == "act" || m.cat == "pace" || m.cat == "form" || m.cat == "variety" || m.cat == "num" || m.cat == "frac" || m.cat == "qual"
	switch last.cat {
	case "letters":
		return !noun || isDash(l.peek(-1))
	case "join":
		return !noun || l.betweenOpen()
	case "prep":
		stops := m.cat == "pace" || m.cat == "form" || m.cat == "variety" || m.cat == "act" && m.val == "halt"
		return !(stops && (last.val == "to" || last.val == "from"))
	}
	if n := len(l.out); last.cat == "sep" && n > 1 && noun { // "BETWEEN C AND M, A TRANSITION TO TROT"
		return l.out[n-2].cat != "letters" && !(m.cat == "qual" && m.val == "develop")
	}
	return last.cat == "sep"
}

// takesHand reports whether L or R after t means left or right.
func (l *lexer) takesHand(t tok) bool {
	switch t.cat {
	case "act", "pace", "variety", "form", "num", "unit", "skip", "open", "frac":
		return t.cat != "skip" || t.val == "" && l.headSoFar()
	}
	return false
}

// headSoFar reports whether a head word was met since the last separator.
func (l *lexer) headSoFar() bool {
	for i := len(l.out) - 1; i >= 0 && l.out[i].cat != "sep"; i-- {
		switch l.out[i].cat {
		case "act", "pace", "variety":
			return true
		}
	}
	return false
}

// abbreviationHere tells HP (half-pass) from H-P: letters open a clause, abbreviations follow
// letters or come before a number, a hand or a place.
func (l *lexer) abbreviationHere(last tok) bool {
	if last.cat == "letters" || last.cat == "num" || last.cat == "frac" || l.headSoFar() {
		return last.cat != "prep"
	}
	n := l.peek(1)
	return last.cat != "prep" && (n.kind == 'n' || n.text == "L" || n.text == "R" || n.kind == 'e' && len(l.out) > 0)
}

// article reports a capital "A" that begins a phrase ("A few steps") rather than naming the letter.
func (l *lexer) article(k int) bool {
	w := l.peek(k)
	if len(w.text) != 1 || !l.v.small[w.low] || isDash(l.peek(k-1)) {
		return false
	}
	rest := lexer{v: l.v, w: l.w, i: l.i + k}
	m, n := l.v.longest(rest.lows())
	return n > 1 && (m.cat == "qual" || m.cat == "frac")
}

// haltSalute reports "H-S" after other letters: halt and salute, not a line.
func (l *lexer) haltSalute(n int) bool {
	return l.peek(n).text == "H" && isDash(l.peek(n+1)) && l.peek(n+2).text == "S" && !letterWord(l.peek(n+3), l.v) && !isDash(l.peek(n+3))
}

// group reads "MXK", "M-X-K", "M X K" as one list of letters.
func (l *lexer) group() {
	var letters []string
	n := 0
	for {
		for _, c := range l.peek(n).text {
			letters = append(letters, strings.ToUpper(string(c)))
		}
		n++
		if isDash(l.peek(n)) && letterWord(l.peek(n+1), l.v) {
			n++
			continue
		}
		w := l.peek(n)
		_, abbr := l.v.abbr[w.text]
		if !letterWord(w, l.v) || l.article(n) || abbr || l.haltSalute(n) || l.upper && w.text == "A" {
			break
		}
	}
	l.emit(tok{cat: "letters", letters: letters}, n)
}
