package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"ringcraft/internal/arena"
)

// turned is a turning point as ridden: the furthest to the side, and the middle between the two
// places, before and after, where the ride is some way nearer (see below).
type turned struct {
	change         handChange
	os             []obs
	reach, place   float64       // metres along out and along the arena, of the arena's frame
	asked          float64       // reach of the plan
	rms            float64       // what the curve over the turning point leaves
	reachW, placeW []arena.Point // how much either moves with each fix
}

const (
	overTurn  = 4.0  // metres either side over which the furthest point is read off a curve,
	closeTurn = 2.5  // and where the recorder is fine enough: a sharp turn is cut off by less
	fineTurn  = 0.04 // metres of doubt from jitter up to which it is
	atLevel   = 2.0  // metres either side of a place over which the ride is taken as straight
	nearer    = 1.0  // metres nearer at which a turning point's beginning and end are read
	leastDip  = 0.3  // metres to the side that any turning point must show on both sides
)

// turnOf reads a turning point off some fixes; ok is false where they do not come nearer on both
// sides of it.
func turnOf(os []obs, c handChange, white float64) (turned, bool) {
	t := turned{change: c, os: os, reachW: make([]arena.Point, len(os)), placeW: make([]arena.Point, len(os))}
	if len(os) < 8 {
		return t, false
	}
	x, y := make([]float64, len(os)), make([]float64, len(os))
	for i, o := range os {
		x[i], y[i] = o.at.Dot(c.out), o.at.Dot(c.along)
	}
	top := furthest(x, y)
	for _, over := range []float64{overTurn, overTurn, closeTurn} { // again about the top found
		if over == closeTurn && 2*white/math.Sqrt(2*closeTurn*density(y)) > fineTurn {
			break
		}
		if top = t.curve(x, y, top, over); math.IsNaN(top) {
			return t, false
		}
	}
	down := math.Min(nearer, 0.5*math.Min(t.reach-mean(x[:3]), t.reach-mean(x[len(x)-3:])))
	if down < leastDip {
		return t, false
	}
	before, ok1 := t.crossing(x, y, top, t.reach-down, -1)
	after, ok2 := t.crossing(x, y, top, t.reach-down, 1)
	t.place = (before + after) / 2
	return t, ok1 && ok2
}

// furthest is y of the largest mean of x over two metres either side.
func furthest(x, y []float64) float64 {
	best, at := math.Inf(-1), math.NaN()
	for i := range x {
		var s, n float64
		for k := range x {
			if math.Abs(y[k]-y[i]) < 2 {
				s, n = s+x[k], n+1
			}
		}
		if s/n > best && y[i] > y[0]+1 && y[i] < y[len(y)-1]-1 {
			best, at = s/n, y[i]
		}
	}
	return at
}

// curve fits a curve of the fourth degree about y = at, writes down its highest point, and
// returns where that is. NaN when there is none.
func (t *turned) curve(x, y []float64, at, over float64) float64 {
	var idx []int
	for i := range y {
		if math.Abs(y[i]-at) <= over {
			idx = append(idx, i)
		}
	}
	if len(idx) < 7 {
		return math.NaN()
	}
	co, sol, ok := powers(idx, x, y, at, over, 4)
	if !ok {
		return math.NaN()
	}
	best, v := math.Inf(-1), 0.0
	for u := -0.75; u <= 0.75; u += 0.005 {
		if h := horner(co, u); h > best {
			best, v = h, u
		}
	}
	t.reach, t.rms = best, 0
	clear(t.reachW)
	for k, i := range idx {
		p, by := 1.0, 0.0
		for j := range 5 {
			by += sol.At(j, k) * p
			p *= v
		}
		u := (y[i] - at) / over
		t.reachW[i] = t.change.moves((horner(co, u+0.01) - horner(co, u-0.01)) / (0.02 * over)).Mul(by)
		t.rms += math.Pow(x[i]-horner(co, u), 2) / float64(max(1, len(idx)-5))
	}
	t.rms = math.Sqrt(t.rms)
	return at + v*over
}

