package web

import (
	"math"

	"ringcraft/internal/draw"
	"ringcraft/internal/logbook"
)

// The strips of a ride are drawn on the plan's clock, under the bands of the movements.

// speedStrip lays the ridden speed over the planned one; nil without a recording.
func speedStrip(rev *logbook.Review) *draw.Scene {
	clock, ok := rideClock(rev)
	if !ok {
		return nil
	}
	ridden := draw.Series{Label: "ridden", Ridden: true}
	last := math.Inf(-1)
	for _, p := range rev.Line {
		if p.PlanM < 0 || p.Gap {
			continue
		}
		if p.T-last > mostGap {
			ridden.Values = append(ridden.Values, broken(clock.plan(last)))
		}
		last = p.T
		ridden.Values = append(ridden.Values, draw.Value{T: clock.plan(p.T), V: p.Speed})
	}
	return draw.Over(rev.Plan, "speed", "m/s", []draw.Series{draw.SpeedAsked(rev.Plan), ridden}, draw.StripOptions{Width: 200, Height: 44})
}

// tempoStrip lays the tempo as ridden, with its doubt, over that of the plan; nil where none was
// counted. It is broken where it is not known.
func tempoStrip(rev *logbook.Review) *draw.Scene {
	clock, ok := rideClock(rev)
	if !ok || len(rev.Tempo.Points) == 0 {
		return nil
	}
	ridden := draw.Series{Label: "ridden", Ridden: true}
	last := math.Inf(-1)
	for _, p := range rev.Tempo.Points {
		if p.T-last > mostGap {
			ridden.Values = append(ridden.Values, broken(clock.plan(last)))
		}
		last = p.T
		ridden.Values = append(ridden.Values, draw.Value{T: clock.plan(p.T), V: p.PerMinute, SD: p.Doubt})
	}
	return draw.Over(rev.Plan, "tempo", "/min", []draw.Series{tempoAsked(rev.Plan, rev.Pair), ridden}, draw.StripOptions{Width: 200, Height: 44})
}

// mostGap is the longest time in seconds between two points that a line bridges.
const mostGap = 2.5

func broken(t float64) draw.Value { return draw.Value{T: t, V: math.NaN()} }

// tempoAsked is the tempo of the plan in strides a minute: of this horse where its file says so,
// else the usual one of each pace and variety; broken in halts.
func tempoAsked(p *logbook.Plan, pair logbook.Pair) draw.Series {
	out := draw.Series{Label: "as planned for this horse"}
	tempo := logbook.TempoOf(pair.Horse)
	for _, x := range p.Samples {
		v := draw.Value{T: float64(x.T), V: math.NaN()}
		if perMinute := tempo(x.Variety); perMinute > 0 && x.Speed > 0 {
			v.V = perMinute
		}
		out.Values = append(out.Values, v)
	}
	return out
}

// tempoWords says why there is no tempo; "" when there is one.
func tempoWords(rev *logbook.Review) string {
	switch {
	case len(rev.Tempo.Points) > 0:
		return ""
	case rev.Tempo.Motion:
		return "Motion was recorded, but no steady strides could be counted in it: the tempo is not known."
	}
	return "No motion recorded: the tempo is not known. A phone in a pocket or a sensor at the saddle that writes its accelerometer shows it; its file can be added below."
}

// clockOfRide turns seconds of the ride into the plan's.
type clockOfRide struct{ knots clockKnots }

func rideClock(rev *logbook.Review) (clockOfRide, bool) {
	if len(rev.Line) == 0 {
		return clockOfRide{}, false
	}
	t := timeline{}
	t.ride(rev.Plan, rev)
	return clockOfRide{t.Knots}, len(t.Knots.Ride) > 1
}

func (c clockOfRide) plan(ride float64) float64 { return between(c.knots, ride) }
