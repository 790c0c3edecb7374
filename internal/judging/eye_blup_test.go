package judging

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/terms"
)

// Offsets and intervals against the best linear unbiased prediction of the two-level model,
// by Henderson's mixed-model equations (Biometrics 31, 1975, 423-447): for given variances the
// equations [n/v ...] are solved and inverted by plain elimination, in another way than JudgeEye does.
func TestEyeAgainstMixedModelEquations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kinds := terms.Kinds()[:rapid.IntRange(2, 6).Draw(t, "kinds")]
		var pairs []PairedMark
		by := map[terms.Kind][]float64{}
		for _, k := range kinds {
			for range rapid.IntRange(1, 9).Draw(t, "pairs") {
				d := float64(rapid.IntRange(-6, 6).Draw(t, "half marks")) / 2
				pairs = append(pairs, PairedMark{Ride: "r", Kind: k, Trainer: 6 + d, Judge: 6})
				by[k] = append(by[k], d)
			}
		}
		e := JudgeEye(pairs)
		v, tau2 := e.Spread*e.Spread, e.Between*e.Between
		n := len(kinds)
		left, right := make([][]float64, n+1), make([]float64, n+1)
		for i := range left {
			left[i] = make([]float64, n+1)
		}
		for i, k := range kinds {
			m := float64(len(by[k])) / v
			left[0][0] += m
			left[0][i+1], left[i+1][0] = m, m
			left[i+1][i+1] = m + 1/tau2
			right[0] += m * mean(by[k])
			right[i+1] = m * mean(by[k])
		}
		inv := inverse(left)
		at := func(i int) (x float64) {
			for j := range right {
				x += inv[i][j] * right[j]
			}
			return
		}
		if math.Abs(at(0)-e.Offset) > 1e-8 {
			t.Fatalf("common offset %g, by the equations %g", e.Offset, at(0))
		}
		for i, k := range kinds {
			want := at(0) + at(i+1)
			sd := math.Sqrt(inv[0][0] + inv[i+1][i+1] + 2*inv[0][i+1])
			got := e.Kinds[i]
			if math.Abs(got.Offset-want) > 1e-8 || math.Abs(got.High-(want+1.96*sd)) > 1e-8 || math.Abs(got.Low-(want-1.96*sd)) > 1e-8 {
				t.Fatalf("%s: %g from %g to %g, by the equations %g, SD %g", k, got.Offset, got.Low, got.High, want, sd)
			}
		}
	})
}

// inverse inverts a small matrix by Gauss and Jordan's elimination.
func inverse(a [][]float64) [][]float64 {
	n := len(a)
	w := make([][]float64, n)
	for i := range w {
		w[i] = append(append([]float64(nil), a[i]...), make([]float64, n)...)
		w[i][n+i] = 1
	}
	for c := range n {
		p := c
		for r := c; r < n; r++ {
			if math.Abs(w[r][c]) > math.Abs(w[p][c]) {
				p = r
			}
		}
		w[c], w[p] = w[p], w[c]
		for k, d := 0, w[c][c]; k < 2*n; k++ {
			w[c][k] /= d
		}
		for r := range n {
			if f := w[r][c]; r != c {
				for k := range w[r] {
					w[r][k] -= f * w[c][k]
				}
			}
		}
	}
	for i := range w {
		w[i] = w[i][n:]
	}
	return w
}
