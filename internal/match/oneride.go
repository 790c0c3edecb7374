package match

import (
	"fmt"
	"math"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
)

// A recorder runs before the test, after it, and sometimes over two rides of it. Riding about goes over
// lines of the test by chance, so that the best path is on the plan there too; what counts is the one
// stretch of the recording that rides the test: from its entry to its salute, in its order.

// leg is an unbroken stretch of the path on the plan.
type leg struct {
	from, to int // epochs
	a, z     int // stations
}

// theRide is the stretch that counts, in epochs, and what of the test lies outside it.
type theRide struct {
	from, to     int
	before, more *leg // the longest leg of an earlier ride, and of riding on; nil where there is none of note
}

const (
	entryShare   = 0.1  // of the plan: a ride that is begun anew begins within it
	exitShare    = 0.05 // of the plan: a ride that is ended ends within it
	aloneM       = 5.0  // metres of the plan by which a later entry may fall short of an earlier one
	ofNote       = 0.2  // of the plan in one leg: a ride, no riding about
	vagueSigma   = 2.0  // metres an axis from which riding about follows lines of the test for long by chance
	vagueNote    = 0.4  // of the plan, then
	mostEntries  = 60   // that are looked at, the latest
	restOfSalute = 6    // epochs between legs of one last halt
)

// oneRide finds the stretch that counts and takes all else for riding about.
func (c *chain) oneRide(path []node) theRide {
	legs := c.legsOf(path)
	r := theRide{0, len(path) - 1, nil, nil}
	if len(legs) == 0 {
		return r
	}
	i, j := c.bestStretch(legs)
	if i > 0 {
		r.from = legs[i].from
	}
	if j < len(legs)-1 || legs[j].z >= len(c.stations)-1-entryReach {
		r.to = legs[j].to
	}
	r.before, r.more = c.longest(legs[:i]), c.longest(legs[j+1:])
	for k := range path {
		switch {
		case k < r.from:
			path[k].layer, path[k].s = beforeStart, 0
		case k > r.to:
			path[k].layer, path[k].s = done, int32(len(c.stations)-1)
		}
	}
	c.detours(path)
	return r
}

const (
	detourEpochs = 120 // longest detour, half seconds: a minute
	detourBack   = 70  // stations before where it was left at which the ride may take up the test again: from the last letter, mostly
	detourOn     = 24  // and after it
	detourAgain  = 0.6 // of what a detour went over by chance that is ridden in its turn as well
)

// detours takes what lies between leaving the test and taking it up again at the same place for a wrong
// turn, also where it went along other lines of the test. What was ridden there and nowhere else stays: then
// the order was wrong, not the way.
func (c *chain) detours(path []node) {
	legs := c.legsOf(path)
	for i := 0; i < len(legs); i++ {
		for j := i + 2; j < len(legs) && legs[j].from-legs[i].to <= detourEpochs; j++ {
			back := legs[j].a - legs[i].z
			if back < -detourBack || back > detourOn || legs[j].z-legs[j].a < detourOn || !c.elsewhereToo(legs, i, j) {
				continue
			}
			for k := legs[i].to + 1; k < legs[j].from; k++ {
				path[k].layer, path[k].s = offPlan, int32(legs[i].z)
			}
			i = j - 1
			break
		}
	}
}

// elsewhereToo reports whether what the legs between i and j go over is ridden by the others too.
func (c *chain) elsewhereToo(legs []leg, i, j int) bool {
	seen := make([]bool, len(c.stations))
	for k, l := range legs {
		if k <= i || k >= j {
			for s := l.a; s <= l.z; s++ {
				seen[s] = true
			}
		}
	}
	all, again := 0.0, 0.0
	for _, l := range legs[i+1 : j] {
		for s := l.a; s <= l.z; s++ {
			all++
			if seen[s] {
				again++
			}
		}
	}
	return again >= detourAgain*all
}

