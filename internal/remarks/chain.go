package remarks

// order are the weights of going from the movement of one remark to that of the next: talk
// follows the ride, it stays or goes on, and seldom goes back. Set on the tuning half of
// the corpus.
var order = struct{ same, next, skip, back1, back2 float64 }{same: 2.4, next: 0.6, skip: 0.1, back1: 0.06, back2: 0.012}

// step is the weight of going from movement a to movement b (indexes).
func step(a, b int, looksBack bool) float64 {
	switch d := b - a; {
	case d == 0:
		return order.same
	case d == 1:
		return order.next
	case d > 1:
		return order.skip
	case looksBack:
		return order.same
	case d == -1:
		return order.back1
	}
	return order.back2
}

// chain sharpens the posteriors of the remarks of a run by their order: a forward-backward
// pass over movements in which a remark that belongs to none leaves the place where it was.
func (r *run) chain(hs []heard) {
	n := len(r.post)
	if n == 0 {
		return
	}
	m := len(r.post[0]) - 1
	fwd := make([][]float64, n) // state after remark j
	into := make([][]float64, n)
	cur := make([]float64, m)
	for k := range cur {
		cur[k] = 1
	}
	for j := range fwd {
		moved := r.moved(cur, hs, j)
		into[j] = moved
		next := make([]float64, m)
		for k := range next {
			next[k] = moved[k]*r.post[j][k] + cur[k]*r.post[j][m]
		}
		normalise(next)
		fwd[j], cur = next, next
	}
	beta := make([]float64, m)
	for k := range beta {
		beta[k] = 1
	}
	out := make([][]float64, n)
	for j := n - 1; j >= 0; j-- {
		prev := make([]float64, m)
		if j == 0 {
			for k := range prev {
				prev[k] = 1
			}
		} else {
			copy(prev, fwd[j-1])
		}
		p := make([]float64, m+1)
		for k := 0; k < m; k++ {
			p[k] = into[j][k] * r.post[j][k] * beta[k]
			p[m] += prev[k] * r.post[j][m] * beta[k]
		}
		normalise(p)
		out[j] = p
		back := make([]float64, m)
		for a := 0; a < m; a++ {
			back[a] = beta[a] * r.post[j][m]
			for b := 0; b < m; b++ {
				back[a] += step(a, b, hs[r.cues[j]].back) * r.post[j][b] * beta[b]
			}
		}
		normalise(back)
		beta = back
	}
	r.post = out
}

// moved carries a distribution over movements to the next remark.
func (r *run) moved(cur []float64, hs []heard, j int) []float64 {
	m := len(cur)
	out := make([]float64, m)
	looksBack := hs[r.cues[j]].back
	for a := range cur {
		for b := 0; b < m; b++ {
			out[b] += cur[a] * step(a, b, looksBack)
		}
	}
	if j == 0 {
		for b := range out {
			out[b] = 1
		}
	}
	return out
}
