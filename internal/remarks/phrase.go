package remarks

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"ringcraft/internal/terms"
)

// maxGap is how many words ".." may stand for.
const maxGap = 3

// phrase is a compiled pattern of the vocabulary.
type phrase struct {
	items   []item
	negates bool     // begins with a negation of its own
	with    []phrase // parts after "&": said near it, in any order
}

type item struct {
	alts     [][]string // each a run of stems
	optional bool
	gap      bool
}

// compilePhrase reads a pattern: "a|b" alternatives, "a_b" two words in one alternative, "x?"
// may be missing, ".." up to three words, "<name>" a class of words, "x & y" both within a
// few words in any order. Small words are left out as they are in remarks.
func compilePhrase(pattern string, v *terms.Vocabulary) (phrase, error) {
	p, err := compileParts(pattern, v)
	if err != nil {
		return p, fmt.Errorf("phrase %q: %w", pattern, err)
	}
	must := p.mandatory()
	for _, w := range p.with {
		must = must || w.mandatory()
		p.negates = p.negates || w.negates
	}
	if !must {
		return p, fmt.Errorf("phrase %q has no word that must be said", pattern)
	}
	return p, nil
}

func compileParts(pattern string, v *terms.Vocabulary) (phrase, error) {
	var p phrase
	head, tail, joined := strings.Cut(pattern, " & ")
	if joined {
		rest, err := compileParts(tail, v)
		if err != nil {
			return p, err
		}
		p.with = append([]phrase{rest}, rest.with...)
		p.with[0].with = nil
		pattern = head
	}
	for _, f := range strings.Fields(pattern) {
		if f == ".." {
			p.items = append(p.items, item{gap: true})
			continue
		}
		it, err := compileItem(f, v)
		if err != nil {
			return p, err
		}
		if len(it.alts) > 0 {
			p.items = append(p.items, it)
		}
	}
	for s := range p.firstStems() {
		if ears().negation[s] || s == "not" {
			p.negates = true
		}
	}
	return p, nil
}

func compileItem(f string, v *terms.Vocabulary) (item, error) {
	var it item
	for _, alt := range strings.Split(f, "|") {
		if strings.HasSuffix(alt, "?") {
			it.optional, alt = true, strings.TrimSuffix(alt, "?")
		}
		alts := []string{alt}
		if name, ok := strings.CutPrefix(alt, "<"); ok {
			class, known := v.Classes[strings.TrimSuffix(name, ">")]
			if !known {
				return it, fmt.Errorf("no word class %s", alt)
			}
			alts = class
		}
		for _, a := range alts {
			if a == "" {
				return it, errors.New("empty alternative")
			}
			if stems := ears().stems(strings.Split(strings.ToLower(a), "_")); len(stems) > 0 {
				it.alts = append(it.alts, stems)
			}
		}
	}
	return it, nil
}

// stems are the words of a phrase as remarks are heard, small words left out.
func (e *ear) stems(words []string) []string {
	var out []string
	for _, w := range words {
		switch {
		case e.filler[w]:
		case e.plainNot(w):
			out = append(out, "not")
		default:
			out = append(out, stem(w))
		}
	}
	return out
}

func (p phrase) mandatory() bool {
	for _, it := range p.items {
		if it.optional || it.gap {
			continue
		}
		for _, a := range it.alts {
			if len(a) > 1 || a[0] != "not" {
				return true
			}
		}
	}
	return false
}

// firstStems are the words that a match may begin with.
func (p phrase) firstStems() map[string]bool {
	out := map[string]bool{}
	for _, it := range p.items {
		for _, a := range it.alts {
			out[a[0]] = true
		}
		if !it.optional && !it.gap {
			break
		}
	}
	return out
}

// nearWords is how far apart the parts of "x & y" may stand.
const nearWords = 4

// matchAt returns the span of the longest match of p whose first part begins at ts[i] and
// which words its parts cover, or an end of -1.
func (p phrase) matchAt(ts []token, i int) (from, to int, cover []int) {
	from, to = i, p.match(ts, i, i, 0)
	if to <= i {
		return i, -1, nil
	}
	if ears().quality[ts[i].stem] && governsQuality(ts, to) {
		return i, -1, nil
	}
	type span struct{ from, to int }
	var held [4]span // where the parts after "&" stand; covers are built only once all are found
	parts := held[:0]
	head := span{from, to}
	for _, w := range p.with {
		a, b := w.nearest(ts, from, to)
		if b < 0 {
			return i, -1, nil
		}
		parts = append(parts, span{a, b})
		from, to = min(from, a), max(to, b)
	}
	cover = p.covered(ts, head.from, head.to)
	for n, w := range p.with {
		cover = append(cover, w.covered(ts, parts[n].from, parts[n].to)...)
	}
	return from, to, cover
}

// covered are the words of ts[a:b] that a part names; what ".." stands for is not among them.
func (p phrase) covered(ts []token, a, b int) []int {
	gaps := slices.ContainsFunc(p.items, func(it item) bool { return it.gap })
	var out []int
	for i := a; i < b; i++ {
		if !gaps || p.names(ts[i].stem) {
			out = append(out, i)
		}
	}
	return out
}

func (p phrase) names(stem string) bool {
	return slices.ContainsFunc(p.items, func(it item) bool {
		return slices.ContainsFunc(it.alts, func(alt []string) bool { return slices.Contains(alt, stem) })
	})
}