func (c *chain) legsOf(path []node) []leg {
	var out []leg
	for k, n := range path {
		if n.layer != onPlan {
			continue
		}
		if k > 0 && path[k-1].layer == onPlan && !broken(path[k-1], n, c.reach()) {
			l := &out[len(out)-1]
			l.to, l.z = k, int(n.s)
			continue
		}
		out = append(out, leg{k, k, int(n.s), int(n.s)})
	}
	return out
}

// bestStretch returns the legs from and to which most of the plan is ridden in order: of entries that
// ride as much the latest, and of its ends the earliest.
func (c *chain) bestStretch(legs []leg) (from, to int) {
	n := float64(len(c.stations))
	var entries []int
	for i := len(legs) - 1; i >= 0 && len(entries) < mostEntries; i-- {
		if i == 0 || float64(legs[i].a) <= entryShare*n {
			entries = append(entries, i)
		}
	}
	if last := entries[len(entries)-1]; last != 0 {
		entries = append(entries, 0)
	}
	best := -1
	for _, i := range entries { // the latest first: an earlier one must ride more
		if got, end := c.ridesFrom(legs, i); float64(got) > float64(best)+aloneM/stationStep || best < 0 {
			best, from, to = got, i, end
		}
	}
	return from, to
}

// ridesFrom returns how many stations are ridden in order from leg i on, and the earliest leg by which
// all of them are.
func (c *chain) ridesFrom(legs []leg, i int) (most, end int) {
	got := make([]int, len(legs))
	end = i
	for k := i; k < len(legs); k++ {
		got[k] = legs[k].z - legs[k].a
		for p := max(i, k-legsBack); p < k; p++ {
			if legs[k].z > legs[p].z && !c.tooLate(legs[p], legs[k]) {
				got[k] = max(got[k], got[p]+legs[k].z-max(legs[k].a, legs[p].z))
			}
		}
		if got[k] > most {
			most, end = got[k], k
		}
	}
	if float64(legs[end].z) < (1-exitShare)*float64(len(c.stations)) && c.sigma <= vagueSigma {
		return most, len(legs) - 1 // never ended: all that follows belongs to it
	}
	for end+1 < len(legs) && legs[end+1].a >= len(c.stations)-1-entryReach && legs[end+1].from-legs[end].to <= restOfSalute {
		end++
	}
	return most, end
}

// tooLate reports whether a leg follows another so late that it is riding about: a recorder that errs by metres
// lays that on lines of the test for long by chance.
func (c *chain) tooLate(a, b leg) bool {
	return c.sigma > vagueSigma && float64(b.from-a.to)*c.step() > vagueBreak
}

// vagueBreak is how many seconds a ride may be off the plan and still go on, to so vague a recorder (assumption:
// a retry or a few words take less).
const vagueBreak = 120.0

// legsBack is how many legs a chain may leave out at once.
const legsBack = 400

// longest returns the longest of legs when it is of note.
func (c *chain) longest(legs []leg) *leg {
	var best *leg
	for i := range legs {
		if best == nil || legs[i].z-legs[i].a > best.z-best.a {
			best = &legs[i]
		}
	}
	note := ofNote
	if c.sigma > vagueSigma {
		note = vagueNote
	}
	if best == nil || float64(best.z-best.a) < note*float64(len(c.stations)) {
		return nil
	}
	return best
}

// otherRides says what else of the test the recording holds: an earlier ride of it, a part ridden again
// after its end.
func (r theRide) otherRides(p *rideplan.Plan, c *chain, es []epoch) []Departure {
	var out []Departure
	one := func(l *leg, to int, words string) {
		st := c.stations[l.a]
		out = append(out, Departure{"ridden again", max(st.movement, p.Movements[0].Number), gait.Seconds(es[l.from].t), gait.Seconds(es[to].t), es[l.from].at, words})
	}
	if r.before != nil {
		one(r.before, r.from, fmt.Sprintf(SecondRideWords+", from %.0f s; what was ridden before it is not measured", es[r.from].t))
	}
	if r.more != nil {
		one(r.more, r.more.to, fmt.Sprintf("after the test %.0f m of it were ridden again; they are not measured", math.Round(float64(r.more.z-r.more.a)*stationStep)))
	}
	return out
}
