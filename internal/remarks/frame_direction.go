package remarks

import (
	"slices"
	"strings"

	"ringcraft/internal/terms"
)

// saidAround are the markers that bear on a quality, before and after its word.
type saidAround struct {
	pre, post map[string]bool
	not       bool // a negation before
	notAfter  bool
	enough    bool
	bid       bool // "don't" before it
	stated    bool // "he's straighter", "has more angle": told, not asked for
	opens     bool // what is said of it opens the clause
	from, to  int
}

// Words between a quality and what is said of it.
const (
	reachBefore = 4
	reachAfter  = 2
)

// around collects the markers of a hit. A marker belongs to the quality that follows it, if
// one does ("lost angle too much neck"), else to the one before.
func (f *framer) around(ts []token, hits []hit, marks []hit, h hit, a, b int) saidAround {
	m := saidAround{pre: map[string]bool{}, post: map[string]bool{}, from: h.from, to: h.to}
	a, b = max(a, h.from-reachBefore), min(b, h.to+reachAfter+1)
	for _, o := range hits {
		if o.to <= h.from && o.to > a && o.owner/int(senses) != h.owner/int(senses) {
			a = o.to
		}
		if o.from >= h.to && o.from < b && !overlaps(o, h) {
			b = o.from
		}
	}
	for _, k := range marks {
		class := f.classes[k.owner]
		switch {
		case idle(ts, k, h):
		case k.from >= a && k.to <= h.from:
			m.pre[class] = true
			m.from = min(m.from, k.from)
			m.stated = m.stated || class == "more" && ts[k.from].told
		case k.from >= h.to && k.from < b && !governs(ts, hits, k):
			m.post[class] = true
			m.to = max(m.to, k.to)
		}
	}
	for j := a; j < b; j++ {
		m.pre["wish"] = m.pre["wish"] || j <= h.from && hopes(ts[j].lead)
		switch {
		case ts[j].stem == "enough":
			m.enough = true
		case ts[j].bids && j < h.from && (j+1 == h.from || ts[j+1].word == "go" || ts[j+1].word == "so" || ts[j+1].word == "too"): // what is forbidden is what is seen
			m.bid = true
		case ts[j].not && j < h.from && h.from-j <= 3:
			m.not = true
			m.from = min(m.from, j)
		case ts[j].not && j >= h.to:
			m.notAfter = true
			m.to = max(m.to, j+1)
		}
	}
	m.stated = m.stated || m.pre["stated"] || m.post["stated"] || ts[h.from].told
	opening, _ := clause(ts, h)
	m.opens = m.from == opening
	return m
}

func overlaps(a, b hit) bool { return a.from < b.to && b.from < a.to }

// idle reports whether a marker says nothing of the quality: "a little stiff", "swinging a
// little", "she wants to stretch".
func idle(ts []token, k, h hit) bool {
	switch ts[k.from].stem {
	case "little":
		return k.to == k.from+1 && (k.from >= h.to || slices.Contains(strings.Fields(ts[k.from].lead), "a"))
	case "want":
		return k.to < len(ts) && ts[k.to].word == "to"
	case "to": // recognisers write it for "too"; after a verb it is itself
		return ts[k.from].word == "to" && k.from > 0 && !ts[k.from].begin
	}
	return false
}

// governs reports whether another quality follows a marker at once.
func governs(ts []token, hits []hit, k hit) bool {
	return slices.ContainsFunc(hits, func(o hit) bool { return o.from == k.to && o.from < len(ts) && !ts[o.from].begin })
}

// tells reports whether the small words before a word make it a statement.
func tells(lead string) bool {
	for _, w := range strings.Fields(lead) {
		switch w {
		case "has", "have", "had", "hes", "shes", "thats", "is", "was", "were", "theyre", "youre", "got":
			return true
		}
	}
	return false
}

// hopes reports whether the small words before a word make it a wish.
func hopes(lead string) bool {
	for _, w := range strings.Fields(lead) {
		if w == "perhaps" || w == "maybe" || w == "would" {
			return true
		}
	}
	return false
}

// decide says what a clause says of a quality.
func (m saidAround) decide(c terms.Concept, s sense) direction {
	if m.pre["keep"] && s != asLow {
		return nothing
	}
	if m.bid && s == asHigh && len(c.Much) > 0 {
		return tooMuch
	}
	if c.ComparativeOnly && s <= asLow {
		return nothing
	}
	switch s {
	case asNoun:
		return m.ofNoun(c)
	case asHigh:
		return m.ofHigh(c)
	case asLow:
		return m.ofLow(c)
	}
	return m.ofComparative(c, s)
}

func (m saidAround) either(class string) bool { return m.pre[class] || m.post[class] }

func (m saidAround) wished() bool { return m.pre["wish"] || m.pre["need"] || m.post["wish"] }

func (m saidAround) ofNoun(c terms.Concept) direction {
	told := m.stated && !m.wished()
	switch {
	case m.either("varies") && len(c.Varies) > 0:
		return varying
	case m.either("much"):
		if m.not {
			return nothing
		}
		return tooMuch
	case m.pre["more"], (m.post["more"] || m.either("better")) && m.wished() || m.post["more"] && m.post["need"]:
		if told {
			return nothing
		}
		return tooLittle
	case c.MoreOnly:
		return nothing
	case m.either("less"):
		if m.pre["slight"] || m.wished() || m.pre["need"] {
			return tooMuch
		}
		return tooLittle
	case m.not, m.either("lack"), m.notAfter, m.pre["need"], m.post["need"]:
		return tooLittle
	}
	return nothing
}

func (m saidAround) ofHigh(c terms.Concept) direction {
	switch {
	case m.either("less"):
		if len(c.Much) > 0 && (m.wished() || m.pre["slight"] || m.not) {
			return tooMuch
		}
		return tooLittle
	case m.pre["too"]:
		if m.not {
			return nothing
		}
		return tooMuch
	case m.not && len(c.Much) > 0 && !m.enough:
		return nothing // "not hurried" is as it should be
	case m.not:
		return tooLittle
	case m.pre["more"]:
		if (m.stated || !m.opens) && !m.wished() && !m.pre["slight"] {
			return nothing
		}
		return tooLittle
	case m.pre["wish"], m.pre["need"]:
		return tooLittle
	case c.BareHigh:
		return tooMuch
	}
	return nothing
}

func (m saidAround) ofLow(c terms.Concept) direction {
	twoSided := len(c.Much) > 0
	switch {
	case m.either("less"):
		if m.stated && !m.wished() {
			return nothing
		}
		return tooLittle
	case m.not:
		return nothing
	case twoSided && !m.pre["too"] && (m.pre["more"] || m.wished()):
		return tooMuch
	case c.LowByMore && !m.pre["too"] && !m.pre["slight"]:
		return nothing
	}
	return tooLittle
}

// ofComparative hears "rounder", "a shade smaller", "sooner": asked for unless told.
func (m saidAround) ofComparative(c terms.Concept, s sense) direction {
	asked := m.wished() || m.pre["slight"]
	if m.stated && !m.wished() || !asked || m.not {
		return nothing
	}
	switch {
	case s == higher:
		return tooLittle
	case len(c.Much) > 0:
		return tooMuch
	case m.wished():
		return nothing
	}
	return tooLittle
}
