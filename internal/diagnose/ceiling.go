package diagnose

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"ringcraft/internal/terms"
)

// CeilingOf is the mark that this horse's best quarter reaches in movements of these kinds:
// the upper quartile of its own marks, shrunk to a prior by level while they are few. With
// several kinds the lowest counts, since it limits the mark. Words say where it comes from.
func CeilingOf(kinds []terms.Kind, level string, history []RideFacts) (mark float64, words string) {
	mark, words = ceilings.Default+levelShift(level), assumedWords("", ceilings.Default+levelShift(level), len(history))
	found := false
	for _, k := range kinds {
		prior, ok := ceilings.Kinds[k]
		if !ok {
			continue
		}
		m, w := ceilingOfKind(k, prior+levelShift(level), history)
		if !found || m < mark {
			mark, words, found = m, w, true
		}
	}
	return round(math.Min(mark, 10), 2), words
}

func ceilingOfKind(k terms.Kind, prior float64, history []RideFacts) (float64, string) {
	own := ownMarks(k, history)
	if len(own) == 0 {
		return prior, assumedWords(string(k), prior, len(history))
	}
	n, q := float64(len(own)), upperQuartile(own)
	m := (n*q + ceilings.OwnWeight*prior) / (n + ceilings.OwnWeight)
	return m, fmt.Sprintf("%s: best quarter of %d own marks is %.1f, assumed for the level %.1f", k, len(own), q, prior)
}

// assumed begins the words of a ceiling that no own mark speaks for.
const assumed = "assumed for the level"

func assumedWords(kind string, prior float64, rides int) string {
	why := "no rides of this horse yet"
	if rides > 0 {
		why = "no marks of this horse for it yet"
	}
	words := fmt.Sprintf("%s: %.1f, %s", assumed, prior, why)
	if kind != "" {
		words += " (" + kind + ")"
	}
	return words
}

// ceilingReason names the loss: this horse's own best, or what is assumed of a horse that is not
// known.
func ceilingReason(words string) string {
	if strings.HasPrefix(words, assumed) {
		return "usual best for such a movement, " + assumed + " (no marks of this horse yet)"
	}
	return "this horse's usual best for such a movement"
}

func ownMarks(k terms.Kind, history []RideFacts) []float64 {
	var out []float64
	for _, r := range history {
		for _, m := range r.Movements {
			if mark, ok := m.MeanMark(); ok && sharesKind(m.Kinds, []terms.Kind{k}) {
				out = append(out, mark)
			}
		}
	}
	sort.Float64s(out)
	return out
}

// upperQuartile interpolates between order statistics; v is sorted and not empty.
func upperQuartile(v []float64) float64 {
	pos := 0.75 * float64(len(v)-1)
	i := int(pos)
	if i+1 >= len(v) {
		return v[len(v)-1]
	}
	return v[i] + (pos-float64(i))*(v[i+1]-v[i])
}

func levelShift(level string) float64 {
	name := " " + strings.ToLower(level) + " "
	shift := 0.0
	for _, l := range ceilings.Levels {
		for _, w := range l.Words {
			if strings.Contains(name, " "+w+" ") {
				shift = math.Min(shift, l.Shift)
			}
		}
	}
	return shift
}
