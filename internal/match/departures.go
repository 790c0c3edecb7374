package match

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// departuresOf reads off the best path where the ride left the plan, and which movements
// were not ridden at all.
func departuresOf(p *rideplan.Plan, c *chain, ps []place) (out []Departure, missing map[int]bool) {
	missing = map[int]bool{}
	last := -1 // last place on the plan
	for i := range ps {
		if ps[i].layer != onPlan {
			continue
		}
		if last < 0 {
			if s := ps[i].station; s > entryReach {
				out = append(out, skipped(p, c, missing, 0, s, ps[i], ps[i], "the recording joins the test here")...)
			}
		} else if ps[i].piece != ps[last].piece {
			out = append(out, departure(p, c, missing, ps, last, i)...)
		}
		last = i
	}
	if last < 0 {
		return out, missing
	}
	if s, end := ps[last].station, len(c.stations)-1; s < end-entryReach {
		out = append(out, skipped(p, c, missing, s, end, ps[last], ps[last], "the ride ends before the test does")...)
	}
	return riddenAfterAll(c, ps, append(out, stops(c, ps)...), missing), missing
}

// riddenAfterAll takes back what was called left out and was ridden at another time, after
// going back in the test for instance.
func riddenAfterAll(c *chain, ps []place, ds []Departure, missing map[int]bool) []Departure {
	share := ridden(c, ps)
	var out []Departure
	for _, d := range ds {
		if d.Kind == "left out" && missing[d.Movement] && share[d.Movement] >= 0.6 {
			continue
		}
		out = append(out, d)
	}
	for n := range missing {
		if share[n] >= 0.6 {
			delete(missing, n)
		}
	}
	return out
}

// ridden is the share of each movement's stations that the ride went over.
func ridden(c *chain, ps []place) map[int]float64 {
	seen := make([]bool, len(c.stations))
	for i := 1; i < len(ps); i++ {
		if a, b := ps[i-1], ps[i]; a.layer == onPlan && b.layer == onPlan && a.piece == b.piece {
			for s := a.station; s <= b.station; s++ {
				seen[s] = true
			}
		}
	}
	all, share := map[int]float64{}, map[int]float64{}
	for s := range seen {
		all[c.stations[s].movement]++
	}
	for s, yes := range seen {
		if yes {
			share[c.stations[s].movement] += 1 / all[c.stations[s].movement]
		}
	}
	return share
}

// departure explains the break between two places on the plan.
func departure(p *rideplan.Plan, c *chain, missing map[int]bool, ps []place, i, j int) []Departure {
	a, b := ps[i], ps[j]
	var out []Departure
	away := b.t - a.t
	forward := b.station - a.station
	var far float64
	for k := i + 1; k < j; k++ {
		far = math.Max(far, float64(ps[k].at.Dist(a.at)))
	}
	mv := c.stations[a.station].movement
	base := Departure{Movement: mv, Start: gait.Seconds(a.t), End: gait.Seconds(b.t), Place: a.at}
	switch {
	case forward < -rejoinBack && !(forward >= -detourBack && away >= 3 && far > 4):
		base.Kind = "ridden again"
		base.Movement = c.stations[b.station].movement
		base.Reason = fmt.Sprintf("went back %.0f m along the test and rode it again", a.m-b.m)
		return append(out, base)
	case away >= 2.5 && far < 1.5:
		base.Kind = "stopped"
		base.Reason = fmt.Sprintf("stood still for %.0f s in movement %d where the test goes on", away, mv)
		out = append(out, base)
	case away >= 3 && far > 4:
		base.Kind = "wrong turn"
		base.Reason = fmt.Sprintf("left the line of movement %d for %.0f s, up to %.0f m from where it was left", mv, away, far)
		if back := a.m - b.m; back > clearlyBack {
			base.Reason += fmt.Sprintf("; taken up again %.0f m before that", back)
		}
		out = append(out, base)
	}
	if forward > maxStep {
		out = append(out, skipped(p, c, missing, a.station, b.station, a, b, "went on at a later place of the test")...)
	}
	return out
}