// nearest finds the part within a few words of from..to, in the same sentence, with no
// negation between.
func (p phrase) nearest(ts []token, from, to int) (a, b int) {
	for gap := 0; gap <= nearWords; gap++ {
		if j := to + gap; j < len(ts) && clear(ts, to, j) && !ts[j].begin {
			// A bare "not" after the word belongs to what follows it.
			if end := p.match(ts, j, j, 0); end > j && !(end == j+1 && ts[j].not) && !governsQuality(ts, end) {
				return j, end
			}
		}
		if e := from - gap; e > 0 && clear(ts, e, from) && (!qualityIn(ts, e, from) || joined(ts[from])) && !governsQuality(ts, to) {
			for j := max(0, e-3); j < e; j++ {
				if end := p.match(ts, j, j, 0); end == e && !anyBegin(ts, j+1, from+1) {
					return j, end
				}
			}
		}
	}
	return 0, -1
}

// clear reports whether no sentence begins and no negation or "but" stands in ts[a:b].
func clear(ts []token, a, b int) bool {
	for _, t := range ts[a:b] {
		if t.begin || t.not || t.word == "but" {
			return false
		}
	}
	return true
}

func anyBegin(ts []token, a, b int) bool {
	for _, t := range ts[a:min(b, len(ts))] {
		if t.begin {
			return true
		}
	}
	return false
}

func (p phrase) match(ts []token, start, i, k int) int {
	if k == len(p.items) {
		return i
	}
	it := p.items[k]
	best := -1
	keep := func(end int) {
		if end > best {
			best = end
		}
	}
	if it.gap {
		for skip := 0; skip <= maxGap && i+skip <= len(ts); skip++ {
			if skip > 0 && (i+skip-1 >= len(ts) || ts[i+skip-1].begin || ts[i+skip-1].not) {
				break
			}
			keep(p.match(ts, start, i+skip, k+1))
		}
		return best
	}
	for _, a := range it.alts {
		if spokenAt(ts, start, i, a) {
			keep(p.match(ts, start, i+len(a), k+1))
		}
	}
	if it.optional {
		keep(p.match(ts, start, i, k+1))
	}
	return best
}

// spokenAt reports whether the stems stand at ts[i], within the sentence that began the match.
func spokenAt(ts []token, start, i int, stems []string) bool {
	if i+len(stems) > len(ts) {
		return false
	}
	for j, s := range stems {
		if t := ts[i+j]; t.stem != s || t.begin && i+j != start || t.told && ears().more[s] {
			return false
		}
	}
	return true
}

// book is a set of phrases found by their first word, each pointing at an owner.
type book struct {
	phrases []phrase
	owner   []int
	byFirst map[string][]int
}

func newBook() *book { return &book{byFirst: map[string][]int{}} }

func (b *book) add(pattern string, owner int, v *terms.Vocabulary) error {
	p, err := compilePhrase(pattern, v)
	if err != nil {
		return err
	}
	n := len(b.phrases)
	b.phrases = append(b.phrases, p)
	b.owner = append(b.owner, owner)
	for s := range p.firstStems() {
		b.byFirst[s] = append(b.byFirst[s], n)
	}
	return nil
}

// hit is a phrase found: tokens from, to (exclusive) and whose phrase it was.
type hit struct {
	from, to int
	cover    []int // tokens covered by its parts
	owner    int
	negated  bool
	negates  bool // the phrase holds its own negation
}

// find returns every phrase in the tokens, in order of its first part and then of the book.
func (b *book) find(ts []token) []hit {
	var out []hit
	for i := range ts {
		for _, n := range b.byFirst[ts[i].stem] {
			p := b.phrases[n]
			if from, to, cover := p.matchAt(ts, i); to > from {
				out = append(out, hit{from, to, cover, b.owner[n], !p.negates && negatedAt(ts, from), p.negates})
			}
		}
	}
	return out
}

// negatedAt reports whether a negation stands at most two words before i in its sentence.
func negatedAt(ts []token, i int) bool {
	if ts[i].begin {
		return false
	}
	for j := i - 1; j >= 0 && j >= i-2; j-- {
		if ts[j].not && !ts[j].spent && !ts[j].bids && !(ts[j].word == "no" && ts[j].first) {
			return true
		}
		if ts[j].begin {
			break
		}
	}
	return bygone(ts, i)
}

// bygone reports whether "used to" or "last week" puts a phrase at i into the past, or an
// opening "if" into what may never come.
func bygone(ts []token, i int) bool {
	for j := i - 1; j >= 0 && j >= i-4; j-- {
		switch w := ts[j].word; {
		case w == "used" && j+1 < len(ts) && ts[j+1].word == "to",
			w == "last" && j+1 < len(ts) && (ts[j+1].word == "week" || ts[j+1].word == "month" || ts[j+1].word == "year"),
			w == "yesterday", w == "if" && ts[j].first:
			return true
		}
		if ts[j].begin {
			break
		}
	}
	return false
}

// spend marks the negations that belong to a phrase of their own ("not square, stepped
// back": nothing denies the step), so that they turn nothing else round.
func spend(ts []token, hs []hit, counts func(owner int) bool) {
	for _, h := range hs {
		if !h.negates || !counts(h.owner) {
			continue
		}
		for i := h.from; i < h.to; i++ {
			if ts[i].not {
				ts[i].spent = true
				break
			}
		}
	}
}
