package match

import (
	"fmt"
	"math"
	"sort"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// Nominal gives the movements of a ride without a recording their from-to: by the plan's own
// clock from Options.Start on, drawn to the starts that were tapped by hand. Between taps
// the plan's clock runs evenly faster or slower. A span is "taps" when its movement's start
// and end were tapped, else "nominal". Taps that CheckTaps objects to are not used.
func Nominal(p *rideplan.Plan, o Options) []Span {
	anchors, used := anchorsOf(p, o)
	var out []Span
	for i, mv := range p.Movements {
		s := Span{Movement: mv.Number, Start: onClock(anchors, mv.StartS), End: onClock(anchors, mv.EndS), Source: "nominal", SD: nominalSD(mv.StartS, anchors)}
		ended := i+1 == len(p.Movements) || used[p.Movements[i+1].Number]
		if used[mv.Number] {
			s.SD = tapSD
			if ended {
				s.Source = "taps"
			}
		}
		out = append(out, s)
	}
	return out
}

// CheckTaps says what is wrong with taps: a movement that the sheet does not have, or a time
// that does not rise in riding order.
func CheckTaps(p *rideplan.Plan, taps map[int]gait.Seconds) []error {
	var out []error
	numbers := make([]int, 0, len(taps))
	for n := range taps {
		numbers = append(numbers, n)
	}
	sort.Ints(numbers)
	for _, n := range numbers {
		if p.MovementByNumber(n) == nil {
			out = append(out, fmt.Errorf("a tap names movement %d; the sheet has %s", n, numbersOf(p)))
		}
	}
	_, used := anchorsOf(p, Options{Taps: taps})
	for _, mv := range p.Movements {
		if t, ok := taps[mv.Number]; ok && !used[mv.Number] {
			out = append(out, fmt.Errorf("the tap of movement %d at %.1f s is not a time after the taps before it", mv.Number, float64(t)))
		}
	}
	return out
}

// tapSD is how exactly a person taps the start of a movement, in seconds (common practice,
// no source: a reaction time and a doubt of where it starts).
const tapSD = 0.7

// anchor ties the plan's clock to the ride's.
type anchor struct{ plan, ride gait.Seconds }

func anchorsOf(p *rideplan.Plan, o Options) (out []anchor, used map[int]bool) {
	used = map[int]bool{}
	for _, mv := range p.Movements {
		t, ok := o.Taps[mv.Number]
		k := len(out)
		if !ok || bad(float64(t)) || k > 0 && (t <= out[k-1].ride || mv.StartS <= out[k-1].plan) {
			continue
		}
		out, used[mv.Number] = append(out, anchor{mv.StartS, t}), true
	}
	if len(out) == 0 {
		out = append(out, anchor{0, o.Start})
	}
	return out, used
}

func numbersOf(p *rideplan.Plan) string {
	if len(p.Movements) == 0 {
		return "none"
	}
	return fmt.Sprintf("%d to %d", p.Movements[0].Number, p.Movements[len(p.Movements)-1].Number)
}

// onClock turns plan time into ride time: evenly between anchors, at the plan's own pace
// before the first and after the last.
func onClock(as []anchor, t gait.Seconds) gait.Seconds {
	k := sort.Search(len(as), func(i int) bool { return as[i].plan >= t })
	switch {
	case k == len(as):
		return as[k-1].ride + t - as[k-1].plan
	case k == 0:
		return as[0].ride + t - as[0].plan
	}
	a, b := as[k-1], as[k]
	return a.ride + (t-a.plan)/(b.plan-a.plan)*(b.ride-a.ride)
}

// nominalSD grows with the plan's time to the nearest anchor: rides differ from the nominal
// time by some eight per cent (assumption: speeds of working paces differ so much from horse
// to horse).
func nominalSD(t gait.Seconds, as []anchor) gait.Seconds {
	d := math.Inf(1)
	for _, a := range as {
		d = math.Min(d, math.Abs(float64(a.plan-t)))
	}
	return gait.Seconds(math.Hypot(tapSD, 0.08*d))
}
