package match

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// place is where the ride is on the plan at an epoch.
type place struct {
	t       float64
	m       float64 // metres along the plan, NaN off it
	at      arena.Point
	v       arena.Point
	vSD     float64
	posSD   float64
	layer   layer
	station int
	piece   int // counts up at every break: leaving the plan, jumping
}

// follow refines the best path: the foot of every epoch's place on the plan near its
// station, made monotone along each unbroken piece.
func follow(p *rideplan.Plan, c *chain, es []epoch, path []node) []place {
	out := make([]place, len(path))
	piece := 0
	for i, n := range path {
		e := &es[i]
		out[i] = place{t: e.t, m: math.NaN(), at: e.at, v: e.v, vSD: e.vSD, posSD: e.posSD, layer: n.layer, station: int(n.s)}
		if i > 0 && broken(path[i-1], n, c.reach()) {
			piece++
		}
		out[i].piece = piece
		if n.layer != onPlan {
			continue
		}
		out[i].m = c.stations[n.s].m
		// where the plan stands the nearest point may lie on the way in or out: the station counts
		if !e.blind && c.stations[n.s].still == 0 {
			out[i].m = footNear(p, e.at, out[i].m, 2.5)
		}
	}
	monotone(out)
	return out
}

func broken(a, b node, reach int) bool {
	return a.layer != b.layer || b.layer == onPlan && (b.s < a.s || b.s > a.s+int32(reach))
}

// footNear returns the metre of the plan within reach of m that is nearest to q, drawn
// weakly to m so that a circle's centre has a foot too.
func footNear(p *rideplan.Plan, q arena.Point, m, reach float64) float64 {
	ss := p.Samples
	i := sampleAfter(ss, m-reach)
	best, at := math.Inf(1), m
	for ; i < len(ss) && float64(ss[i-1].M) <= m+reach; i++ {
		a, b := ss[i-1], ss[i]
		d := b.Point.Sub(a.Point)
		l2 := d.Dot(d)
		f := 0.0
		if l2 > 0 {
			f = math.Max(0, math.Min(1, q.Sub(a.Point).Dot(d)/l2))
		}
		fm := float64(a.M) + f*float64(b.M-a.M)
		if math.Abs(fm-m) > reach {
			continue
		}
		off := float64(q.Dist(a.Point.Lerp(b.Point, f)))
		if v := off*off + 0.02*(fm-m)*(fm-m); v < best {
			best, at = v, fm
		}
	}
	return at
}

