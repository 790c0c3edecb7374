package remarks

import (
	"errors"
	"slices"
	"strconv"
	"sync"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// guide is the movement-naming vocabulary compiled: words that point to kinds, paces,
// letters, and to the phases of a commentary.
type guide struct {
	kinds, paces          *book
	ahead, back           *book
	start, finish, talk   *book
	lesson, off, again    *book
	topic                 *book
	letters               map[string]string // heard -> letter
	weak                  map[string]bool
	letterAfter, weakTail map[string]bool
}

var guideOnce = sync.OnceValue(func() *guide {
	g, err := compileGuide(terms.Words())
	if err != nil {
		panic("remarks: movement words: " + err.Error()) // caught by the package's tests
	}
	return g
})

func compileGuide(v *terms.Vocabulary) (*guide, error) {
	g := &guide{letters: map[string]string{}, weak: map[string]bool{}, letterAfter: map[string]bool{},
		weakTail: map[string]bool{"at": true, "past": true, "between": true, "letter": true}}
	var bad []error
	fill := func(b **book, owner int, patterns []string) {
		if *b == nil {
			*b = newBook()
		}
		for _, p := range patterns {
			if e := (*b).add(p, owner, v); e != nil {
				bad = append(bad, e)
			}
		}
	}
	for i, k := range v.Movements.Kinds {
		fill(&g.kinds, i, k.Say)
	}
	for i, p := range v.Movements.Paces {
		fill(&g.paces, i, p.Say)
	}
	fill(&g.ahead, 0, v.Movements.LookAhead)
	fill(&g.back, 0, v.Movements.LookBack)
	fill(&g.start, 0, v.Phases.Start)
	fill(&g.finish, 0, v.Phases.Finish)
	fill(&g.talk, 0, v.Phases.Talk)
	fill(&g.lesson, 0, v.Phases.Lesson)
	fill(&g.off, 0, v.Phases.Off)
	fill(&g.again, 0, v.Phases.Again)
	fill(&g.topic, 0, v.Phases.Topic)
	for letter, heard := range v.Movements.Letters {
		for _, h := range heard {
			g.letters[h] = letter
		}
	}
	for _, w := range v.Movements.LettersWeak {
		g.weak[w] = true
	}
	for _, w := range v.Movements.LetterAfter {
		g.letterAfter[w] = true
	}
	return g, errors.Join(bad...)
}

// named is what the words of one remark point to.
type named struct {
	kinds    []terms.Kind // as said, in order
	weights  map[terms.Kind]float64
	paces    []terms.PaceWords
	letters  []string
	hand     rideplan.Hand
	sizes    []int
	ordinal  string // "first", "second", "third", "last", ""
	ahead    bool
	back     bool
	off      int // phrases that have nothing to do with the ride
	topic    int // words of horse, rider and arena
	talk     int
	lesson   int
	start    int
	finish   int
	again    int
	own      int     // vocabulary words found: faults, praise, aids
	soft     []found // faults that belong to kinds of their own
	wordsLen int
}

// point collects what a remark names.
func point(text string) named {
	g, v := guideOnce(), terms.Words()
	ts := listen(text)
	n := named{weights: map[terms.Kind]float64{}, wordsLen: len(ts)}
	for _, h := range longest(g.kinds.find(ts)) {
		k := v.Movements.Kinds[h.owner]
		if !slices.Contains(n.kinds, k.Kind) {
			n.kinds = append(n.kinds, k.Kind)
		}
		n.weights[k.Kind] = 1
		n.handNear(ts, h)
	}
	for _, k := range n.kinds {
		for _, kw := range v.Movements.Kinds {
			if kw.Kind == k {
				for a, w := range kw.Also {
					n.weights[a] = max(n.weights[a], w)
				}
			}
		}
	}
	for _, h := range g.paces.find(ts) {
		n.paces = append(n.paces, v.Movements.Paces[h.owner])
	}
	n.letters = g.lettersIn(text)
	n.figures(ts)
	n.ahead = len(g.ahead.find(ts)) > 0
	n.back = len(g.back.find(ts)) > 0
	n.off, n.talk, n.lesson = len(g.off.find(ts)), len(g.talk.find(ts)), len(g.lesson.find(ts))
	n.topic = len(g.topic.find(ts))
	n.start, n.finish, n.again = len(g.start.find(ts)), len(g.finish.find(ts)), len(g.again.find(ts))
	n.own = len(findWords(ts, context{named: n.kinds}))
	for _, f := range findWords(ts, context{named: n.kinds, loose: true}) {
		if f.role <= aPraise && !general(f.Kinds) {
			n.soft = append(n.soft, f)
		}
	}
	return n
}

func general(ks []terms.Kind) bool { return slices.Contains(ks, terms.AnyKind) }

// longest keeps, of overlapping hits, the longest ("half circle" hides "circle"). Hits come
// in order of their first word, so only near neighbours need a look.
func longest(hs []hit) []hit {
	var out []hit
	for i, h := range hs {
		hidden := false
		for j := i - 1; j >= 0 && h.from-hs[j].from <= longestPhrase && !hidden; j-- {
			hidden = hs[j].hides(h)
		}
		for j := i + 1; j < len(hs) && hs[j].from <= h.from && !hidden; j++ {
			hidden = hs[j].hides(h)
		}
		if !hidden {
			out = append(out, h)
		}
	}
	return out
}

// longestPhrase is more words than any phrase of the vocabulary can span.
const longestPhrase = 24

func (h hit) hides(o hit) bool {
	return h.from <= o.from && o.to <= h.to && h.to-h.from > o.to-o.from
}

// handNear reads "left" or "right" within two words of the name of a movement.
func (n *named) handNear(ts []token, h hit) {
	for i := max(0, h.from-2); i < min(len(ts), h.to+2); i++ {
		if i > 0 && i < h.from && ts[i+1].begin {
			continue
		}
		next := ""
		if i+1 < len(ts) {
			next = ts[i+1].stem
		}
		if next == "hind" || next == "leg" || next == "hand" || next == "shoulder" || next == "for" || next == "back" {
			continue
		}
		switch ts[i].word {
		case "left":
			n.hand = rideplan.Left
		case "right":
			n.hand = rideplan.Right
		}
	}
}

func (n *named) figures(ts []token) {
	for i, t := range ts {
		if v, err := strconv.Atoi(t.word); err == nil && i+1 < len(ts) && ts[i+1].word == "m" {
			n.sizes = append(n.sizes, v)
		}
		n.notSize(ts, i)
		switch t.word {
		case "first", "second", "third", "last", "final":
			if i+1 < len(ts) || i > 0 {
				n.ordinal = t.word
			}
		}
	}
	if n.ordinal == "final" {
		n.ordinal = "last"
	}
}

// sizeLead are words before a figure that make it the size ridden: "more like seventeen",
// "only fifteen", "grown to a twelve".
var sizeLead = map[string]bool{"more": true, "nearer": true, "closer": true, "only": true, "about": true, "barely": true, "nearly": true,
	"almost": true, "to": true, "into": true, "became": true, "around": true, "roughly": true}

// notSize reads "more like a twelve" and "a fifteen not a twenty": the figure that is no
// asked size, or the first, is what was ridden.
func (n *named) notSize(ts []token, i int) {
	v, err := strconv.Atoi(ts[i].word)
	if err != nil || v < 5 || v > 30 {
		return
	}
	for j := i - 1; j >= 0 && j >= i-2 && !ts[j+1].begin; j-- {
		if sizeLead[ts[j].word] && (i+1 == len(ts) || ts[i+1].stem != "step" && ts[i+1].stem != "strid" && ts[i+1].stem != "second") {
			n.sizes = append(n.sizes, v)
			return
		}
	}
	if len(n.sizes) > 0 {
		return
	}
	for j := i + 1; j < len(ts) && j <= i+3; j++ {
		if _, err := strconv.Atoi(ts[j].word); err == nil && j > i+1 && ts[j-1].not {
			n.sizes = append(n.sizes, v)
			return
		}
	}
}

// lettersIn finds arena letters: capitals standing alone, and letters as a recogniser
// writes them ("at see") after a word that a letter follows.
func (g *guide) lettersIn(text string) []string {
	raw := rawWords(text)
	var out []string
	for i, t := range raw {
		letter, ok := g.letters[t.word]
		if !ok {
			continue
		}
		prev := ""
		if i > 0 && !t.begin {
			prev = raw[i-1].word
		}
		last := i+1 == len(raw) || raw[i+1].begin
		good := t.upper && t.word != "i" && (t.word != "a" || prev != "" && g.letterAfter[prev])
		switch {
		case good:
		case g.weak[t.word]:
			good = g.weakTail[prev] && (t.word != "a" && t.word != "i" && t.word != "our" && t.word != "he" || last)
		default:
			good = g.letterAfter[prev] || len(t.word) == 1 && t.word != "s" && t.word != "m"
		}
		if good && !slices.Contains(out, letter) {
			out = append(out, letter)
		}
	}
	return out
}
