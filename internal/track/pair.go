package track

import "math"

// Two tags on one horse show where the body points. They are taken as such when they keep their
// distance: most of it between 0.4 and 3 m and steady to a third.
const (
	pairNear, pairFar = 0.4, 3.0 // m
	pairSteady        = 0.35     // of the distance, robust spread
	pairApart         = 0.5      // s, the longest wait for the other tag's next place
	pairShare         = 0.5      // of the rows that must have a partner
)

// pairHeading gives the rows of one tag the heading that the other tag, on the same horse, implies.
// Which tag goes in front is told by the way they travel, since horses go forward most of the time.
func (r *reading) pairHeading(other []row, name string) {
	dx, dy := make([]float64, len(r.rows)), make([]float64, len(r.rows))
	var dist, at []float64
	with := make([]bool, len(r.rows))
	j := 0
	for i, w := range r.rows {
		for j+1 < len(other) && other[j+1].t <= w.t {
			j++
		}
		x, y, ok := placeAt(other, j, w.t)
		if !ok {
			continue
		}
		dx[i], dy[i], with[i] = x-w.a, y-w.b, true
		dist, at = append(dist, math.Hypot(dx[i], dy[i])), append(at, w.t)
	}
	if float64(len(dist)) < pairShare*float64(len(r.rows)) || len(dist) < MinFixes || !steady(dist) {
		return
	}
	r.pairWander = slowSpread(at, dist) / math.Sqrt2
	r.pairDistance = median(append([]float64(nil), dist...))
	along := 0.0 // way made good towards the other tag
	for i := 1; i < len(r.rows); i++ {
		along += dx[i]*(r.rows[i].a-r.rows[i-1].a) + dy[i]*(r.rows[i].b-r.rows[i-1].b)
	}
	front := along > 0 // the other tag goes in front
	for i := range r.rows {
		if !with[i] || r.rows[i].hasH {
			continue
		}
		h := math.Atan2(dy[i], dx[i])
		if !front {
			h = math.Atan2(-dy[i], -dx[i])
		}
		r.rows[i].h, r.rows[i].hasH = h, true
	}
	where := "behind"
	if front {
		where = "in front of"
	}
	r.note("tag %s keeps %.1f m from it and goes %s it: the heading of the body is taken from the two", clip(name), median(dist), where)
}

func placeAt(rows []row, j int, t float64) (x, y float64, ok bool) {
	if j >= len(rows) || t < rows[j].t {
		return 0, 0, false
	}
	a := rows[j]
	if j+1 >= len(rows) {
		return a.a, a.b, t-a.t < pairApart/5
	}
	b := rows[j+1]
	if b.t-a.t > pairApart || b.t <= a.t {
		return 0, 0, false
	}
	u := (t - a.t) / (b.t - a.t)
	return a.a + u*(b.a-a.a), a.b + u*(b.b-a.b), true
}

func steady(dist []float64) bool {
	d := append([]float64(nil), dist...)
	mid := median(d)
	for i := range d {
		d[i] = math.Abs(d[i] - mid)
	}
	return mid >= pairNear && mid <= pairFar && 1.4826*median(d) < pairSteady*mid
}

// slowSpread is the robust standard deviation of v over time once what changes within two
// seconds is taken out: of the distance of two tags on one horse, the slow errors of both.
func slowSpread(at, v []float64) float64 {
	const block = 2.0 // s
	var slow, now []float64
	for i := range v {
		if len(now) > 0 && math.Floor(at[i]/block) != math.Floor(at[i-1]/block) {
			slow, now = append(slow, median(now)), nil
		}
		now = append(now, v[i])
	}
	if len(slow) < 10 {
		return 0
	}
	mid := median(append([]float64(nil), slow...))
	for i := range slow {
		slow[i] = math.Abs(slow[i] - mid)
	}
	return 1.4826 * median(slow)
}
