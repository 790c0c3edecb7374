package measure

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// lineAngle is the angle in degrees between a straight line as ridden and as planned, from the
// drift between two metres of the plan and with its sign and doubt.
func (r *ride) lineAngle(b *book, drift entry, length float64, u, normal arena.Point) {
	e := entry{what: "line angle", letter: drift.letter, at: drift.at, atM: drift.atM}
	slope := drift.value / length
	e.value = math.Atan(slope) * degrees
	share := degrees / (length * (1 + slope*slope))
	for _, p := range drift.parts {
		e.parts = append(e.parts, part{p.name, p.variance * share * share})
	}
	r.sided(b, e, u, normal)
}

const degrees = 180 / math.Pi

// steepness is the angle in degrees between a sideways line across the arena, as ridden through
// some fixes, and the line it leads to; asked is the plan's own.
func (r *ride) steepness(b *book, f *rideplan.Figure, os, planned []obs, w, n arena.Point) {
	e := entry{what: "line angle", kind: "line angle across", letter: f.At, at: during(os), atM: float64(f.StartM+f.EndM) / 2}
	v, ws := steepnessOf(os, w, n)
	e.value = v
	e.asked, _ = steepnessOf(planned, w, n)
	e.parts = append(r.d.of(ws), part{fromRiding, unevenSteepness * unevenSteepness})
	b.add(e)
}

// unevenSteepness is by how many degrees a line depends on whether its seconds or its metres
// count alike, where the pace is uneven.
const unevenSteepness = 0.1

// steepnessOf is the direction of the way through some fixes, even in time, from w towards n.
func steepnessOf(os []obs, w, n arena.Point) (deg float64, ws []weight) {
	var tm, tt, dw, dn float64
	for _, o := range os {
		tm += o.t / float64(len(os))
	}
	for _, o := range os {
		tt += (o.t - tm) * (o.t - tm)
	}
	for _, o := range os {
		c := (o.t - tm) / tt
		dw, dn = dw+c*o.at.Dot(w), dn+c*o.at.Dot(n)
	}
	ws = make([]weight, len(os))
	per := degrees / (dw*dw + dn*dn)
	for i, o := range os {
		c := per * (o.t - tm) / tt
		d := n.Mul(c * dw).Sub(w.Mul(c * dn))
		ws[i] = weight{o.t, o.at, d.X, d.Y}
	}
	return math.Atan2(dn, dw) * degrees, ws
}
