package remarks

import (
	"strings"
	"sync"
	"unicode"

	"ringcraft/internal/terms"
)

// token is one word of a remark as the phrase matcher sees it: lower case, misheard trade
// words put right, small words left out.
type token struct {
	word  string // after putting right
	stem  string
	not   bool   // a negation
	spent bool   // a negation that is part of a phrase of its own
	first bool   // first word of the remark or of a sentence
	begin bool   // a sentence or clause begins here: phrases do not reach across
	upper bool   // was written as a single capital letter
	comma bool   // a comma stands before it
	lead  string // the small words left out just before it
	bids  bool   // "don't" that bids: what it forbids is what is seen
	told  bool   // the sentence tells of more of it, it does not ask: "has more", "more than before"
}

// ear holds the vocabulary in the form the matcher needs.
type ear struct {
	filler   map[string]bool
	negation map[string]bool
	rewrites map[string][]rewrite // by first word, longest first
	quality  map[string]bool      // stems that name a quality: bend, angle, neck ...
	amount   map[string]bool      // stems that say how much of it
	more     map[string]bool      // stems of comparatives: straighter, rounder
}

type rewrite struct{ heard, meant []string }

var ears = sync.OnceValue(func() *ear {
	v := terms.Words()
	e := &ear{filler: map[string]bool{}, negation: map[string]bool{}, rewrites: map[string][]rewrite{}}
	for _, w := range v.Fillers {
		e.filler[w] = true
	}
	for _, w := range v.Negations {
		e.negation[w] = true
	}
	for _, r := range v.Heard {
		h := strings.Fields(plain(r.Heard))
		list := append(e.rewrites[h[0]], rewrite{h, strings.Fields(r.Meant)})
		for i := len(list) - 1; i > 0 && len(list[i].heard) > len(list[i-1].heard); i-- {
			list[i], list[i-1] = list[i-1], list[i]
		}
		e.rewrites[h[0]] = list
	}
	e.more = map[string]bool{"more": true}
	e.quality, e.amount = map[string]bool{}, map[string]bool{"too": true, "enough": true, "not": true}
	for _, c := range v.Frames.Concepts {
		for _, w := range comparatives(c.High) {
			e.more[stem(w)] = true
		}
		for _, w := range c.Noun {
			if !c.Special && !strings.Contains(w, " ") {
				e.quality[stem(w)] = true
			}
		}
	}
	for _, class := range []string{"more", "need", "wish", "lack", "less", "much", "slight"} {
		for _, w := range v.Frames.Markers[class] {
			for _, part := range e.stems(strings.Split(w, "_")) {
				e.amount[part] = true
			}
		}
	}
	return e
})

// listen turns a remark into tokens.
func listen(text string) []token { return ears().tokens(ears().rewritten(rawWords(text))) }

// rawWords splits a text into lower-case words; sentence ends mark the next word.
func rawWords(text string) []token {
	var out []token
	begin, comma := true, false
	for _, f := range strings.Fields(text) {
		trimmed := strings.TrimFunc(f, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
		for i, part := range splitDashes(trimmed) {
			w := plain(part)
			if w == "" {
				continue
			}
			out = append(out, token{word: w, begin: begin, first: begin && i == 0, comma: comma,
				upper: len(part) == 1 && unicode.IsUpper(rune(part[0]))})
			begin, comma = false, false
		}
		comma = comma || strings.ContainsAny(f, ",:") && strings.HasSuffix(strings.TrimRight(f, ",:"), trimmed)
		if strings.ContainsAny(f, ".;?!") && !strings.ContainsAny(trimmed, ".") || strings.HasSuffix(f, ".") {
			begin = true
		}
		if n := len(out); n > 0 && strings.HasSuffix(f, ",") && out[n-1].word == "no" {
			begin = true // "No, too big" denies nothing
		}
	}
	return out
}

// splitDashes parts words joined by a hyphen, so that "half-pass" and "half pass" meet.
func splitDashes(w string) []string {
	return strings.FieldsFunc(w, func(r rune) bool { return r == '-' || r == '/' || r == '–' || r == '—' })
}

// plain lowers a word and drops apostrophes and other marks inside it.
func plain(w string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == ' ' {
			return unicode.ToLower(r)
		}
		return -1
	}, w)
}

func (e *ear) rewritten(in []token) []token {
	out := make([]token, 0, len(in))
	for i := 0; i < len(in); {
		n := 1
		if r, ok := e.rewriteAt(in[i:]); ok {
			n = len(r.heard)
			for j, w := range r.meant {
				out = append(out, token{word: w, begin: in[i].begin && j == 0, first: in[i].first && j == 0, comma: in[i].comma && j == 0})
			}
		} else {
			out = append(out, in[i])
		}
		i += n
	}
	return out
}

