package sheet

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"sort"
	"strings"
)

//go:embed vocabulary_en.json
var vocabularyEN []byte

// meaning is what a phrase of the vocabulary stands for.
type meaning struct{ cat, val string }

// node is one word of the phrase tree.
type node struct {
	next map[string]*node
	mean *meaning
}

// vocabulary is the phrase tree of one language with its word list for spelling help.
type vocabulary struct {
	root       *node
	abbr       map[string]meaning  // capital abbreviations such as HP
	long       map[string][]string // what a shortened word stands for, where that is several words
	sizes      map[string]string   // arenas by their everyday name
	rideMarks  map[string]bool     // names of marks for the whole ride
	double     map[string]bool     // ways to say that a mark counts twice
	short      map[string]bool     // abbreviations whose full stop ends no sentence
	directives string              // the heading of the column of directives
	small      map[string]bool     // articles, which may stand inside a phrase or be left out of it
	words      map[string]bool     // every single word that occurs in a phrase
	heads      []string            // words worth suggesting, sorted
}

type vocabFile struct {
	Language string `json:"language"`
	Entries  []struct {
		Is, Value string
		Say       []string
	} `json:"entries"`
}

var english = mustVocabulary(vocabularyEN)

func mustVocabulary(data []byte) *vocabulary {
	v, err := readVocabulary(data)
	if err != nil {
		panic("sheet: embedded vocabulary: " + err.Error()) // impossible state: checked by test
	}
	return v
}

// readVocabulary builds the phrase tree. A phrase said twice keeps its first meaning, so
// that the long list of filler words can stay plain.
func readVocabulary(data []byte) (*vocabulary, error) {
	var f vocabFile
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, err
	}
	v := &vocabulary{root: &node{}, abbr: map[string]meaning{}, long: map[string][]string{}, sizes: map[string]string{}, double: map[string]bool{}, rideMarks: map[string]bool{}, short: map[string]bool{}, small: map[string]bool{}, words: map[string]bool{}}
	heads := map[string]bool{}
	for _, e := range f.Entries {
		if e.Is == "article" {
			for _, say := range e.Say {
				v.small[say] = true
			}
		}
	}
	for _, e := range f.Entries {
		for _, say := range e.Say {
			if e.Is == "article" {
				continue
			}
			if e.Is == "page" && e.Value == "directive" && v.directives == "" {
				v.directives = say
			}
			if err := v.add(meaning{e.Is, e.Value}, say, heads); err != nil {
				return nil, err
			}
		}
	}
	for w := range heads {
		v.heads = append(v.heads, w)
	}
	sort.Strings(v.heads)
	return v, nil
}

func (v *vocabulary) add(m meaning, say string, heads map[string]bool) error {
	if m.cat == "abbr" {
		cat, val, ok := strings.Cut(m.val, ":")
		if !ok {
			return fmt.Errorf("abbreviation %q needs category:value", say)
		}
		v.abbr[say] = meaning{cat, val}
		return nil
	}
	switch m.cat {
	case "short":
		v.short[say] = true
		return nil
	case "expand":
		v.long[say] = strings.Fields(m.val)
		return nil
	case "arena":
		v.sizes[say] = m.val
		return nil
	case "ride mark":
		v.rideMarks[say] = true
		return nil
	case "times two":
		v.double[say] = true
		return nil
	}
	v.phrase(m, strings.Fields(say), heads)
	if short := v.withoutArticles(say); len(short) > 0 {
		v.phrase(m, short, heads)
	}
	return nil
}

// withoutArticles is a phrase without the articles inside it, nil where there are none.
func (v *vocabulary) withoutArticles(say string) []string {
	words := strings.Fields(say)
	var out []string
	for i, w := range words {
		if i == 0 || i+1 == len(words) || !v.small[w] {
			out = append(out, w)
		}
	}
	if len(out) == len(words) {
		return nil
	}
	return out
}

// phrase puts one phrase into the tree; one said twice keeps its first meaning.
func (v *vocabulary) phrase(m meaning, words []string, heads map[string]bool) {
	n := v.root
	for _, w := range words {
		v.words[w] = true
		if m.cat != "skip" && m.cat != "join" && m.cat != "page" && len(w) > 3 {
			heads[w] = true
		}
		if n.next == nil {
			n.next = map[string]*node{}
		}
		if n.next[w] == nil {
			n.next[w] = &node{}
		}
		n = n.next[w]
	}
	if n.mean == nil {
		n.mean = &m
	}
}

// longest returns the meaning of the longest phrase that starts words[0] and its length in
// words; articles inside it may be said or not ("change the rein across the whole arena").
func (v *vocabulary) longest(words []string) (m meaning, n int) {
	return v.along(v.root, words, 0)
}

func (v *vocabulary) along(at *node, words []string, i int) (m meaning, n int) {
	for ; i < len(words); i++ {
		w := words[i]
		next := at.next[w]
		if i > 0 && v.small[w] {
			if next == nil {
				continue
			}
			if q, k := v.along(at, words, i+1); k > n {
				m, n = q, k
			}
		}
		if next == nil {
			break
		}
		at = next
		if at.mean != nil && i+1 > n {
			m, n = *at.mean, i+1
		}
	}
	return m, n
}

// nearest returns the vocabulary word closest to w, or "" when none is close.
func (v *vocabulary) nearest(w string) string {
	return Nearest(w, v.heads)
}
