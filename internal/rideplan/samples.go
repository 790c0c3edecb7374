package rideplan

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
)

const (
	spotStep  = 0.2 // seconds between samples while standing or turning on the spot
	rampAngle = 2.0 // metres over which a sideways angle is taken and given up
)

// samples turns the timeline into the plan's samples: t strictly rising, at most 0.25 m apart.
func (c *compiler) samples(tl *timeline) []Sample {
	var out []Sample
	w := newWalker(tl.line.path)
	box := 0
	for i := range tl.stations {
		st := tl.stations[i]
		for box+1 < len(c.plan.Movements) && st.t >= c.plan.Movements[box+1].StartS-1e-9 {
			box++
		}
		e := tl.pieces[st.piece]
		s := c.sample(tl, st, e, w.at(st.s+1e-9))
		s.Movement = c.plan.Movements[box].Number
		if st.stop {
			s.Point, s.Heading = e.start, e.heading
			s.Point = c.pointAt(tl, st.piece)
			out = appendSample(out, s)
			out = spotSamples(out, s, e)
			continue
		}
		out = appendSample(out, s)
	}
	return out
}

// pointAt returns where a spot stands: the end of the rounded line before it.
func (c *compiler) pointAt(tl *timeline, piece int) arena.Point {
	return tl.line.path.At(arena.Metres(tl.m0[piece])).Point
}

func appendSample(out []Sample, s Sample) []Sample {
	if n := len(out); n > 0 && s.T <= out[n-1].T+1e-9 {
		out[n-1] = s // a border: the piece that begins wins
		return out
	}
	return append(out, s)
}

func spotSamples(out []Sample, s Sample, e elem) []Sample {
	n := max(1, int(math.Ceil(float64(e.hold)/spotStep)))
	start, h := s.T, s.Heading
	for j := 1; j <= n; j++ {
		f := float64(j) / float64(n)
		s.T = start + gait.Seconds(f)*e.hold
		s.Heading = h + arena.Angle(f)*e.turn
		out = appendSample(out, s)
	}
	return out
}

func (c *compiler) sample(tl *timeline, st station, e elem, pose arena.Pose) Sample {
	s := Sample{M: arena.Metres(st.s), T: st.t, Point: pose.Point, Heading: pose.Heading.Norm(), Variety: e.variety, Lead: e.lead, Speed: gait.Speed(st.v), Curvature: pose.Curvature}
	if e.variety.PaceOf() != gait.Canter {
		s.Lead = NoHand
	}
	s.Bend = bendOf(e, pose.Curvature)
	if e.lat != nil {
		s.Bend, s.Side = e.lat.bend, e.lat.side
		s.Angle, s.Pivot = tl.sideways(st, e, pose.Heading), e.lat.pivot()
	}
	return s
}

// bendOf follows the line on arcs and the lead in counter-canter.
func bendOf(e elem, curv float64) Hand {
	b := NoHand
	if curv > 1e-6 {
		b = Left
	} else if curv < -1e-6 {
		b = Right
	}
	if e.spot && e.turn != 0 {
		b = handOf(float64(e.turn))
	}
	if e.variety.PaceOf() == gait.Canter && e.lead != NoHand && e.rein != NoHand && e.lead != e.rein {
		b = e.lead
	}
	return b
}

func handOf(turn float64) Hand {
	if turn < 0 {
		return Right
	}
	return Left
}

// sideways is the angle between body and line, taken and given up over rampAngle metres.
func (tl *timeline) sideways(st station, e elem, line arena.Angle) arena.Angle {
	if e.lat.parallel {
		return arena.Angle(math.Abs(float64(line.Diff(e.lat.body))))
	}
	i, j := st.piece, st.piece
	for i > 0 && tl.pieces[i-1].lat == e.lat {
		i--
	}
	for j+1 < len(tl.pieces) && tl.pieces[j+1].lat == e.lat {
		j++
	}
	d := math.Min(st.s-tl.m0[i], tl.m1[j]-st.s)
	return arena.Angle(math.Min(1, math.Max(0, d/rampAngle))) * e.lat.angle
}
