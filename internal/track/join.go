package track

import (
	"fmt"
	"math"
	"time"
)

// Join puts the motion of one recording beside the positions of another, on the clock of the
// positions: a tag on the rider and a phone in the pocket. Where both files give the time of day it
// settles the shift between them; where one does not, both are taken as started at the same instant,
// with a note. The two must overlap. Neither is changed.
func Join(positions, motion *Track) (*Track, error) {
	if len(positions.Fixes) == 0 || len(motion.Motion) == 0 {
		return nil, &Error{Message: "one file has no positions or the other no motion", Allowed: "a recording of positions and one of motion"}
	}
	shift, note, err := clockShift(positions.Start, motion.Start)
	if err != nil {
		return nil, err
	}
	if note != "" { // a file of positions may keep a clock of its own that does not begin at 0
		shift = positions.Fixes[0].T - motion.Motion[0].T
	}
	out := *positions
	out.HasGyro = motion.HasGyro
	out.Motion = make([]Motion, len(motion.Motion))
	for i, m := range motion.Motion {
		m.T += shift
		out.Motion[i] = m
	}
	first, last := out.Fixes[0].T, out.Fixes[len(out.Fixes)-1].T
	from, to := max(first, out.Motion[0].T), min(last, out.Motion[len(out.Motion)-1].T)
	if to-from < 1 {
		return nil, &Error{Message: fmt.Sprintf("the motion runs from %.0f to %.0f s of the positions' clock, the positions from %.0f to %.0f s",
			float64(out.Motion[0].T), float64(out.Motion[len(out.Motion)-1].T), float64(first), float64(last)), Allowed: "recordings of the same ride"}
	}
	out.Notes = append(append([]string(nil), positions.Notes...), motion.Notes...)
	if note != "" {
		out.Notes = append(out.Notes, note)
	}
	return &out, nil
}

// clockShift returns what to add to the motion's times.
func clockShift(positions, motion string) (Seconds, string, error) {
	if positions == "" || motion == "" {
		return 0, "not both files give the time of day: motion and positions are taken as started at the same instant", nil
	}
	a, err1 := time.Parse(time.RFC3339Nano, positions)
	b, err2 := time.Parse(time.RFC3339Nano, motion)
	if err1 != nil || err2 != nil {
		return 0, "", &Error{Message: "a start time cannot be read", Allowed: "RFC 3339"}
	}
	return Seconds(math.Round(b.Sub(a).Seconds()*1e6) / 1e6), "", nil
}
