package sheet

// Nearest returns the word of list closest to w by edit distance (insert, delete, replace,
// swap of neighbours), or "" when the distance is over a third of the longer word. The
// first of equals wins, so a sorted list gives a stable answer.
func Nearest(w string, list []string) string {
	best, bd := "", 1<<30
	a := []rune(w)
	if len(a) > 40 {
		return "" // no word of the trade is that long
	}
	for _, c := range list {
		b := []rune(c)
		limit := max(len(a), len(b)) / 3
		if diff := len(a) - len(b); diff > limit || -diff > limit {
			continue
		}
		if d := distance(a, b); d <= limit && d < bd {
			best, bd = c, d
		}
	}
	return best
}

// distance is the optimal string alignment distance.
func distance(a, b []rune) int {
	prev2 := make([]int, len(b)+1)
	prev := make([]int, len(b)+1)
	cur := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(b)]
}
