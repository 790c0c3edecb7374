package prepare

import (
	"errors"
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/judging"
	"ringcraft/internal/rideplan"
)

const shortSheet = `name: Willow Ford 2
arena: 20 x 40
level: novice
1 | A | Enter in working trot
  | X | Halt, salute. Proceed in working trot
2 | C | Track left
3 | E | Circle left 20 m
4 | FXH | Change the rein, free walk on a long rein
5 | H | Medium walk
6 | C | Working trot
7 | A | Down the centre line
8 | X | Halt, salute
`

func show(t testing.TB, in ShowInput) ShowDay {
	t.Helper()
	d, err := PlanShow(in)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestShowDayRunsBackwardsWithoutAGap(t *testing.T) {
	rules, err := judging.RulesByID(judging.DefaultRules)
	if err != nil {
		t.Fatal(err)
	}
	d := show(t, ShowInput{StartClockS: 10*3600 + 24*60, Horse: Horse{Level: "novice", Anticipates: true}, TravelMin: 50, Rules: rules,
		Plan: rideplan.CompileText("s", shortSheet, rideplan.Options{}), Needs: sampleNeeds()})
	warm := 0.0
	for i, p := range d.Phases {
		if i > 0 && p.FromS != d.Phases[i-1].ToS {
			t.Errorf("%s begins at %v, %s ended at %v", p.Kind, p.FromS, d.Phases[i-1].Kind, d.Phases[i-1].ToS)
		}
		if p.Kind == "warm-up" || p.Kind == "walk" && i > 3 {
			warm += p.ToS - p.FromS
		}
	}
	// A novice's warm-up of about 25 minutes: Murray, Mann and Parkin 2006.
	if warm < 24*60 || warm > 27*60 {
		t.Errorf("warm-up of %.0f s, want about 25 minutes", warm)
	}
	if d.Start != "10:24" || d.Phases[0].Kind != "travel" || len(d.Pressure) != 5 || len(d.Touch) == 0 || len(d.Entry) < 2 || d.Devices == "" || d.Calling == "" {
		t.Errorf("%+v", d)
	}
	for i := 1; i < len(d.Pressure); i++ {
		a, b := d.Pressure[i-1], d.Pressure[i]
		if a.Needs/a.Has < b.Needs/b.Has-1e-9 {
			t.Errorf("pressure points are not sorted: %+v", d.Pressure)
		}
	}
	if !strings.Contains(strings.Join(d.Phases[len(d.Phases)-4].Do, " "), "never in the order of the test") {
		t.Errorf("%+v", d.Phases[len(d.Phases)-4])
	}
}

func TestShowDayFollowsTheHorse(t *testing.T) {
	base := show(t, ShowInput{StartClockS: 36000, Horse: Horse{Level: "novice"}})
	tense := show(t, ShowInput{StartClockS: 36000, Horse: Horse{Level: "novice"}, Causes: []diagnose.Cause{{Cause: "tension", Probability: 0.8}}})
	hot := show(t, ShowInput{StartClockS: 36000, Horse: Horse{Level: "novice"}, Weather: &Weather{TempC: 30, HumidityPct: 60}})
	if !(tense.Phases[0].FromS < base.Phases[0].FromS && hot.Phases[0].FromS > base.Phases[0].FromS) {
		t.Errorf("begins at %v, tense %v, hot %v", base.Phases[0].FromS, tense.Phases[0].FromS, hot.Phases[0].FromS)
	}
	if len(hot.Warnings) == 0 || len(hot.Cautions) <= len(base.Cautions) {
		t.Errorf("%q", hot.Warnings)
	}
	none := show(t, ShowInput{StartClockS: 36000, Horse: Horse{MayNot: []string{"canter"}}})
	for _, p := range none.Phases {
		if strings.HasPrefix(p.Title, "Canter") {
			t.Errorf("%+v", p)
		}
	}
	if early := show(t, ShowInput{StartClockS: 1800}); !strings.HasPrefix(early.Phases[0].Clock, "day before") {
		t.Errorf("%+v", early.Phases[0])
	}
}

func TestShowDayRefuses(t *testing.T) {
	for _, c := range []struct {
		in   ShowInput
		want error
	}{
		{ShowInput{StartClockS: 90000}, ErrInput},
		{ShowInput{StartClockS: -1}, ErrInput},
		{ShowInput{StartClockS: 36000, Horse: Horse{Unsound: true}}, ErrUnsound},
		{ShowInput{StartClockS: 36000, Weather: &Weather{TempC: 40, HumidityPct: 90}}, ErrTooHot},
	} {
		if _, err := PlanShow(c.in); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v", c.in, err)
		}
	}
}

// What may be touched on the day is within reach now; what needs weeks is left alone.
func TestTouchAndLeave(t *testing.T) {
	d := show(t, ShowInput{StartClockS: 36000, Needs: sampleNeeds()})
	if len(d.Touch) != 3 || !strings.Contains(d.Touch[0], "drifted on the centre line") {
		t.Errorf("touch %q", d.Touch)
	}
	if !strings.Contains(strings.Join(d.Leave, "\n"), "running") || strings.Contains(strings.Join(d.Touch, "\n"), "running") {
		t.Errorf("leave %q", d.Leave)
	}
}
