package match

import (
	"fmt"
	"slices"
	"sort"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/track"
)

// A recorder left running for a day holds hours of stable and field. Where it is known beforehand how the
// recording lies in the arena they are left out before it is smoothed: what is fitted to the way it
// moves is then the riding, and a day costs hardly more than a ride.
const (
	awayFrom  = 20.0  // metres beside the boards, besides the recorder's own error
	awayLeast = 600.0 // seconds that a stretch away lasts at least to be left out
	awayKept  = 60.0  // seconds of it that stay at either end: riding up and off
	// longestByRide is how many seconds of recording are searched for the place of the ride: an hour
	// takes some 3 s and 280 MB, and time and memory grow with the length.
	longestByRide = 3 * 3600.0
)

// near returns the recording without its long stretches away from the arena, itself where there are
// none, and refuses one that was never there.
func near(t *track.Track, p *rideplan.Plan, o Options, n noise) (*track.Track, error) {
	r, known := knownPlace(t, p, o, n)
	if !known {
		return t, placeable(t)
	}
	margin := arena.Metres(-(awayFrom + 3*n.WanderSD + 3*n.WhiteSD))
	out := *t
	out.Fixes = make([]track.Fix, 0, len(t.Fixes))
	left := 0.0
	for i := 0; i < len(t.Fixes); {
		j := i
		for j < len(t.Fixes) && !p.Board.Contains(r.apply(arena.Point(t.Fixes[j].P)), margin) {
			j++
		}
		kept, seconds := ends(t.Fixes[i:j], i > 0, j < len(t.Fixes))
		out.Fixes, left = append(out.Fixes, kept...), left+seconds
		if i = j; i < len(t.Fixes) {
			out.Fixes = append(out.Fixes, t.Fixes[i])
			i++
		}
	}
	switch {
	case left == 0:
		return t, nil
	case len(out.Fixes) < track.MinFixes:
		mid := t.Fixes[len(t.Fixes)/2]
		return nil, elsewhere(len(out.Fixes), len(t.Fixes), mid.T, r.apply(arena.Point(mid.P)))
	}
	out.Motion = during(t.Motion, out.Fixes[0].T, out.Fixes[len(out.Fixes)-1].T)
	out.Notes = append(slices.Clone(t.Notes), fmt.Sprintf("%.0f minutes far from the arena were left out", left/60))
	return &out, nil
}

// placeable refuses a recording that is too long to be placed by the ride itself.
func placeable(t *track.Track) error {
	if n := len(t.Fixes); n > 0 && t.Fixes[n-1].T-t.Fixes[0].T > longestByRide {
		return fmt.Errorf("the recording lasts %.1f h; one that has to be placed by the ride itself may last %.0f h: cut it to the ride, say from which minute to which it was, or survey two letters or more",
			float64(t.Fixes[n-1].T-t.Fixes[0].T)/3600, longestByRide/3600)
	}
	return nil
}

// knownPlace is how the recording lies in the arena where that does not depend on the ride.
func knownPlace(t *track.Track, p *rideplan.Plan, o Options, n noise) (rigid, bool) {
	if !o.needsPlacing(t.Frame) {
		return identity(), true
	}
	plane, geo := t.Plane()
	if !geo || o.Survey == nil || o.Survey.fits(p.Board) != nil {
		return rigid{}, false
	}
	r, _, err := placeByLetters(o.Survey, plane, n)
	return r, err == nil
}

// ends is what stays of a stretch away from the arena, and how many seconds of it go.
func ends(away []track.Fix, before, after bool) (kept []track.Fix, left float64) {
	if len(away) < 2 || away[len(away)-1].T-away[0].T < awayLeast {
		return away, 0
	}
	from, to := away[0].T, away[len(away)-1].T
	if before {
		from += awayKept
	}
	if after {
		to -= awayKept
	}
	a := sort.Search(len(away), func(i int) bool { return away[i].T >= from })
	z := sort.Search(len(away), func(i int) bool { return away[i].T > to })
	return slices.Concat(away[:a], away[z:]), float64(to - from)
}

// during is the motion between two times; it shares the recording's own samples.
func during(m []track.Motion, from, to track.Seconds) []track.Motion {
	a := sort.Search(len(m), func(i int) bool { return m[i].T >= from })
	z := sort.Search(len(m), func(i int) bool { return m[i].T > to })
	return m[a:z]
}

// elsewhere refuses a recording that is hardly ever near the arena.
func elsewhere(in, all int, t track.Seconds, at arena.Point) error {
	return fmt.Errorf("the recording does not overlap with the arena: %d of %d positions lie in or near it, at %.1f s it is at x %.1f m, y %.1f m; allowed is a recording in the arena frame (origin at A, y towards C) or an arena file with surveyed letters",
		in, all, float64(t), at.X, at.Y)
}