// sampleAfter returns the first index >= 1 whose sample lies at or past m.
func sampleAfter(ss []rideplan.Sample, m float64) int {
	lo, hi := 1, len(ss)
	for lo < hi {
		mid := (lo + hi) / 2
		if float64(ss[mid].M) < m {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// monotone pools neighbours that would go backwards (isotonic regression) within each piece.
func monotone(ps []place) {
	type block struct {
		sum  float64
		n    int
		from int
	}
	var bs []block
	flush := func() {
		for _, b := range bs {
			for j := range b.n {
				ps[b.from+j].m = b.sum / float64(b.n)
			}
		}
		bs = bs[:0]
	}
	for i := range ps {
		if math.IsNaN(ps[i].m) || i > 0 && ps[i].piece != ps[i-1].piece {
			flush()
		}
		if math.IsNaN(ps[i].m) {
			continue
		}
		bs = append(bs, block{ps[i].m, 1, i})
		for len(bs) > 1 {
			a, b := bs[len(bs)-2], bs[len(bs)-1]
			if a.sum/float64(a.n) <= b.sum/float64(b.n) {
				break
			}
			bs = append(bs[:len(bs)-2], block{a.sum + b.sum, a.n + b.n, a.from})
		}
	}
	flush()
}

// onFixes carries the places over to the fixes by interpolation within unbroken pieces.
func onFixes(fixes []Fix, ps []place, c *chain) {
	k := 0
	for i := range fixes {
		f := &fixes[i]
		f.PlanM = arena.Metres(math.NaN())
		for k+2 < len(ps) && ps[k+1].t <= float64(f.T) {
			k++
		}
		a := ps[k]
		b := a
		if k+1 < len(ps) {
			b = ps[k+1]
		}
		switch {
		case math.IsNaN(a.m) && math.IsNaN(b.m):
			continue
		case a.piece != b.piece || b.t <= a.t:
			if float64(f.T)-a.t > b.t-float64(f.T) {
				a = b
			}
			f.PlanM = arena.Metres(a.m)
		default:
			w := math.Max(0, math.Min(1.5, (float64(f.T)-a.t)/(b.t-a.t)))
			f.PlanM = arena.Metres(a.m + w*(b.m-a.m))
		}
		if !math.IsNaN(float64(f.PlanM)) {
			s := min(len(c.stations)-1, int(math.Round(float64(f.PlanM)/stationStep)))
			f.Movement = c.stations[max(0, s)].movement
		}
	}
}

// startedAnew is how many metres past a movement's start one may go back to and still begin
// it anew.
const startedAnew = 4

// crossing returns when the ride last passed metre m of the plan going forward, and how fast.
// ok is false when it never did. With anew, going back to just after m counts too.
func crossing(ps []place, m float64, anew bool) (t, speed float64, ok bool) {
	last := -1
	for i, p := range ps {
		if math.IsNaN(p.m) {
			continue
		}
		if last >= 0 {
			a := ps[last]
			if anew && a.piece != p.piece && p.m < a.m && p.m >= m && p.m < m+startedAnew {
				t, speed, ok = p.t, float64(p.v.Norm()), true // ridden again from here
			}
			if a.m < m && p.m >= m {
				f := (m - a.m) / (p.m - a.m)
				if a.piece != p.piece {
					f = 1
				}
				t, ok = a.t+f*(p.t-a.t), true
				speed = (1-f)*float64(a.v.Norm()) + f*float64(p.v.Norm())
			}
		} else if p.m >= m {
			t, speed, ok = p.t, float64(p.v.Norm()), true
		}
		last = i
	}
	return t, speed, ok
}

// spansOf gives every movement that was ridden its from-to on the ride's clock.
func spansOf(p *rideplan.Plan, ps []place, n Noise, missing map[int]bool) []Span {
	var out []Span
	for i := range p.Movements {
		mv := &p.Movements[i]
		if missing[mv.Number] {
			continue
		}
		start, v0, ok0 := crossing(ps, edge(p, mv.StartM, mv.StartS), true)
		end, v1, ok1 := crossing(ps, edge(p, mv.EndM, mv.EndS), false)
		if !ok1 {
			end, v1 = lastOn(ps)
		}
		if end < start { // begun anew and not ridden to its end again
			start, v0, ok0 = crossing(ps, edge(p, mv.StartM, mv.StartS), false)
		}
		if !ok0 || end < start {
			continue
		}
		sd := edgeSD(n, math.Min(v0, v1))
		out = append(out, Span{mv.Number, gait.Seconds(start), gait.Seconds(end), gait.Seconds(sd), "recording"})
	}
	return out
}

// edgeSD is the doubt of a movement's edge in seconds: how far the place along the line is
// uncertain, over the speed there. Half a metre is the rider's own.
func edgeSD(n Noise, speed float64) float64 {
	d := math.Sqrt(n.WanderSD*n.WanderSD + n.WhiteSD*n.WhiteSD/4 + 0.25)
	return d / math.Max(speed, 0.8)
}

func lastOn(ps []place) (t, speed float64) {
	for i := len(ps) - 1; i >= 0; i-- {
		if !math.IsNaN(ps[i].m) {
			return ps[i].t, float64(ps[i].v.Norm())
		}
	}
	return 0, 0
}

// edge is the metre at which a boundary counts as passed. Where the plan stands still at the
// boundary, it is passed on arriving or on leaving, as the plan's clock says.
func edge(p *rideplan.Plan, m arena.Metres, at gait.Seconds) float64 {
	var first, last gait.Seconds
	found := false
	for i := sampleAfter(p.Samples, float64(m)-1e-6); i < len(p.Samples); i++ {
		s := p.Samples[i]
		if float64(s.M-m) > 1e-6 {
			break
		}
		if !found {
			first, found = s.T, true
		}
		last = s.T
	}
	const clear = 0.4
	switch {
	case !found || last-first < 0.5:
		return float64(m)
	case at >= last-0.25 && float64(m) < float64(p.Length)-clear:
		return float64(m) + clear
	case at <= first+0.25:
		return float64(m) - clear
	}
	return float64(m)
}
