package remarks

import "ringcraft/internal/terms"

// FaultsIn names the faults in words that are known to belong to a movement of these kinds,
// such as a judge's remark beside a mark.
func FaultsIn(text string, kinds []terms.Kind) []terms.Fault {
	faults, _, _, _ := ids(findWords(listen(text), context{named: point(text).kinds, placed: kinds}))
	return faults
}
