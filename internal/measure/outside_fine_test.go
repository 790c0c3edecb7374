package measure_test

import (
	"math"
	"testing"
)

// TestFineRecordersByAnotherHand: with a fine recorder little hides what a number means, so a definition
// read otherwise than it was ridden, or a doubt that forgets one of its parts, shows: the halves of a
// circle by the ride and not by the plan, a corner nearest elsewhere than planned, the pace before a
// bigger one on its straights, few fixes on a circle that is no circle.
func TestFineRecordersByAnotherHand(t *testing.T) {
	rows := map[string]*tallied{}
	for i := range firstSheets {
		for _, c := range []int{5, 11} { // survey at 20 Hz, rtk once a second
			r, seed := rideOutside(i, firstSheets, c, 0)
			list, _ := r.review(t, conditions[c], seed)
			for _, f := range list {
				if rows[f.name] == nil {
					rows[f.name] = &tallied{}
				}
				rows[f.name].add(f)
			}
		}
	}
	for _, what := range []string{"circle opening", "circle closing", "circle diameter", "circle roundness", "corner depth", "gain", "loop size"} {
		row := rows[what]
		if row == nil || row.known < 5 {
			t.Errorf("%s: too few numbers", what)
			continue
		}
		off, inside := math.Sqrt(row.zz/float64(row.known)), float64(row.holds)/float64(row.known)
		t.Logf("%s: %d numbers, %.1f %% inside, error over doubt %.2f, %d wrong verdicts", what, row.known, 100*inside, off, row.wrong)
		if off > 1.25 || inside < 0.88 || row.wrong > 0 {
			t.Errorf("%s: of %d numbers %.1f %% inside, error over doubt %.2f, %d wrong verdicts", what, row.known, 100*inside, off, row.wrong)
		}
	}
}
