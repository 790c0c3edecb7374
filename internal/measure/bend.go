package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// peak is the extreme of the ride in a direction near a metre of the plan: a parabola over
// reach metres either side. The same is done to the plan, so that its shape cancels.
func (r *ride) peak(m, reach float64, dir arena.Point) (value float64, ws []weight, os []obs, ok bool) {
	os, covered := r.over(m-reach, m+reach)
	if len(os) < 5 || covered < 0.7 {
		return 0, nil, os, false
	}
	toDir := func(o obs) float64 { return o.at.Dot(dir) }
	got, _, c, ok := parabola(os, m, reach, toDir)
	if !ok {
		return 0, nil, os, false
	}
	want, _, _, ok := parabola(r.planned(m-reach, m+reach), m, reach, toDir)
	for i, o := range os {
		ws = append(ws, weight{o.t, o.at, c[i] * dir.X, c[i] * dir.Y})
	}
	return got - want, ws, os, ok
}

// parabola fits a height of the fixes by a parabola over the plan's metres and returns its
// height at the vertex, where that is in parts of the reach, and the weight of each fix.
func parabola(os []obs, m, reach float64, of func(obs) float64) (height, vertex float64, c []float64, ok bool) {
	var a m3
	var g [3]float64
	row := func(o obs) [3]float64 {
		x := (o.s - m) / reach
		return [3]float64{1, x, x * x}
	}
	for _, o := range os {
		w := row(o)
		for i := range 3 {
			for j := range 3 {
				a[i][j] += w[i] * w[j]
			}
			g[i] += w[i] * of(o)
		}
	}
	inv, ok := a.inverse()
	if !ok {
		return 0, 0, nil, false
	}
	x := inv.mul(g)
	if x[2] < 0 {
		vertex = clamp(-x[1]/(2*x[2]), -1, 1)
	}
	at := [3]float64{1, vertex, vertex * vertex}
	h := inv.mul(at)
	c = make([]float64, len(os))
	for i, o := range os {
		w := row(o)
		c[i] = h[0]*w[0] + h[1]*w[1] + h[2]*w[2]
	}
	return x[0] + x[1]*vertex + x[2]*vertex*vertex, vertex, c, true
}

const (
	// loopRiding is the variance that a rider's wavering leaves between the depths of two loops.
	loopRiding = 0.015 * 0.015
	// loopPeak is what it leaves in the depth of one: the furthest point is that of a line that wavers
	// by a few centimetres, always outwards, and the curve over it is smooth.
	loopPeak = 0.03 * 0.03
)

// loops measures the depth of a shallow loop from the track, or of each loop of a serpentine
// from the centre line.
func (r *ride) loops(b *book, f *rideplan.Figure) {
	var list []loopSize
	all := r.loopsOf(f)
	for _, l := range all {
		e := entry{what: "loop size", letter: l.letter, asked: l.depth, nominal: l.nominal, atM: l.m}
		off, ws, os, ok := r.peak(l.m, l.reach, l.dir)
		e.at = during(os)
		if !ok {
			b.cannot(e, "too little of the loop was recorded")
			continue
		}
		e.value = l.depth + off
		e.parts = append(r.d.of(ws), part{fromRiding, loopPeak})
		b.add(e)
		list = append(list, loopSize{e.value - e.asked, ws})
	}
	switch {
	case f.Kind == terms.Serpentine && len(list) < len(all):
		b.cannot(entry{what: "loop difference", letter: f.At, atM: float64(f.StartM+f.EndM) / 2}, "one of the loops was recorded too poorly to compare them")
	case f.Kind == terms.Serpentine:
		r.loopDifference(b, f, list)
	}
}

// loopSize is by how much a loop is larger than asked, and how that moves with each fix.
type loopSize struct {
	over float64
	ws   []weight
}

// loopAt is one loop of a figure: its furthest point, the direction outwards there.
type loopAt struct {
	m, reach, depth, nominal float64
	dir                      arena.Point
	letter                   string
}

func (r *ride) loopsOf(f *rideplan.Figure) []loopAt {
	os := r.planned(float64(f.StartM), float64(f.EndM))
	if len(os) < 5 {
		return nil
	}
	base, nominal := 0.0, 0.0
	if f.Kind == terms.Loop {
		base, nominal = os[0].at.X, float64(f.Nominal)
	}
	var out []loopAt
	for i := 0; i < len(os); {
		side := math.Copysign(1, os[i].at.X-base)
		j, far := i, i
		for j < len(os) && (math.Copysign(1, os[j].at.X-base) == side || os[j].at.X == base) {
			if math.Abs(os[j].at.X-base) > math.Abs(os[far].at.X-base)+1e-6 {
				far = j
			}
			j++
		}
		// where the loop runs along the boards the middle of that run is its furthest point
		flat := far
		for flat+1 < j && math.Abs(math.Abs(os[flat+1].at.X-base)-math.Abs(os[far].at.X-base)) < 1e-3 {
			flat++
		}
		depth := math.Abs(os[far].at.X - base)
		if depth > 1 && os[j-1].s-os[i].s > 6 {
			m := (os[far].s + os[flat].s) / 2
			out = append(out, loopAt{m, math.Min(5, (os[j-1].s-os[i].s)/4), depth, nominal, arena.Point{X: math.Copysign(1, os[far].at.X-base)}, r.nearLetter(m)})
		}
		i = max(j, i+1)
	}
	return out
}
