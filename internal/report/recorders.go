package report

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
)

//go:embed recorders.json
var recordersJSON []byte

// Recorders says what each class of recorder can tell, for somebody who is about to buy one or strap it on.
type Recorders struct {
	Source  string          `json:"source"`
	Tells   float64         `json:"tells_from_pct"`    // share of measures with a verdict from which a class tells a thing
	Partly  float64         `json:"at_times_from_pct"` // and from which it does so at times
	Classes []RecorderClass `json:"classes"`
	Topics  []RecorderTopic `json:"topics"`
	Extras  []RecorderExtra `json:"extras"`
	// Shares are, by measure and class, per cent of the measures asked for that got a verdict.
	Shares map[string]map[string]float64 `json:"shares_pct"`
}

// RecorderClass is a class of track.Classes with what it is in plain words.
type RecorderClass struct {
	Class string `json:"class"`
	Words string `json:"words"`
	Note  string `json:"note"`
}

// RecorderTopic is something a trainer wants to know, made of measures.
type RecorderTopic struct {
	Words    string   `json:"words"`
	Measures []string `json:"measures"`
}

// RecorderExtra is what a recording may hold besides positions, and what that adds.
type RecorderExtra struct {
	Words  string `json:"words"`
	Tells  string `json:"tells"`
	Source string `json:"source"`
}

// RecorderTable reads the embedded table.
var RecorderTable = sync.OnceValue(func() *Recorders {
	var r Recorders
	if err := json.Unmarshal(recordersJSON, &r); err != nil {
		panic(fmt.Sprintf("report: embedded recorders.json: %v", err)) // impossible state: checked by test
	}
	return &r
})

// share is the mean over a topic's measures.
func (r *Recorders) share(t RecorderTopic, class string) float64 {
	sum := 0.0
	for _, m := range t.Measures {
		sum += r.Shares[m][class]
	}
	return sum / float64(len(t.Measures))
}

// Word says whether a class tells a topic: "yes", "at times" or "no".
func (r *Recorders) Word(t RecorderTopic, class string) string {
	switch s := r.share(t, class); {
	case s >= r.Tells:
		return "yes"
	case s >= r.Partly:
		return "at times"
	}
	return "no"
}

// Sentence says what a class tells: "Tells how long halts last; at times sizes of circles; no more than that".
func (r *Recorders) Sentence(class string) string {
	by := map[string][]string{}
	for _, t := range r.Topics {
		w := r.Word(t, class)
		by[w] = append(by[w], t.Words)
	}
	var out []string
	yes, some := by["yes"], by["at times"]
	switch {
	case len(yes) == len(r.Topics):
		return "Tells all that positions can tell"
	case len(yes) > 2*len(r.Topics)/3:
		out = append(out, "tells nearly all of it")
		if len(some) > 0 {
			out = append(out, list(some, "and")+" only at times")
		}
	default:
		if len(yes) > 0 {
			out = append(out, "tells "+list(yes, "and"))
		}
		if len(some) > 0 {
			out = append(out, "at times "+list(some, "and"))
		}
	}
	switch l := by["no"]; {
	case len(l) > 2:
		out = append(out, "no more than that")
	case len(l) > 0:
		out = append(out, "not "+list(l, "or"))
	}
	return begun(strings.Join(out, "; "))
}

// begun begins a sentence with a capital.
func begun(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// list joins words: "a, b and c".
func list(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}
