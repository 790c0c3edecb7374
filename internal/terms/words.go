package terms

import (
	"embed"
	"encoding/json"
	"fmt"
	"sync"
)

//go:embed words/*.json
var wordFiles embed.FS

// Word is one entry of the vocabulary: a fault, a praise, an aid or a cause as people say it.
// The phrase patterns are explained in words/faults.json and read by package remarks.
type Word struct {
	ID       Fault    `json:"id"`
	Kinds    []Kind   `json:"kinds"`     // movements it belongs to; "any" for all
	NotKinds []Kind   `json:"not_kinds"` // movements that have a word of their own for it
	Scale    string   `json:"scale"`     // element of the training scale, or accuracy, obedience, rider
	Say      []string `json:"say"`       // phrases that name it
	Here     []string `json:"here"`      // phrases that name it only at one of its kinds
	NotSay   []string `json:"not_say"`   // longer phrases that mean something else
	OnlyHere bool     `json:"only_here"` // every phrase counts only at one of its kinds
	Covers   []Fault  `json:"covers"`    // broader words that are not named again in the same remark
	Fix      string   `json:"fix"`       // what the rider is told to do
	Source   string   `json:"source"`    // key of words/sources.json
}

// AnyKind in Word.Kinds means that the word may be said of every movement.
const AnyKind Kind = "any"

// At reports whether the word may be said of a movement that holds the given kinds.
func (w Word) At(kinds []Kind) bool {
	for _, k := range kinds {
		for _, n := range w.NotKinds {
			if k == n {
				return false
			}
		}
	}
	return w.Special(kinds) || w.general()
}

// Special reports whether one of the kinds is named in the word's own list.
func (w Word) Special(kinds []Kind) bool {
	for _, k := range kinds {
		for _, n := range w.Kinds {
			if k == n {
				return true
			}
		}
	}
	return false
}

func (w Word) general() bool {
	for _, n := range w.Kinds {
		if n == AnyKind {
			return true
		}
	}
	return false
}

// Vocabulary is all of words/: it is read once and never changed.
type Vocabulary struct {
	Faults, Praise, Aids, Causes []Word
	Classes                      map[string][]string // word classes used in phrases as <name>
	Negations                    []string            // words that turn a phrase round when they stand just before it
	Fillers                      []string            // words that carry no meaning here
	Heard                        []Rewrite           // misheard trade words
	Sources                      map[string]string
	Movements                    Movements
	Phases                       PhaseWords
	Prone                        map[Kind][]Fault
	Risks                        []Risk
	Frames                       Frames
}

// Rewrite turns what a recogniser wrote into what was said.
type Rewrite struct {
	Heard string `json:"heard"`
	Meant string `json:"meant"`
}

var vocabulary = sync.OnceValue(func() *Vocabulary {
	v, err := loadVocabulary()
	if err != nil {
		panic("terms: embedded words: " + err.Error()) // caught by the package's tests
	}
	return v
})

// Words returns the vocabulary. Callers must not change it.
func Words() *Vocabulary { return vocabulary() }

// FaultByID returns the fault with that id.
func FaultByID(id Fault) (Word, bool) { return byID(Words().Faults, id) }

func byID(list []Word, id Fault) (Word, bool) {
	for _, w := range list {
		if w.ID == id {
			return w, true
		}
	}
	return Word{}, false
}

// FaultIDs returns the ids of all faults in file order.
func FaultIDs() []Fault {
	out := make([]Fault, 0, len(Words().Faults))
	for _, w := range Words().Faults {
		out = append(out, w.ID)
	}
	return out
}

// ProneTo returns the faults that movements of these kinds are prone to, the likeliest of
// the first kind first, without repeats.
func ProneTo(kinds ...Kind) []Fault {
	var out []Fault
	seen := map[Fault]bool{}
	for _, k := range kinds {
		for _, f := range Words().Prone[k] {
			if !seen[f] {
				seen[f] = true
				out = append(out, f)
			}
		}
	}
	return out
}

func loadVocabulary() (*Vocabulary, error) {
	v := &Vocabulary{}
	words := func(into *[]Word) any { return &struct{ Words *[]Word }{into} }
	files := []struct {
		name string
		into any
	}{
		{"faults", words(&v.Faults)}, {"praise", words(&v.Praise)},
		{"aids", words(&v.Aids)}, {"causes", words(&v.Causes)},
		{"classes", &v.Classes}, {"sources", &v.Sources},
		{"listening", &struct {
			Negations, Fillers *[]string
			Heard              *[]Rewrite
		}{&v.Negations, &v.Fillers, &v.Heard}},
		{"movements", &v.Movements}, {"phases", &v.Phases},
		{"prone", &struct{ Prone *map[Kind][]Fault }{&v.Prone}},
		{"risks", &struct{ Risks *[]Risk }{&v.Risks}},
		{"frames", &v.Frames},
	}
	for _, f := range files {
		b, err := wordFiles.ReadFile("words/" + f.name + ".json")
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(b, f.into); err != nil {
			return nil, fmt.Errorf("%s.json: %w", f.name, err)
		}
	}
	return v, nil
}