func (e *ear) rewriteAt(in []token) (rewrite, bool) {
next:
	for _, r := range e.rewrites[in[0].word] {
		if len(r.heard) > len(in) {
			continue
		}
		for j, h := range r.heard {
			if in[j].word != h || j > 0 && in[j].begin {
				continue next
			}
		}
		return r, true
	}
	return rewrite{}, false
}

func (e *ear) tokens(in []token) []token {
	out := make([]token, 0, len(in))
	var held token // what small words left out hand on to the next
	for _, t := range in {
		held.begin, held.first, held.comma = held.begin || t.begin, held.first || t.first, held.comma || t.comma
		if e.filler[t.word] {
			held.lead += t.word + " "
			continue
		}
		t.begin, t.first, t.comma, t.lead = held.begin, held.first, held.comma, held.lead
		held = token{}
		t.not = e.negation[t.word]
		t.bids = t.word == "dont" && bids(t, out)
		t.stem = stem(t.word)
		if e.plainNot(t.word) {
			t.word, t.stem = "not", "not"
		}
		out = append(out, t)
	}
	tell(out)
	return out
}

// bids reports whether a "don't" is said to the rider or of the horse as an order ("don't
// lean", "good, but don't hurry"): it opens its clause, or follows what closes one.
func bids(t token, before []token) bool {
	if strings.Contains(t.lead, "you ") || strings.Contains(t.lead, "i ") || strings.Contains(t.lead, "they ") || strings.Contains(t.lead, "we ") {
		return false
	}
	return t.begin || t.comma || joined(t) || len(before) > 0 && closers[before[len(before)-1].word]
}

// closers are words after which a new clause mostly begins.
var closers = map[string]bool{"now": true, "but": true, "please": true, "good": true, "no": true, "okay": true, "right": true, "so": true, "yes": true}

// tell marks what is told of and not asked for: "has more angle", "rounder than before".
func tell(ts []token) {
	for i := range ts {
		ts[i].told = ts[i].told || tells(ts[i].lead)
		better := ts[i].word == "than" && i+1 < len(ts) && compared[ts[i+1].word] ||
			ts[i].word == "time" && strings.HasSuffix(ts[i].lead, "this ")
		if !better {
			continue
		}
		for j := i; j >= 0; j-- {
			ts[j].told = true
			if ts[j].begin {
				break
			}
		}
	}
}

// compared are what a ride is measured against when it has become better or worse.
var compared = map[string]bool{"before": true, "last": true, "first": true, "earlier": true, "yesterday": true, "usual": true, "other": true}

// governsQuality reports whether words of amount that end at i speak of the quality that
// follows them: in "lost angle, too much neck" the neck is too much.
func governsQuality(ts []token, i int) bool {
	if i == 0 || i > len(ts) || !ears().amount[ts[i-1].stem] {
		return false
	}
	for ; i < len(ts) && !ts[i].begin && !ts[i].comma; i++ {
		if ears().quality[ts[i].stem] {
			return true
		}
		if !ears().amount[ts[i].stem] {
			return false
		}
	}
	return false
}

// qualityIn reports whether another quality is named in ts[a:b].
func qualityIn(ts []token, a, b int) bool {
	for _, t := range ts[a:b] {
		if ears().quality[t.stem] {
			return true
		}
	}
	return false
}

// stem cuts the endings that speech varies freely; both phrases and remarks go through it,
// so it needs to be the same on both sides, not right.
func stem(w string) string {
	if strings.Contains(w, "-") {
		return strings.TrimSuffix(w, "s")
	}
	switch {
	case strings.HasSuffix(w, "ies") || strings.HasSuffix(w, "ied"):
		if len(w) > 4 {
			w = w[:len(w)-3] + "y"
		}
	case strings.HasSuffix(w, "ing") && hasVowel(w[:len(w)-3]):
		w = w[:len(w)-3]
	case strings.HasSuffix(w, "ed") && !strings.HasSuffix(w, "eed") && len(w) > 4 && hasVowel(w[:len(w)-2]):
		w = w[:len(w)-2]
	case strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") && len(w) > 3:
		w = w[:len(w)-1]
	}
	if len(w) > 5 && w != "hardly" && w != "barely" && w != "nearly" {
		w = strings.TrimSuffix(w, "ly")
	}
	if len(w) > 3 {
		w = strings.TrimSuffix(w, "e")
	}
	if n := len(w); n > 2 && w[n-1] == w[n-2] {
		w = w[:n-1]
	}
	return w
}

func hasVowel(s string) bool { return strings.ContainsAny(s, "aeiouy") }

// plainNot reports whether a word is a form of "not" (isn't, didn't ...), which phrases
// write as "not"; no, without, less and the like stay words of their own.
func (e *ear) plainNot(w string) bool {
	switch w {
	case "no", "without", "less", "nothing", "hardly", "never", "nor":
		return false
	}
	return e.negation[w]
}
