package report

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/draw"
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
)

// Instant is a ride at one second T of its clock: its place, how far along the plan that is in metres
// (below 0 or NaN off the plan), and its speed in m/s with its doubt. Gap says that nothing was
// recorded there.
type Instant struct {
	T float64
	arena.Point
	PlanM, Speed, SD float64
	Gap              bool
}

// on reports whether the instant lies on the plan.
func (i Instant) on() bool { return i.PlanM >= 0 }

// Instants are the samples of a ride.
func Instants(r *match.Ridden) []Instant {
	if r == nil {
		return nil
	}
	out := make([]Instant, len(r.Samples))
	for i, s := range r.Samples {
		out[i] = Instant{T: float64(s.T), Point: s.Point, PlanM: float64(s.PlanM), Speed: float64(s.Speed()), SD: s.VelSD, Gap: s.Gap}
	}
	return out
}

const (
	// mostGap is the longest time in seconds between two values that a line bridges.
	mostGap = 2.5
	// stripMargin is how much of the ride in seconds is shown before its first and after its last movement.
	stripMargin = 4
)

// SpeedStrip draws the speed of a ride over its own clock, with what the plan asks at the place where
// it is: a rider who halts two metres late is seen riding on while a halt is asked, and one who circles
// to try again is asked the same twice. Bands are the movements as ridden.
func SpeedStrip(plan *rideplan.Plan, d *ReviewDoc, ride []Instant, o draw.StripOptions) *draw.Scene {
	ridden := draw.Series{Label: "ridden", Ridden: true}
	for _, x := range ride {
		v := draw.Value{T: x.T, V: x.Speed, SD: x.SD}
		if x.Gap {
			v.V = math.NaN()
		}
		ridden.Values = append(ridden.Values, v)
	}
	return RideStrip(plan, d, ride, "speed", "m/s", func(s rideplan.Sample) float64 { return float64(s.Speed) }, ridden, o)
}

// RideStrip draws any series over the clock of a ride, as SpeedStrip does; asked is what the plan asks
// at one of its samples, NaN for nothing.
func RideStrip(plan *rideplan.Plan, d *ReviewDoc, ride []Instant, what, unit string, asked func(rideplan.Sample) float64, ridden draw.Series, o draw.StripOptions) *draw.Scene {
	c := rideClock(plan, d, ride)
	o.Ride = c
	plans := draw.Series{Label: "asked where they were"}
	for _, x := range ride {
		v := draw.Value{T: x.T, V: math.NaN()}
		if x.on() {
			v.V = asked(plan.SampleAtM(arena.Metres(x.PlanM)))
		}
		plans.Values = append(plans.Values, v)
	}
	return draw.Over(plan, what, unit, []draw.Series{within(plans, c), within(ridden, c)}, o)
}

// TempoStrip draws the strides a minute of a ride as SpeedStrip does its speed; usual is what each
// variety has on this horse, 0 where it is not known.
func TempoStrip(plan *rideplan.Plan, d *ReviewDoc, ride []Instant, usual func(gait.Variety) float64, ridden draw.Series, o draw.StripOptions) *draw.Scene {
	asked := func(s rideplan.Sample) float64 {
		if perMinute := usual(s.Variety); perMinute > 0 && s.Speed > 0 {
			return perMinute
		}
		return math.NaN()
	}
	return RideStrip(plan, d, ride, "tempo", "/min", asked, ridden, o)
}

// within cuts a series to the strip and breaks it where values are far apart.
func within(s draw.Series, c *draw.RideClock) draw.Series {
	out := draw.Series{Label: s.Label, Ridden: s.Ridden}
	last := math.Inf(-1)
	for _, v := range s.Values {
		if v.T < c.From || v.T > c.To {
			continue
		}
		if v.T-last > mostGap {
			out.Values = append(out.Values, draw.Value{T: last, V: math.NaN()})
		}
		out.Values, last = append(out.Values, v), v.T
	}
	return out
}

// rideClock puts the movements on the clock of the ride, and below them the paces asked on the way.
func rideClock(plan *rideplan.Plan, d *ReviewDoc, ride []Instant) *draw.RideClock {
	c := &draw.RideClock{}
	if len(ride) > 0 {
		c.From, c.To = ride[0].T, ride[len(ride)-1].T
	}
	first, last := math.Inf(1), math.Inf(-1)
	for _, m := range d.Movements {
		if m.StartS == nil || m.EndS == nil || !(*m.EndS > *m.StartS) {
			continue
		}
		c.Bands = append(c.Bands, draw.Band{Number: m.Number, Start: *m.StartS, End: *m.EndS})
		first, last = min(first, *m.StartS), max(last, *m.EndS)
	}
	if last > first {
		c.From, c.To = max(c.From, first-stripMargin), min(c.To, last+stripMargin)
	}
	for i := 1; i < len(ride); i++ {
		a, b := ride[i-1], ride[i]
		if !a.on() || !b.on() || a.T < c.From || b.T > c.To {
			continue
		}
		v := plan.SampleAtM(arena.Metres(a.PlanM)).Variety
		if n := len(c.Paces); n > 0 && c.Paces[n-1].Variety == v && c.Paces[n-1].To == a.T {
			c.Paces[n-1].To = b.T
			continue
		}
		c.Paces = append(c.Paces, draw.PaceRun{Variety: v, From: a.T, To: b.T})
	}
	return c
}
