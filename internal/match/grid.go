package match

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/track"
)

// station is a place along the plan that the rider can be at: one state of the alignment.
type station struct {
	m        float64
	at       arena.Point
	dir      float64 // direction of travel, radians; the horse's heading turned about in rein-back
	speed    float64 // m/s the plan rides there
	still    float64 // seconds the plan stands there
	turning  bool    // turns on the spot: no direction of travel
	movement int
}

// stationStep is the spacing of the stations in metres.
const stationStep = 0.5

// stationsOf lays stations along the plan every stationStep metres.
func stationsOf(p *rideplan.Plan) []station {
	ss := p.Samples
	if len(ss) == 0 {
		return nil
	}
	n := int(math.Ceil(float64(p.Length)/stationStep)) + 1
	out := make([]station, 0, n)
	lo := 0
	for k := range n {
		m := math.Min(float64(k)*stationStep, float64(p.Length))
		for lo+1 < len(ss) && float64(ss[lo+1].M) <= m-stationStep/2 {
			lo++
		}
		out = append(out, stationAt(ss[lo:], m))
	}
	return out
}

// stationAt sums up the samples within half a step of m; ss starts at or before them.
func stationAt(ss []rideplan.Sample, m float64) station {
	st := station{m: m}
	last := ss[0]
	bestGap := math.Inf(1)
	var dist, dur float64
	for i := range ss {
		s := ss[i]
		if float64(s.M) > m+stationStep/2 && bestGap < math.Inf(1) {
			break
		}
		if g := math.Abs(float64(s.M) - m); g <= bestGap {
			bestGap = g
			st.at, st.movement = s.Point, s.Movement
		}
		if i > 0 {
			dm, dt := float64(s.M-last.M), float64(s.T-last.T)
			if dm < 1e-6 {
				st.still += dt
				st.turning = st.turning || math.Abs(float64(s.Heading.Diff(last.Heading))) > 1e-6
			} else {
				dist, dur = dist+dm, dur+dt
				st.at, st.dir = footAt(last, s, m), float64(s.Point.Sub(last.Point).Heading())
			}
		}
		last = s
	}
	if dur > 0 {
		st.speed = dist / dur
	}
	return st
}

// footAt returns the point m metres along, between two samples when m lies between them.
func footAt(a, b rideplan.Sample, m float64) arena.Point {
	f := (m - float64(a.M)) / float64(b.M-a.M)
	return a.Point.Lerp(b.Point, math.Max(0, math.Min(1, f)))
}

// epoch is what the recording says about half a second: place and velocity.
type epoch struct {
	t     float64
	at    arena.Point
	v     arena.Point
	vSD   float64 // one axis
	posSD float64 // one axis
	blind bool    // no fix near
}

// epochStep is the time between epochs in seconds.
const epochStep = 0.5

// epochsOf reads the smoothed recording, brought into the arena by r, every half second.
func epochsOf(s *track.Smoothed, r rigid) []epoch {
	n := len(s.States)
	t0, t1 := float64(s.States[0].T), float64(s.States[n-1].T)
	out := make([]epoch, 0, int((t1-t0)/epochStep)+1)
	for k := 0; ; k++ {
		t := t0 + float64(k)*epochStep
		if t > t1 {
			return out
		}
		st := s.At(track.Seconds(t))
		out = append(out, epoch{t: t, at: r.apply(arena.Point(st.P)), v: r.turn(arena.Point(st.V)), vSD: st.VelSD, posSD: st.PosSD, blind: st.Gap})
	}
}
