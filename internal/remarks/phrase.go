package remarks

import (
	"fmt"
	"strings"

	"ringcraft/internal/terms"
)

// maxGap is how many words ".." may stand for.
const maxGap = 3

// phrase is a compiled pattern of the vocabulary.
type phrase struct {
	items   []item
	negates bool // begins with a negation of its own
}

type item struct {
	stems    map[string]bool
	optional bool
	gap      bool
}

// compilePhrase reads a pattern: "a|b" alternatives, "x?" may be missing, ".." up to three
// words, "<name>" a class of words. Small words are left out as they are in remarks.
func compilePhrase(pattern string, v *terms.Vocabulary) (phrase, error) {
	var p phrase
	e := ears()
	for _, f := range strings.Fields(pattern) {
		if f == ".." {
			p.items = append(p.items, item{gap: true})
			continue
		}
		it := item{stems: map[string]bool{}}
		empty := false
		for _, alt := range strings.Split(f, "|") {
			if strings.HasSuffix(alt, "?") {
				it.optional, alt = true, strings.TrimSuffix(alt, "?")
			}
			words := []string{alt}
			if name, ok := strings.CutPrefix(alt, "<"); ok {
				class, known := v.Classes[strings.TrimSuffix(name, ">")]
				if !known {
					return p, fmt.Errorf("phrase %q: no word class %s", pattern, alt)
				}
				words = class
			}
			for _, w := range words {
				switch lw := strings.ToLower(w); {
				case lw == "":
					return p, fmt.Errorf("phrase %q: empty alternative", pattern)
				case e.filler[lw]:
					empty = true
				case e.negation[lw] && lw != "no" && lw != "without" && lw != "less" && lw != "nothing" && lw != "hardly" && lw != "never":
					it.stems["not"] = true
				default:
					it.stems[stem(lw)] = true
				}
			}
		}
		if len(it.stems) == 0 {
			continue
		}
		it.optional = it.optional || empty
		p.items = append(p.items, it)
	}
	if !p.mandatory() {
		return p, fmt.Errorf("phrase %q has no word that must be said", pattern)
	}
	for s := range p.items[0].stems {
		if s == "not" || e.negation[s] {
			p.negates = true
		}
	}
	return p, nil
}

func (p phrase) mandatory() bool {
	for _, it := range p.items {
		if !it.optional && !it.gap && !(len(it.stems) == 1 && it.stems["not"]) {
			return true
		}
	}
	return false
}

// firstStems are the words that a match may begin with.
func (p phrase) firstStems() map[string]bool {
	out := map[string]bool{}
	for _, it := range p.items {
		for s := range it.stems {
			out[s] = true
		}
		if !it.optional && !it.gap {
			break
		}
	}
	return out
}

// matchAt returns the end (exclusive) of the longest match of p that begins at ts[i], or -1.
func (p phrase) matchAt(ts []token, i int) int { return p.match(ts, i, i, 0) }

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
			if skip > 0 && (i+skip-1 >= len(ts) || ts[i+skip-1].begin) {
				break
			}
			keep(p.match(ts, start, i+skip, k+1))
		}
		return best
	}
	if i < len(ts) && it.stems[ts[i].stem] && (i == start || !ts[i].begin) {
		keep(p.match(ts, start, i+1, k+1))
	}
	if it.optional {
		keep(p.match(ts, start, i, k+1))
	}
	return best
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
	from, to, owner int
	negated         bool
}

// find returns every phrase in the tokens, in order of place and then of the book.
func (b *book) find(ts []token) []hit {
	var out []hit
	for i := range ts {
		for _, n := range b.byFirst[ts[i].stem] {
			p := b.phrases[n]
			if end := p.matchAt(ts, i); end > i {
				out = append(out, hit{i, end, b.owner[n], !p.negates && negatedAt(ts, i)})
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
		if ts[j].not && !(ts[j].word == "no" && ts[j].first) {
			return true
		}
		if ts[j].begin {
			break
		}
	}
	return false
}
