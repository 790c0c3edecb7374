package report

import (
	"strings"
	"testing"

	"ringcraft/internal/measure"
)

// TestNotRecordedIsSaidOnce: what a recording lacks altogether is one sentence for the ride with what
// would show it, and no line of any movement.
func TestNotRecordedIsSaidOnce(t *testing.T) {
	none := func(what, lacks string) measure.Measure {
		return measure.Measure{What: what, Verdict: measure.CannotTell, LimitedBy: "motion data (25 Hz) of a recorded heading are no word to go by", Lacks: lacks}
	}
	motion, heading := measure.LacksMotion, measure.LacksHeading
	d := &ReviewDoc{Recording: &ReviewRecording{}, Movements: []ReviewMovement{
		{Number: 1, Measures: []measure.Measure{none("tempo", motion), {What: "speed", Value: ptr(3.6), Verdict: measure.OK}}},
		{Number: 2, Measures: []measure.Measure{none("tempo", motion), none("tempo 2", motion), none("angle", heading), none("halt place", ""),
			{What: "circle place", Value: ptr(0.4), Verdict: measure.CannotTell, LimitedBy: "the recorder's slow wander"}}},
	}}
	got := NotRecorded(d)
	if len(got) != 2 || strings.Count(got[0], "tempo") != 1 || !strings.Contains(got[0], "phone in a pocket") || !strings.Contains(got[1], ": angle.") {
		t.Errorf("%q", got)
	}
	if names := Names(Untold(d.Movements[1].Measures)); names != "halt place, circle place" {
		t.Errorf("movement 2 cannot tell %q", names)
	}
	if names := Names(Told(d.Movements[0].Measures)) + Names(Untold(d.Movements[0].Measures)); names != "speed" {
		t.Errorf("movement 1 says %q", names)
	}
	// Motion that was recorded and does not show something is a matter of that movement.
	d.Movements = []ReviewMovement{{Number: 1, Measures: []measure.Measure{none("tempo", ""), none("lead", measure.LacksGyroscope)}}}
	if got := NotRecorded(d); len(got) != 1 || !strings.Contains(got[0], "gyroscope") || Names(Untold(d.Movements[0].Measures)) != "tempo" {
		t.Errorf("with motion: %q, %q", got, Names(Untold(d.Movements[0].Measures)))
	}
	if d.Recording = nil; NotRecorded(d) != nil {
		t.Error("without any recording something is said to be missing in it")
	}
}
