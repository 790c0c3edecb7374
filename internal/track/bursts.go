package track

import "math"

// A burst is a run of fixes that agree among themselves but lie off the path, as a reflected radio
// signal makes them for a second or two. No comparison of a fix with its neighbours finds it; a
// jump away and a jump back that no horse can make do.
const (
	burstFit   = 5   // fixes on each side of a jump
	burstTime  = 3.0 // s, the longest burst
	burstSigma = 6.5 // white SDs: 5 of the difference of two lines through burstFit fixes each
	burstAcc   = 3.0 // m/s2 that a horse may use to bend the path
	burstLike  = 0.5 // of the jump away: how far the jump back may differ from it
	burstTrust = 1e-4
	burstStays = 2.5 // SDs from the path through the others within which a fix is let back in
)

// jump is the step of the path between two neighbouring fixes.
type jump struct{ x, y float64 }

func (j jump) size() float64 { return math.Hypot(j.x, j.y) }

// markBursts takes the fixes between a jump and the jump back nearly out of the weighing.
func markBursts(nodes []node, white float64) {
	fixes := withoutSpikes(nodes, white)
	n := len(fixes)
	if n < 4*burstFit {
		return
	}
	at := func(i int) *node { return &nodes[fixes[i]] }
	jumps := make([]jump, n) // between i-1 and i
	for i := burstFit; i+burstFit <= n; i++ {
		reach := at(i+burstFit-1).t - at(i-burstFit).t
		j := jumpAt(at, i)
		if j.size() > max(burstSigma*white, burstAcc*reach*reach/4) {
			jumps[i] = j
		}
	}
	for i := burstFit; i < n; i++ {
		if !peak(jumps, i) {
			continue
		}
		for k := i + burstFit - 1; k < n && at(k).t-at(i).t <= burstTime; k++ {
			back := jump{jumps[k].x + jumps[i].x, jumps[k].y + jumps[i].y}
			if peak(jumps, k) && back.size() < burstLike*jumps[i].size() {
				for b := i; b < k; b++ {
					at(b).weight, at(b).burst = burstTrust, true
				}
				i = k
				break
			}
		}
	}
}

// withoutSpikes lists the nodes that are fixes, those left out that lie alone off the middle of the
// five round them: two spikes would look like the two ends of a burst.
func withoutSpikes(nodes []node, white float64) []int {
	var all, kept []int
	for i, nd := range nodes {
		if nd.fix >= 0 {
			all = append(all, i)
		}
	}
	for i, k := range all {
		if i < 2 || i+2 >= len(all) {
			kept = append(kept, k)
			continue
		}
		var x, y [5]float64
		for d := range 5 {
			z := nodes[all[i-2+d]].z
			x[d], y[d] = z.X, z.Y
		}
		off := math.Hypot(nodes[k].z.X-median(x[:]), nodes[k].z.Y-median(y[:]))
		if reach := nodes[all[i+2]].t - nodes[all[i-2]].t; off < max(burstSigma*white, burstAcc*reach*reach/4) {
			kept = append(kept, k)
		}
	}
	return kept
}

// jumpAt is the difference, half way between fixes i-1 and i, of a straight line through the fixes
// after and one through those before.
func jumpAt(at func(int) *node, i int) jump {
	mid := (at(i-1).t + at(i).t) / 2
	ax, ay := lineAt(at, i-burstFit, mid)
	bx, by := lineAt(at, i, mid)
	return jump{bx - ax, by - ay}
}

func lineAt(at func(int) *node, from int, t float64) (x, y float64) {
	var st, sx, sy float64
	for i := from; i < from+burstFit; i++ {
		st += at(i).t / burstFit
		sx += at(i).z.X / burstFit
		sy += at(i).z.Y / burstFit
	}
	var tt, tx, ty float64
	for i := from; i < from+burstFit; i++ {
		d := at(i).t - st
		tt += d * d
		tx += d * (at(i).z.X - sx)
		ty += d * (at(i).z.Y - sy)
	}
	return sx + tx/tt*(t-st), sy + ty/tt*(t-st)
}

// peak reports whether a jump is the largest of its neighbourhood, which sees it too, smaller.
func peak(j []jump, i int) bool {
	s := j[i].size()
	if s == 0 {
		return false
	}
	for k := max(0, i-burstFit+1); k < min(len(j), i+burstFit); k++ {
		if o := j[k].size(); k != i && (o > s || o == s && k < i) {
			return false
		}
	}
	return true
}
