package measure

import (
	"math"

	"ringcraft/internal/gait"
)

// slowing is how much of the plan's slowing down in bends this rider does, with its standard
// deviation: 1 is as planned, 0 goes round bends as fast as along straights.
type slowing struct{ share, sd float64 }

const (
	// likeThePlan is how far a rider's slowing down in bends is from the plan's before the ride has
	// shown it, one standard deviation as a share of it: some hardly slow down, some more than planned
	// (assumption).
	likeThePlan = 0.4
	// bendToBend is by how much of the plan's slowing one bend of a rider differs from the next (assumption),
	// and how differently from the plan's a rider's slowing may grow as bends grow tighter.
	bendToBend = 0.15
	// bendPiece is over how many metres a speed is compared with the plan's.
	bendPiece = 6.0
	// fromOther is how many metres from another pace or a stand a piece is to be, where the speed
	// changes for that reason.
	fromOther = 8.0
	// pieceUneven is the share by which the speed of a piece differs from a steady one (assumption, as
	// usualUneven), larger because pieces beside each other do so alike.
	pieceUneven = 0.025
)

// slowing learns from the bends of the whole ride against its straights, each pace by itself. What a
// ride shows is drawn to the plan by as much as riders differ.
func (r *ride) slowing() slowing {
	if r.bends == nil {
		x := r.learnSlowing()
		r.bends = &x
	}
	return *r.bends
}

// bendPoint is one piece of the ride: the logarithms of the plan's speed over its pace's on the straight
// and of the ridden speed over the plan's, and one over the variance of the second.
type bendPoint struct{ x, y, w float64 }

func (r *ride) learnSlowing() slowing {
	by := map[gait.Variety][]bendPoint{}
	var order []gait.Variety
	for _, p := range r.bendPieces() {
		x, ok := r.bendPoint(p)
		if !ok {
			continue
		}
		if by[p.variety] == nil {
			order = append(order, p.variety)
		}
		by[p.variety] = append(by[p.variety], x)
	}
	var xx, xy, yy float64
	n := 0
	for _, v := range order {
		a, b, c := about(by[v])
		xx, xy, yy, n = xx+a, xy+b, yy+c, n+len(by[v])-1
	}
	const prior = 1 / (likeThePlan * likeThePlan)
	if n < 4 {
		return slowing{1, math.Hypot(likeThePlan, bendToBend)}
	}
	off := xy / (xx + prior)
	scatter := math.Max(1, (yy-2*off*xy+off*off*xx)/float64(n)) // what the pieces scatter more than they should
	off = xy / scatter / (xx/scatter + prior)
	return slowing{1 + off, math.Hypot(math.Sqrt(1/(xx/scatter+prior)), bendToBend)}
}

// about are the weighted sums of squares and products about the means.
func about(list []bendPoint) (xx, xy, yy float64) {
	var w, mx, my float64
	for _, p := range list {
		w, mx, my = w+p.w, mx+p.w*p.x, my+p.w*p.y
	}
	mx, my = mx/w, my/w
	for _, p := range list {
		xx += p.w * (p.x - mx) * (p.x - mx)
		xy += p.w * (p.x - mx) * (p.y - my)
		yy += p.w * (p.y - my) * (p.y - my)
	}
	return xx, xy, yy
}

// bendPieces cuts the plan into pieces of one pace, away from other paces and stands.
func (r *ride) bendPieces() (out []stretch) {
	for a := 0.0; a+bendPiece <= float64(r.plan.Length); a += bendPiece {
		v := r.plan.SampleAtM(metres(a + bendPiece/2)).Variety
		if halts(v.PaceOf()) {
			continue
		}
		flat := r.flatSpeed(v)
		alone := flat > 0
		for s := a - fromOther; alone && s <= a+bendPiece+fromOther; s += 0.5 {
			x := r.plan.SampleAtM(metres(clamp(s, 0, float64(r.plan.Length))))
			alone = x.Variety == v && float64(x.Speed) > 0.6*flat
		}
		if alone {
			out = append(out, stretch{v, a, a + bendPiece, bendPiece})
		}
	}
	return out
}

func (r *ride) bendPoint(p stretch) (bendPoint, bool) {
	os, covered := r.over(p.a, p.z)
	if len(os) < 4 || covered < 0.8 {
		return bendPoint{}, false
	}
	plan := meanSpeed(r.planned(p.a, p.z))
	ws, v := r.speedWeights(os)
	sd, _ := sum(r.d.of(ws))
	if !(v > 0.4*plan) || v > 2.5*plan {
		return bendPoint{}, false
	}
	return bendPoint{math.Log(plan / r.flatSpeed(p.variety)), math.Log(v / plan), 1 / (math.Pow(sd/v, 2) + pieceUneven*pieceUneven)}, true
}

// flatSpeed is the plan's speed of a variety on the straight: the highest that it keeps for a metre or
// so. Where one pace becomes another its samples go faster or slower than the variety does.
func (r *ride) flatSpeed(v gait.Variety) float64 {
	if r.flats == nil {
		r.flats = map[gait.Variety]float64{}
		for _, s := range r.plan.Samples {
			m, at := float64(s.M), float64(s.Speed)
			if math.Abs(r.planSpeed(m+0.6)-at) <= 0.02*at && math.Abs(r.planSpeed(m-0.6)-at) <= 0.02*at {
				r.flats[s.Variety] = math.Max(r.flats[s.Variety], at)
			}
		}
	}
	return r.flats[v]
}