// density is how many fixes there are to the metre.
func density(y []float64) float64 {
	return float64(len(y)-1) / math.Max(1, math.Abs(y[len(y)-1]-y[0]))
}

// miss is the variance by which a curve that does not fit leaves the furthest point: three times what is
// left of it, as for a sharp turn.
func (t *turned) miss(white float64) float64 {
	return 9 * math.Max(0, t.rms*t.rms-1.4*white*white)
}

// crossing is where the ride passes a level before (dir -1) or after (1) the turning point, by a
// straight line about that place.
func (t *turned) crossing(x, y []float64, top, level float64, dir float64) (float64, bool) {
	at, ok := firstBelow(x, y, top, level, dir)
	if !ok {
		return 0, false
	}
	var idx []int
	for i := range y {
		if math.Abs(y[i]-at) <= atLevel && (y[i]-top)*dir > 0 {
			idx = append(idx, i)
		}
	}
	if len(idx) < 3 {
		return 0, false
	}
	co, sol, ok := powers(idx, x, y, at, 1, 1)
	if !ok || co[1]*dir > -0.08 { // must come nearer away from the turning point
		return 0, false
	}
	for k, i := range idx {
		by := -(sol.At(0, k) + sol.At(1, k)*(level-co[0])/co[1]) / co[1] / 2
		t.placeW[i] = t.placeW[i].Add(t.change.moves(co[1]).Mul(by))
	}
	for i, w := range t.reachW { // a turning point read further out moves the level with it
		t.placeW[i] = t.placeW[i].Add(w.Mul(1 / co[1] / 2))
	}
	return at + (level-co[0])/co[1], true
}

// firstBelow is where a mean over a metre and a half passes the level first, going away from the top.
func firstBelow(x, y []float64, top, level, dir float64) (float64, bool) {
	best, found := 0.0, false
	for i := range y {
		d := (y[i] - top) * dir
		if d <= 0 || found && d >= (best-top)*dir {
			continue
		}
		var s, n float64
		for k := range y {
			if math.Abs(y[k]-y[i]) < 0.75 {
				s, n = s+x[k], n+1
			}
		}
		if s/n < level {
			best, found = y[i], true
		}
	}
	return best, found
}

// moves is how a fix moves the ride to the side where it goes to the side by slope: one further along
// counts as one nearer by as much.
func (c handChange) moves(slope float64) arena.Point { return c.out.Sub(c.along.Mul(slope)) }

// weighed turns how much something moves with each fix into weights on the fixes.
func weighed(os []obs, by []arena.Point, k float64) []weight {
	ws := make([]weight, len(os))
	for i, o := range os {
		ws[i] = weight{o.t, o.at, k * by[i].X, k * by[i].Y}
	}
	return ws
}

// powers fits a polynomial in (y-at)/scale through some of the points: its coefficients, and how
// each moves with each point.
func powers(idx []int, x, y []float64, at, scale float64, degree int) ([]float64, *mat.Dense, bool) {
	n, p := len(idx), degree+1
	a := mat.NewDense(n, p, nil)
	v := mat.NewVecDense(n, nil)
	for k, i := range idx {
		w := 1.0
		for j := range p {
			a.Set(k, j, w)
			w *= (y[i] - at) / scale
		}
		v.SetVec(k, x[i])
	}
	var normal mat.SymDense
	normal.SymOuterK(1, a.T())
	var ch mat.Cholesky
	if !ch.Factorize(&normal) || ch.Cond() > 1e12 {
		return nil, nil, false
	}
	var sol mat.Dense
	if err := ch.SolveTo(&sol, a.T()); err != nil && !nearlySingular(err) {
		return nil, nil, false
	}
	var co mat.VecDense
	co.MulVec(&sol, v)
	return co.RawVector().Data, &sol, true
}

func horner(c []float64, u float64) float64 {
	s := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		s = s*u + c[i]
	}
	return s
}

func mean(v []float64) float64 {
	m, _ := meanSD(v)
	return m
}
