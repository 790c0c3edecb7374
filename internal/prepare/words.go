package prepare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// sortedKeys keeps map order out of every result.
func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K {
	out := make([]K, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// nearest is the suggestion for a mistyped word: the allowed word with the fewest edits, if
// no more than half of it would have to change.
func nearest(word string, allowed []string) string {
	best, d := "", 1<<30
	for _, a := range allowed {
		if e := edits(word, a); e < d {
			best, d = a, e
		}
	}
	if best == "" || 2*d > max(len(word), len(best)) {
		return ""
	}
	return fmt.Sprintf("did you mean %q?", best)
}

// edits is the Levenshtein distance.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := diagonal
			if a[i-1] != b[j-1] {
				change++
			}
			diagonal = row[j]
			row[j] = min(change, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
