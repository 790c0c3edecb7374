package remarks

import (
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"sync"

	"ringcraft/internal/terms"
)

// sort of words found in a remark.
type role int

const (
	aFault role = iota
	aPraise
	anAid
	aCause
)

// entry is a vocabulary word with its role and its place in file order.
type entry struct {
	terms.Word
	role role
}

// lexicon is the vocabulary compiled: three books whose owners are entries.
type lexicon struct {
	entries         []entry
	say, here, none *book
}

var lexiconOnce = sync.OnceValue(func() *lexicon {
	l, err := compileLexicon(terms.Words())
	if err != nil {
		panic("remarks: vocabulary: " + err.Error()) // caught by the package's tests
	}
	return l
})

func compileLexicon(v *terms.Vocabulary) (*lexicon, error) {
	l := &lexicon{say: newBook(), here: newBook(), none: newBook()}
	var bad []error
	lists := [][]terms.Word{aFault: v.Faults, aPraise: v.Praise, anAid: v.Aids, aCause: v.Causes}
	for r, list := range lists {
		for _, w := range list {
			n := len(l.entries)
			l.entries = append(l.entries, entry{w, role(r)})
			for _, set := range []struct {
				b    *book
				list []string
			}{{l.say, w.Say}, {l.here, w.Here}, {l.none, w.NotSay}} {
				for _, p := range set.list {
					if err := set.b.add(p, n, v); err != nil {
						bad = append(bad, fmt.Errorf("%s: %w", w.ID, err))
					}
				}
			}
		}
	}
	return l, errors.Join(bad...)
}

// found is one vocabulary word in a remark.
type found struct {
	entry
	from, to int
	words    int   // covered
	cover    []int // which
	special  int   // 2: belongs to a kind that the remark names, 1: to one of the movement, 0: general
	here     bool
}

// context is what is known about the movement a remark belongs to.
type context struct {
	named  []terms.Kind // kinds that the remark itself names
	placed []terms.Kind // kinds of the movement it was placed on
	loose  bool         // let words of any kind through: which movement is not known yet
}

// focus are the kinds that the remark speaks of: those it names that the movement holds, else
// all of the movement's, else all it names.
func (c context) focus() []terms.Kind {
	if len(c.placed) == 0 {
		return c.named
	}
	var both []terms.Kind
	for _, k := range c.named {
		if slices.Contains(c.placed, k) {
			both = append(both, k)
		}
	}
	if len(both) > 0 {
		return both
	}
	return c.placed
}

// subject are the kinds that weigh most: those named that the movement holds. A kind named
// that it does not hold is most often a manner of speaking ("that turn was a volte").
func (c context) subject() []terms.Kind {
	if len(c.placed) == 0 {
		return c.named
	}
	return c.focus()
}

// findWords names the vocabulary words in a remark, given what it is about. Longer phrases
// hide shorter ones inside them; of two words with the same phrase the one that belongs to
// the movement wins.
func findWords(ts []token, c context) []found {
	l := lexiconOnce()
	ts = slices.Clone(ts)
	spend(ts, l.say.find(ts), func(owner int) bool { return l.entries[owner].role <= aPraise })
	silenced := l.none.find(ts)
	var all []found
	for _, here := range []bool{false, true} {
		b := l.say
		if here {
			b = l.here
		}
		for _, h := range b.find(ts) {
			if f, ok := l.accept(h, here, c, silenced); ok {
				all = append(all, f)
			}
		}
	}
	return uncovered(withFrames(unhidden(ts, all), framed(ts, c)))
}

// withFrames adds what structure alone tells to what phrases tell: a phrase knows better.
func withFrames(phrases, frames []found) []found {
	out := phrases
	for _, f := range frames {
		if !slices.ContainsFunc(out, func(g found) bool {
			return g.role == aFault && (g.ID == f.ID || g.from < f.to && f.from < g.to)
		}) {
			out = append(out, f)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

// uncovered drops words that say more broadly what another word of the remark says.
func uncovered(fs []found) []found {
	return slices.DeleteFunc(fs, func(f found) bool {
		return slices.ContainsFunc(fs, func(g found) bool { return g.role == f.role && g.ID != f.ID && slices.Contains(g.Covers, f.ID) })
	})
}

func (l *lexicon) accept(h hit, here bool, c context, silenced []hit) (found, bool) {
	w := l.entries[h.owner]
	if h.negated && w.role != anAid {
		return found{}, false
	}
	for _, s := range silenced {
		if s.owner == h.owner && s.from < h.to && h.from < s.to {
			return found{}, false
		}
	}
	f := found{entry: w, from: h.from, to: h.to, words: len(h.cover), cover: h.cover, here: here}
	switch {
	case w.Special(c.subject()):
		f.special = 2
	case w.Special(c.named):
		f.special = 1
	case c.loose:
		f.special = 1
	}
	if f.special == 0 && (here || w.OnlyHere) {
		return found{}, false
	}
	if f.special < 2 && w.role == aFault && excluded(w.Word, c) {
		return found{}, false
	}
	return f, true
}

// excluded reports whether the movement has a word of its own for this fault.
func excluded(w terms.Word, c context) bool {
	kinds := c.focus()
	for _, k := range kinds {
		for _, n := range w.NotKinds {
			if k == n {
				return true
			}
		}
	}
	return false
}

// unhidden drops words whose phrase overlaps a longer or more fitting one of another word of the same sort of role (faults and praise hide each other; aids and causes only
// their own kind).
func unhidden(ts []token, all []found) []found {
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		if a.words != b.words {
			return a.words > b.words
		}
		if a.special != b.special {
			return a.special > b.special
		}
		return a.from < b.from
	})
	var out []found
	for _, f := range all {
		hidden := false
		for _, g := range out {
			if g.ID == f.ID && g.role == f.role || sameMatter(g.role, f.role) && g.from < f.to && f.from < g.to && !beside(ts, f, g) {
				hidden = true
				break
			}
		}
		if !hidden {
			out = append(out, f)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

// beside reports whether two words of a remark share only what both are said of: "rein-back
// crooked and hurried". The word of each that the other does not hold must follow "and" or a comma.
func beside(ts []token, f, g found) bool {
	own := func(a, b found) (linked, any bool) {
		for _, i := range a.cover {
			if !slices.Contains(b.cover, i) {
				any = true
				linked = linked || ts[i].comma || joined(ts[i])
			}
		}
		return
	}
	fj, fa := own(f, g)
	gj, ga := own(g, f)
	return f.role == aFault && g.role == aFault && fa && ga && (fj || gj)
}

// joined reports whether "and" stands before a word.
func joined(t token) bool { return strings.HasSuffix(t.lead, "and ") }

func sameMatter(a, b role) bool { return a == b || a <= aPraise && b <= aPraise }

// ids splits what was found by role, in the order spoken.
func ids(fs []found) (faults, praise, aids, causes []terms.Fault) {
	faults = []terms.Fault{}
	for _, f := range fs {
		switch f.role {
		case aFault:
			faults = append(faults, f.ID)
		case aPraise:
			praise = append(praise, f.ID)
		case anAid:
			aids = append(aids, f.ID)
		case aCause:
			causes = append(causes, f.ID)
		}
	}
	return
}
