package remarks

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"ringcraft/internal/terms"
)

// sense is how a word names a quality: the thing itself, having it, lacking it, or more of either.
type sense int

const (
	asNoun sense = iota
	asHigh
	asLow
	higher
	lower
	senses
)

// framer is terms.Frames compiled.
type framer struct {
	concepts []terms.Concept
	words    *book // owner: concept*senses + sense
	with     []*book
	markers  *book
	classes  []string // owner of markers
}

var framerOnce = sync.OnceValue(func() *framer {
	f, err := compileFrames(terms.Words())
	if err != nil {
		panic("remarks: frames: " + err.Error()) // caught by the package's tests
	}
	return f
})

func compileFrames(v *terms.Vocabulary) (*framer, error) {
	f := &framer{concepts: v.Frames.Concepts, words: newBook(), markers: newBook()}
	var bad []error
	note := func(where string, err error) {
		if err != nil {
			bad = append(bad, fmt.Errorf("%s: %w", where, err))
		}
	}
	for class := range v.Frames.Markers {
		f.classes = append(f.classes, class)
	}
	slices.Sort(f.classes)
	for n, class := range f.classes {
		for _, w := range v.Frames.Markers[class] {
			note(class, f.markers.addWords(w, n))
		}
	}
	for n, c := range f.concepts {
		for s, list := range [senses][]string{c.Noun, c.High, c.Low, comparatives(c.High), comparatives(c.Low)} {
			for _, p := range list {
				note(c.ID, f.words.add(p, n*int(senses)+s, v))
			}
		}
		with := newBook()
		for _, p := range c.With {
			note(c.ID, with.add(p, n, v))
		}
		f.with = append(f.with, with)
		for _, id := range slices.Concat(c.Little, c.Much, c.Varies) {
			if _, ok := lexiconOnce().fault(id); !ok {
				note(c.ID, fmt.Errorf("no fault %q", id))
			}
		}
	}
	return f, errors.Join(bad...)
}

// addWords adds the words of a marker, which may be negations alone.
func (b *book) addWords(marker string, owner int) error {
	stems := ears().stems(strings.Split(marker, "_"))
	if len(stems) == 0 {
		return fmt.Errorf("marker %q has no word that is heard", marker)
	}
	b.phrases = append(b.phrases, phrase{items: []item{{alts: [][]string{stems}}}})
	b.owner = append(b.owner, owner)
	b.byFirst[stems[0]] = append(b.byFirst[stems[0]], len(b.phrases)-1)
	return nil
}

// comparatives are the forms in -er of the single short words.
func comparatives(words []string) []string {
	var out []string
	for _, w := range words {
		n := len(w)
		switch {
		case strings.ContainsAny(w, " _-") || n > 8 || strings.HasSuffix(w, "ing") || strings.HasSuffix(w, "ed"):
		case strings.HasSuffix(w, "e"):
			out = append(out, w+"r")
		case strings.HasSuffix(w, "y"):
			out = append(out, w[:n-1]+"ier")
		case n <= 4 && strings.ContainsAny(w[n-2:n-1], "aiou") && !strings.ContainsAny(w[n-3:n-2], "aeiou") && !strings.ContainsAny(w[n-1:], "wx"):
			out = append(out, w+w[n-1:]+"er")
		default:
			out = append(out, w+"er")
		}
	}
	return out
}

func (l *lexicon) fault(id terms.Fault) (entry, bool) {
	for _, e := range l.entries {
		if e.ID == id && e.role == aFault {
			return e, true
		}
	}
	return entry{}, false
}

// direction is what is said of a quality.
type direction int

const (
	nothing direction = iota
	tooLittle
	tooMuch
	varying
)

// framed names faults by their structure: a quality and the direction said of it.
func framed(ts []token, c context) []found {
	f := framerOnce()
	hits := longest(f.words.find(ts))
	marks := f.markers.find(ts)
	var out []found
	for _, h := range hits {
		con := f.concepts[h.owner/int(senses)]
		s := sense(h.owner % int(senses))
		a, b := clause(ts, h)
		if len(con.With) > 0 && !f.near(ts, h) {
			continue
		}
		m := f.around(ts, hits, marks, h, a, b)
		var list []terms.Fault
		switch m.decide(con, s) {
		case tooLittle:
			list = con.Little
		case tooMuch:
			list = con.Much
		case varying:
			list = con.Varies
		}
		if e, special, ok := choose(list, con, c); ok {
			out = append(out, found{entry: e, from: min(h.from, m.from), to: max(h.to, m.to), words: h.to - h.from + 1, special: special})
		}
	}
	return out
}

// near reports whether a word that the quality needs stands in its sentence.
func (f *framer) near(ts []token, h hit) bool {
	a, b := h.from, h.to
	for a > 0 && !ts[a].begin {
		a--
	}
	for b < len(ts) && !ts[b].begin {
		b++
	}
	return len(f.with[h.owner/int(senses)].find(ts[a:b])) > 0
}

// clause is the stretch between marks of punctuation, or "but", around a hit.
func clause(ts []token, h hit) (a, b int) {
	a, b = h.from, h.to
	for a > 0 && !ts[a].begin && !ts[a].comma && ts[a-1].word != "but" {
		a--
	}
	for b < len(ts) && !ts[b].begin && !ts[b].comma && ts[b].word != "but" {
		b++
	}
	return a, b
}

// choose takes the first fault that belongs to the movement, else the first that may be said of any.
func choose(list []terms.Fault, con terms.Concept, c context) (entry, int, bool) {
	l := lexiconOnce()
	var anyOne *entry
	for _, id := range list {
		e, _ := l.fault(id)
		switch {
		case e.Special(c.subject()) && !excluded(e.Word, c):
			return e, 2, true
		case e.Special(c.named) && !excluded(e.Word, c):
			return e, 1, true
		case c.loose && con.Special:
			return e, 1, true
		case anyOne == nil && general(e.Kinds) && !e.OnlyHere && !excluded(e.Word, c):
			anyOne = &e
		}
	}
	if anyOne == nil || con.Special {
		return entry{}, 0, false
	}
	return *anyOne, 0, true
}
