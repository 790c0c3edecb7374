package track

import (
	"fmt"
	"math"
	"time"
)

// startedSD is the doubt of the motion's clock where two devices are taken as started at the same
// instant: by one hand, one after the other (assumption).
const startedSD Seconds = 1

// Join puts the motion of one recording beside the positions of another, on the clock of the
// positions: a tag on the rider and a phone in the pocket. The shift between them is where the turns
// of the two agree, when one shift clearly wins; else the time of day settles it where
// both files give it, and where one does not, both are taken as started at the same instant, with a
// note. The two must overlap. Neither is changed. The step may be nil.
func Join(positions, motion *Track, step Step) (*Track, error) {
	if len(positions.Fixes) == 0 || len(motion.Motion) == 0 {
		return nil, &Error{Message: "one file has no positions or the other no motion", Allowed: "a recording of positions and one of motion"}
	}
	fit, note, err := clockOf(positions, motion, step)
	if err != nil {
		return nil, err
	}
	out := *positions
	out.HasGyro, out.ClockSD = motion.HasGyro, fit.SD
	out.Motion = make([]Motion, len(motion.Motion))
	for i, m := range motion.Motion {
		m.T += fit.Shift
		m.T += Seconds(fit.Drift) * (m.T - fit.Mid)
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

// clockOf settles how the clock of the motion lies against that of the positions, with what there is to say of it.
func clockOf(positions, motion *Track, step Step) (clockFit, string, error) {
	shift, daytime, err := clockShift(positions.Start, motion.Start)
	if err != nil {
		return clockFit{}, "", err
	}
	if !daytime { // a file of positions may keep a clock of its own that does not begin at 0
		shift = positions.Fixes[0].T - motion.Motion[0].T
	}
	fit, ok, err := matchClocks(positions, motion, step)
	if err != nil {
		return clockFit{}, "", err
	}
	off := fit.Shift - shift
	switch {
	case daytime && (!ok || !clockMayBeOff(float64(off))):
		return clockFit{Shift: shift}, "", nil
	case !ok:
		return clockFit{Shift: shift, SD: startedSD}, "not both files give the time of day, and no shift of their clocks clearly wins: motion and positions are taken as started at the same instant", nil
	case !daytime:
		return fit, fmt.Sprintf("not both files give the time of day: the turns of motion and positions put the motion's start %s that of the positions, sure to %.1f s if both are of this very ride%s",
			offWords(float64(off), "after", "before"), float64(fit.SD), driftWords(fit.Drift)), nil
	case math.Abs(float64(off)) <= math.Max(clockAgrees, 3*float64(fit.SD)) && fit.Drift == 0:
		return clockFit{Shift: shift, SD: fit.SD}, "", nil
	}
	return fit, fmt.Sprintf("the clock of the motion is %s that of the positions by their turns, sure to %.1f s, and was put right%s",
		offWords(float64(-off), "ahead of", "behind"), float64(fit.SD), driftWords(fit.Drift)), nil
}

// offWords says a shift and its way.
func offWords(s float64, more, less string) string {
	if s < 0 {
		more = less
	}
	return fmt.Sprintf("%.1f s %s", math.Abs(s), more)
}

func driftWords(d float64) string {
	if d == 0 {
		return ""
	}
	return fmt.Sprintf("; the two run apart by %.2f s in an hour", 3600*math.Abs(d))
}

// clockMayBeOff reports whether clocks that both give a time of day may differ by so much: a clock set by hand,
// or one without its zone. What is further off is another ride.
func clockMayBeOff(s float64) bool {
	const within, zones = 120.0, 14.5 * 3600
	s = math.Abs(s)
	return s <= clockOff || s <= zones && math.Abs(math.Remainder(s, clockZone)) <= within
}

// clockShift returns what to add to the motion's times by their times of day; ok is false where not both
// files give it.
func clockShift(positions, motion string) (shift Seconds, ok bool, err error) {
	if positions == "" || motion == "" {
		return 0, false, nil
	}
	a, err1 := time.Parse(time.RFC3339Nano, positions)
	b, err2 := time.Parse(time.RFC3339Nano, motion)
	if err1 != nil || err2 != nil {
		return 0, false, &Error{Message: "a start time cannot be read", Allowed: "RFC 3339"}
	}
	return Seconds(math.Round(b.Sub(a).Seconds()*1e6) / 1e6), true, nil
}
