package track

import (
	"math"
	"slices"
)

// smoothHeading smooths the recorded body heading round the circle: the angle is unrolled from fix
// to fix, smoothed with the same filter pair, and rolled up again. States before the first or after
// the last heading have none.
func (s *Smoothed) smoothHeading(t *Track) {
	h := unroll(t)
	if len(h) < MinFixes {
		return
	}
	white := headingNoise(h)
	// a horse turns its body by up to about a radian a second and takes about a second to do so
	m := motionModel{sigma: 0.8, tau: 1}
	nodes := make([]node, 0, len(h)+len(s.States))
	i := 0
	at := make([]int, len(s.States))
	for k, st := range s.States {
		at[k] = -1
		if st.T < Seconds(h[0].t) || st.T > Seconds(h[len(h)-1].t) {
			continue
		}
		for i < len(h) && h[i].t < float64(st.T)-1e-6 {
			nodes = append(nodes, h[i])
			i++
		}
		at[k] = len(nodes)
		if i < len(h) && h[i].t <= float64(st.T)+1e-6 {
			nodes = append(nodes, h[i])
			i++
		} else {
			nodes = append(nodes, node{t: float64(st.T), fix: -1})
		}
	}
	nodes = append(nodes, h[i:]...)
	var p pass
	for range 2 {
		run(nodes, m, white, true, &p)
		reweigh(nodes, &p, white, 2)
	}
	run(nodes, m, white, true, &p)
	for k := range s.States {
		if at[k] >= 0 {
			v := p.smoothed[at[k]]
			s.States[k].Heading = math.Remainder(v.x[0], 2*math.Pi)
			s.States[k].HeadingSD, s.States[k].HasHeading = math.Sqrt(v.p[0][0]), true
		}
	}
}

// unroll lists the headings as a continuous angle.
func unroll(t *Track) []node {
	var h []node
	last := 0.0
	for i, f := range t.Fixes {
		if !f.HasHeading || !finite(f.Heading) {
			continue
		}
		if len(h) == 0 {
			last = f.Heading
		} else {
			last += math.Remainder(f.Heading-last, 2*math.Pi)
		}
		h = append(h, node{t: float64(f.T), z: Local{X: last}, weight: 1, fix: i})
	}
	return h
}

// headingNoise estimates the scatter of the headings as WhiteNoise does, on one axis; at least 0.2 degrees.
func headingNoise(h []node) float64 {
	var d []float64
	for i := 0; i+3 < len(h); i++ {
		d = append(d, math.Abs(h[i+3].z.X-3*h[i+2].z.X+3*h[i+1].z.X-h[i].z.X)/math.Sqrt(20))
	}
	slices.Sort(d)
	return max(d[len(d)/2]/0.6745, 0.2*degree)
}