// clearlyBack is how many metres before where it was left a ride takes up the test again when that is
// worth a word.
const clearlyBack = 5

// SecondRide returns the words on a second ride in the same recording, "" where there is one
// ride alone.
func (r *Ridden) SecondRide() string {
	for _, d := range r.Departures {
		if d.Kind == "ridden again" && strings.HasPrefix(d.Reason, SecondRideWords) {
			return d.Reason
		}
	}
	return ""
}

// SecondRideWords begin the Reason of the Departure that a second ride is: from the earlier one's longest
// unbroken stretch to the beginning of the one that counts.
const SecondRideWords = "the recording holds a second ride"

// skipped reports the movements of which most of the line lies between two stations; a
// stretch that holds no whole movement is reported as one departure.
func skipped(p *rideplan.Plan, c *chain, missing map[int]bool, from, to int, a, b place, why string) []Departure {
	lo, hi := c.stations[from].m, c.stations[to].m
	var out []Departure
	for _, mv := range p.Movements {
		length := float64(mv.EndM - mv.StartM)
		in := math.Min(hi, float64(mv.EndM)) - math.Max(lo, float64(mv.StartM))
		whole := length < 1 && float64(mv.StartM) > lo && float64(mv.EndM) < hi
		if !whole && (length < 1 || in < 0.6*length) {
			continue
		}
		missing[mv.Number] = true
		out = append(out, Departure{"left out", mv.Number, gait.Seconds(a.t), gait.Seconds(b.t), a.at, fmt.Sprintf("movement %d was not ridden: %s", mv.Number, why)})
	}
	if len(out) == 0 && hi-lo > 8 {
		out = append(out, Departure{"left out", mostOf(c, from, to), gait.Seconds(a.t), gait.Seconds(b.t), a.at,
			fmt.Sprintf("%.0f m of the line were cut short: %s", hi-lo, why)})
	}
	return out
}

// mostOf is the movement that most of the line between two stations belongs to.
func mostOf(c *chain, from, to int) int {
	n := map[int]int{}
	best := c.stations[from].movement
	for _, st := range c.stations[from : to+1] {
		if n[st.movement]++; n[st.movement] > n[best] {
			best = st.movement
		}
	}
	return best
}

// vagueSpeed is the doubt of a speed, m/s, above which standing cannot be told from walking.
const vagueSpeed = 0.8

// longStop is how many seconds a stop takes to be seen: the less sure the speed is, the longer.
func longStop(p place) float64 {
	if p.vSD > 0.35 {
		return 5
	}
	return 2.5
}

// stops finds standing still where the plan does not stand.
func stops(c *chain, ps []place) []Departure {
	var out []Departure
	for i := 0; i < len(ps); {
		j := i
		for j < len(ps) && standing(c, ps[i], ps[j]) {
			j++
		}
		if j > i && ps[j-1].t-ps[i].t >= longStop(ps[i]) {
			mv := c.stations[ps[i].station].movement
			out = append(out, Departure{"stopped", mv, gait.Seconds(ps[i].t), gait.Seconds(ps[j-1].t), ps[i].at,
				fmt.Sprintf("stood still for %.0f s in movement %d where the test goes on", ps[j-1].t-ps[i].t, mv)})
		}
		i = max(j, i+1)
	}
	return out
}

func standing(c *chain, first, p place) bool {
	if p.layer != onPlan || first.layer != onPlan || p.piece != first.piece {
		return false
	}
	if float64(p.v.Norm()) > 0.25+2*p.vSD || p.vSD > vagueSpeed {
		return false
	}
	for s := max(0, p.station-4); s <= min(len(c.stations)-1, p.station+4); s++ {
		if c.stations[s].still > 0 || c.stations[s].turning || c.stations[s].speed < 0.3 {
			return false
		}
	}
	return p.at.Dist(first.at) < arena.Metres(0.6+3*p.posSD)
}
