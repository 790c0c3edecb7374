package judging

import (
	"math"
	"math/big"
	"sort"
)

// TrimmedMean is the exact mean of marks without the drop highest and drop lowest; nil when
// too few are left.
func TrimmedMean(marks []*big.Rat, drop int) *big.Rat {
	if len(marks) <= 2*drop {
		return nil
	}
	s := append([]*big.Rat(nil), marks...)
	sort.SliceStable(s, func(i, j int) bool { return s[i].Cmp(s[j]) < 0 })
	s = s[drop : len(s)-drop]
	sum := new(big.Rat)
	for _, m := range s {
		sum.Add(sum, m)
	}
	return sum.Quo(sum, big.NewRat(int64(len(s)), 1))
}

// Agreement says how far judges agree: intraclass correlations of Shrout and Fleiss,
// Psychological Bulletin 86 (1979) 420-428, and the spread between judges of one ride.
type Agreement struct {
	Targets, Judges int
	// Mean squares of the two-way table.
	Between, JudgesMS, Within, Error float64
	// ICC(1,1), (2,1), (3,1): one judge; (1,k), (2,k), (3,k): the mean of the panel. 2 counts
	// judges' levels as disagreement, 3 does not.
	One1, Two1, Three1, OneK, TwoK, ThreeK float64
	// JudgeSD is the standard deviation of one judge around the panel of the same target,
	// levels included, in marks.
	JudgeSD float64
	// Lean is each judge's mean less the panel's, in marks.
	Lean []float64
}

// Agree computes the agreement of a full table: rows are targets (rides, movements), columns
// judges. It needs two rows and two columns; ok is false otherwise or when a row is short.
func Agree(table [][]float64) (a Agreement, ok bool) {
	n := len(table)
	if n < 2 {
		return a, false
	}
	k := len(table[0])
	if k < 2 {
		return a, false
	}
	row, col, grand := make([]float64, n), make([]float64, k), 0.0
	for i, r := range table {
		if len(r) != k {
			return a, false
		}
		for j, v := range r {
			row[i] += v / float64(k)
			col[j] += v / float64(n)
			grand += v / float64(n*k)
		}
	}
	var ssRow, ssCol, ssWithin float64
	for i, r := range table {
		ssRow += float64(k) * sq(row[i]-grand)
		for _, v := range r {
			ssWithin += sq(v - row[i])
		}
	}
	for _, c := range col {
		ssCol += float64(n) * sq(c-grand)
		a.Lean = append(a.Lean, c-grand)
	}
	nf, kf := float64(n), float64(k)
	a.Targets, a.Judges = n, k
	a.Between, a.JudgesMS = ssRow/(nf-1), ssCol/(kf-1)
	a.Within, a.Error = ssWithin/(nf*(kf-1)), (ssWithin-ssCol)/((nf-1)*(kf-1))
	a.JudgeSD = math.Sqrt(a.Within)
	b, w, e, j := a.Between, a.Within, a.Error, a.JudgesMS
	a.One1 = ratio(b-w, b+(kf-1)*w)
	a.Two1 = ratio(b-e, b+(kf-1)*e+kf*(j-e)/nf)
	a.Three1 = ratio(b-e, b+(kf-1)*e)
	a.OneK = ratio(b-w, b)
	a.TwoK = ratio(b-e, b+(j-e)/nf)
	a.ThreeK = ratio(b-e, b)
	return a, true
}

func sq(x float64) float64 { return x * x }

func ratio(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}
