package prepare

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/terms"
)

func need(movement int, reach string, marks float64, fault terms.Fault, rein string, kinds ...terms.Kind) Need {
	return Need{Movement: movement, Kinds: kinds, Coefficient: 1, MaxPoints: 220, Rein: rein, Loss: diagnose.Loss{Reason: string(fault), Fault: fault, Marks: marks, Reach: reach}}
}

// sampleNeeds are invented losses of a novice test.
func sampleNeeds() []Need {
	out := []Need{
		need(1, diagnose.Now, 1.2, "drifted on the centre line", "", terms.Entry, terms.CentreLine, terms.Halt),
		need(1, diagnose.Now, 0.8, "not square", "", terms.Entry, terms.Halt),
		need(4, diagnose.Now, 1.0, "circle too large", "left", terms.Circle),
		need(6, diagnose.Schooling, 1.1, "tense", "", terms.FreeWalk),
		need(7, diagnose.Now, 0.9, "late at the letter", "", terms.Transition),
		need(9, diagnose.Schooling, 1.4, "running", "", terms.Lengthened),
		need(12, diagnose.Now, 1.1, "falling out", "right", terms.Circle),
		need(13, diagnose.Ceiling, 3.0, "", "", terms.Circle),
	}
	for i := range out {
		out[i].Paces = []string{"trot"}
		if out[i].Movement == 6 {
			out[i].Paces = []string{"walk"}
		}
	}
	return out
}

func plan(t testing.TB, in LessonInput) Lesson {
	t.Helper()
	l, err := PlanLesson(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// checkLesson holds every plan to the rules, whatever the input.
func checkLesson(in LessonInput, l Lesson) error {
	at, exerciseRun := 0.0, 0.0
	reins := map[string]float64{}
	var done []Exercise
	for i, b := range l.Blocks {
		if math.Abs(b.StartS-at) > 1e-9 || b.LengthS <= 0 {
			return fmt.Errorf("block %d starts at %v, want %v, length %v", i, b.StartS, at, b.LengthS)
		}
		at += b.LengthS
		if b.Kind != ExerciseBlock {
			exerciseRun = 0
			continue
		}
		if i > 0 && l.Blocks[i-1].Kind == ExerciseBlock && l.Blocks[i-1].Exercise != b.Exercise {
			return fmt.Errorf("block %d: %s follows %s without a walk break", i, b.Exercise, l.Blocks[i-1].Exercise)
		}
		exerciseRun += b.LengthS
		reins[b.Rein] += b.LengthS
		if exerciseRun > 60*lessonRules.BlockMax && b.Exercise != "whole-test" {
			return fmt.Errorf("block %d: %v s of focused work without a break", i, exerciseRun)
		}
		if e, ok := ExerciseByID(b.Exercise); ok {
			done = append(done, e)
		}
	}
	if math.Abs(at-60*in.Minutes) > 0.5 {
		return fmt.Errorf("blocks sum to %v s of %v minutes", at, in.Minutes)
	}
	if d := math.Abs(reins["left"] - reins["right"]); d > 60*lessonRules.ReinSlack+1e-9 {
		return fmt.Errorf("reins differ by %v s", d)
	}
	if l.Blocks[len(l.Blocks)-1].Kind != CoolDownBlock {
		return fmt.Errorf("ends with %s", l.Blocks[len(l.Blocks)-1].Kind)
	}
	if !in.WarmedUp && l.Blocks[0].Kind != WarmUpBlock {
		return fmt.Errorf("begins with %s", l.Blocks[0].Kind)
	}
	return checkHorse(in, l, done)
}

func checkHorse(in LessonInput, l Lesson, done []Exercise) error {
	h, load, work := in.Horse, 0.0, 0.0
	for _, b := range l.Blocks {
		if b.Kind == ExerciseBlock {
			load += float64(b.Load) * b.LengthS / 300
			work += b.LengthS / 60
		}
		for _, no := range h.MayNot {
			if strings.EqualFold(b.Pace, no) {
				return fmt.Errorf("%s though the horse may not %s", b.Title, no)
			}
		}
	}
	if c := capacityOf(h); load > c.Load+1e-9 || work > c.Work+1e-9 {
		return fmt.Errorf("load %v of %v, work %v of %v min", load, c.Load, work, c.Work)
	}
	for i, e := range done {
		if h.AgeYears > 0 && h.AgeYears < e.MinAge {
			return fmt.Errorf("%s at %v years", e.ID, h.AgeYears)
		}
		for _, later := range done[i+1:] {
			if easierThan(later, e) {
				return fmt.Errorf("%s before its easier version %s", e.ID, later.ID)
			}
		}
	}
	sequence := 0
	for i, b := range l.Blocks {
		if e, _ := ExerciseByID(b.Exercise); b.Kind == ExerciseBlock && (e.Group == "lines" || b.Exercise == "whole-test") && (i == 0 || l.Blocks[i-1].Exercise != b.Exercise) {
			sequence++
		}
	}
	if h.Anticipates && sequence > 1 {
		return fmt.Errorf("the test's own sequence %d times for a horse that anticipates", sequence)
	}
	if in.Minutes < lessonRules.FullFrom && !in.WarmedUp && len(done) > 1 {
		return fmt.Errorf("%d exercises in %v minutes, not warmed up", len(done), in.Minutes)
	}
	return nil
}

func TestLessonKeepsEveryRule(t *testing.T) {
	faults := terms.FaultIDs()
	kinds := []terms.Kind{terms.Halt, terms.Circle, terms.Transition, terms.FreeWalk, terms.ShoulderIn, terms.CounterCanter, terms.Serpentine, terms.ReinBack, terms.MediumPace}
	rapid.Check(t, func(rt *rapid.T) {
		in := LessonInput{Minutes: float64(rapid.IntRange(24, 180).Draw(rt, "half minutes")) / 2, WarmedUp: rapid.Bool().Draw(rt, "warm"),
			ArenaLengthM: rapid.SampledFrom([]float64{40, 60}).Draw(rt, "arena"), SharedArena: rapid.Bool().Draw(rt, "shared")}
		in.Horse = Horse{AgeYears: rapid.SampledFrom([]float64{0, 3, 4, 5, 7, 12}).Draw(rt, "age"), Level: rapid.SampledFrom(append([]string{""}, Levels...)).Draw(rt, "level"),
			Fitness: rapid.SampledFrom([]string{"", "unfit", "fair", "fit"}).Draw(rt, "fit"), Anticipates: rapid.Bool().Draw(rt, "anticipates")}
		for _, m := range forbidden {
			if rapid.IntRange(0, 5).Draw(rt, m) == 0 {
				in.Horse.MayNot = append(in.Horse.MayNot, m)
			}
		}
		for range rapid.IntRange(0, 10).Draw(rt, "needs") {
			in.Needs = append(in.Needs, need(rapid.IntRange(1, 20).Draw(rt, "movement"), rapid.SampledFrom([]string{diagnose.Now, diagnose.Schooling, diagnose.Ceiling}).Draw(rt, "reach"),
				rapid.Float64Range(0, 4).Draw(rt, "marks"), rapid.SampledFrom(faults).Draw(rt, "fault"), rapid.SampledFrom([]string{"", "left", "right"}).Draw(rt, "rein"), rapid.SampledFrom(kinds).Draw(rt, "kind")))
		}
		l, err := PlanLesson(context.Background(), in)
		if err != nil {
			rt.Fatal(err)
		}
		if err := checkLesson(in, l); err != nil {
			b, _ := json.MarshalIndent(l.Blocks, "", " ")
			rt.Fatalf("%v\n%s", err, b)
		}
	})
}

func TestFortyFiveMinutesHoldThreeExercises(t *testing.T) {
	l := plan(t, LessonInput{Minutes: 45, Needs: sampleNeeds(), Horse: Horse{AgeYears: 9, Level: "novice", Fitness: "fit"}})
	ids := map[string]bool{}
	for _, b := range l.Blocks {
		if b.Kind == ExerciseBlock {
			ids[b.Exercise] = true
			if b.Sheet == "" || len(b.Reasons) == 0 {
				t.Errorf("%s has no sheet or no reason", b.Title)
			}
		}
	}
	if len(ids) < 3 || !l.Optimal || l.ExpectedPercent <= 0 || len(l.LeftOut) == 0 || len(l.Homework) == 0 || len(l.Homework) > 3 {
		t.Errorf("%d exercises, %.2f points, %d left out, %d homework", len(ids), l.ExpectedPercent, len(l.LeftOut), len(l.Homework))
	}
}

func TestRefusalsSayWhatCanBeDone(t *testing.T) {
	hot, warm := &Weather{TempC: 38, HumidityPct: 85}, &Weather{TempC: 30, HumidityPct: 60}
	for _, c := range []struct {
		name string
		in   LessonInput
		want error
		says string
	}{
		{"ten minutes", LessonInput{Minutes: 10}, ErrTooShort, "instead"},
		{"ten minutes warmed up", LessonInput{Minutes: 10, WarmedUp: true}, ErrTooShort, "instead"},
		{"no time", LessonInput{}, ErrInput, "allowed"},
		{"not a number", LessonInput{Minutes: math.NaN()}, ErrInput, "allowed"},
		{"not sound", LessonInput{Minutes: 45, Horse: Horse{Unsound: true}}, ErrUnsound, "vet"},
		{"38 C and 85 %", LessonInput{Minutes: 45, Weather: hot}, ErrTooHot, "instead"},
		{"impossible weather", LessonInput{Minutes: 45, Weather: &Weather{TempC: 300}}, ErrInput, "allowed"},
	} {
		_, err := PlanLesson(context.Background(), c.in)
		if !errors.Is(err, c.want) || !strings.Contains(fmt.Sprint(err), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// 30 C with 60 % is 146: care, not a refusal (worked in the extension summaries' rule).
	if got := HeatIndex(*warm); math.Abs(got-146) > 0.01 {
		t.Errorf("heat index %v, want 146", got)
	}
	if got := HeatIndex(Weather{TempC: 32, HumidityPct: 65}); math.Abs(got-154.6) > 0.01 {
		t.Errorf("heat index %v, want 154.6", got)
	}
	horse := Horse{Fitness: "fit"}
	hotter := plan(t, LessonInput{Minutes: 60, Needs: sampleNeeds(), Horse: horse, Weather: warm})
	if most := 0.8 * capacityOf(horse).Load; loadOf(hotter) > most || !slices.ContainsFunc(hotter.Warnings, func(w string) bool { return strings.Contains(w, "over 130") }) {
		t.Errorf("load %v of %v in the heat; %q", loadOf(hotter), most, hotter.Warnings)
	}
	for _, b := range hotter.Blocks {
		if b.Kind == WalkBlock && b.LengthS < 60*lessonRules.BreakEasy {
			t.Errorf("a break of %v s in the heat", b.LengthS)
		}
	}
}

// loadOf is the load of a lesson as capacities count it: an exercise's load per five minutes.
func loadOf(l Lesson) float64 {
	s := 0.0
	for _, b := range l.Blocks {
		if b.Kind == ExerciseBlock {
			s += b.LengthS / 300 * float64(b.Load)
		}
	}
	return s
}

func TestAHorseThatMayNotCanterDoesNot(t *testing.T) {
	in := LessonInput{Minutes: 60, Needs: append(sampleNeeds(), need(14, diagnose.Now, 3, "counter-canter lost quality", "", terms.CounterCanter)), Horse: Horse{Fitness: "fit", Level: "elementary", MayNot: []string{"canter"}}}
	l := plan(t, in)
	for _, b := range l.Blocks {
		if b.Pace == "canter" || strings.Contains(strings.ToLower(b.Sheet), "canter") {
			t.Errorf("%s", b.Title)
		}
	}
	found := false
	for _, o := range l.LeftOut {
		found = found || strings.Contains(o.Reason, "may not: canter")
	}
	if !found {
		t.Errorf("left out: %+v", l.LeftOut)
	}
	l = plan(t, LessonInput{Minutes: 30, Horse: Horse{MayNot: []string{"trot", "canter"}}})
	for _, b := range l.Blocks {
		if b.Pace != "walk" {
			t.Errorf("a horse that may only walk: %+v", b)
		}
	}
}

// Twelve minutes without a warm-up are loosening and walk, and the plan says so.
func TestTwelveMinutes(t *testing.T) {
	l := plan(t, LessonInput{Minutes: 12, Needs: sampleNeeds()})
	if len(exerciseIDs(l)) != 0 || !slices.ContainsFunc(l.Warnings, func(w string) bool { return strings.Contains(w, "no time is left") }) {
		t.Errorf("%v %q", exerciseIDs(l), l.Warnings)
	}
	if l := plan(t, LessonInput{Minutes: 12, Needs: sampleNeeds(), WarmedUp: true}); len(exerciseIDs(l)) != 1 {
		t.Errorf("warmed up: %v", exerciseIDs(l))
	}
}

// Without marks, recording or remarks the lesson is balanced and says what it is.
func TestLessonWithoutNeeds(t *testing.T) {
	in := LessonInput{Minutes: 45}
	l := plan(t, in)
	if len(exerciseIDs(l)) < 3 || !slices.ContainsFunc(l.Warnings, func(w string) bool { return strings.Contains(w, "no marks, recording or remarks") }) {
		t.Errorf("%v %q", exerciseIDs(l), l.Warnings)
	}
	if err := checkLesson(in, l); err != nil {
		t.Error(err)
	}
}

// The whole test is rationed: near the show only, not after two in a week, never again at
// once for a horse that anticipates.
func TestWholeTestIsRationed(t *testing.T) {
	three, forty := 3, 40
	runs := func(in LessonInput) bool {
		in.Minutes, in.SheetText, in.SheetS, in.Needs = 60, "name: X\narena: 20 x 40\n1 | A | Enter in working trot\n", 300, sampleNeeds()
		in.Horse.Fitness = "fit"
		l := plan(t, in)
		for i, b := range l.Blocks {
			if b.Exercise == "whole-test" {
				for _, later := range l.Blocks[i+1:] {
					if later.Kind == ExerciseBlock {
						t.Errorf("%s after the whole test", later.Title)
					}
				}
				return true
			}
		}
		for _, o := range l.LeftOut {
			if o.Exercise == "whole-test" {
				return false
			}
		}
		t.Error("whole test neither taken nor explained")
		return false
	}
	many := []RecentWork{{DaysAgo: 3, WholeTests: 2}}
	if !runs(LessonInput{DaysToShow: &three, Prefer: Preferences{WholeTest: true}}) || !runs(LessonInput{Prefer: Preferences{WholeTest: true}}) {
		t.Error("asked for, the test should be run once")
	}
	if runs(LessonInput{DaysToShow: &three, Prefer: Preferences{WholeTest: true}, Horse: Horse{RecentWork: many}}) {
		t.Error("asked for, but ridden twice this week")
	}
	if runs(LessonInput{DaysToShow: &forty}) || runs(LessonInput{}) || runs(LessonInput{DaysToShow: &three, Horse: Horse{RecentWork: many}}) ||
		runs(LessonInput{DaysToShow: &three, Horse: Horse{Anticipates: true, RecentWork: []RecentWork{{DaysAgo: 6, WholeTests: 1}}}}) {
		t.Error("the whole test was ridden though it is rationed")
	}
}

func TestLearntGainsMoveTheChoice(t *testing.T) {
	in := LessonInput{Minutes: 30, Needs: sampleNeeds(), Horse: Horse{Fitness: "fit"}}
	first := exerciseIDs(plan(t, in))
	for _, id := range first {
		in.Learnt = append(in.Learnt, Learnt{Exercise: id, Factor: 0.1, Rides: 9})
	}
	l := plan(t, in)
	if slices.Equal(first, exerciseIDs(l)) || !strings.Contains(l.GainsFrom, "ride-to-ride") {
		t.Errorf("before %v, after %v, %q", first, exerciseIDs(l), l.GainsFrom)
	}
}

func exerciseIDs(l Lesson) []string {
	var out []string
	for _, b := range l.Blocks {
		if b.Kind == ExerciseBlock && (len(out) == 0 || out[len(out)-1] != b.Exercise) {
			out = append(out, b.Exercise)
		}
	}
	return out
}

func TestWhichPaid(t *testing.T) {
	up, zero := 1.0, 0.0
	c := diagnose.Comparison{Movements: []diagnose.MovementChange{{Number: 1, MarkChange: &up}, {Number: 2, MarkChange: &zero}}}
	info := []MovementInfo{{Number: 1, Kinds: []terms.Kind{terms.Circle}}, {Number: 2, Kinds: []terms.Kind{terms.FreeWalk}}}
	d := LessonDone{Exercises: []string{"circle-20", "free-walk-diagonal"}, Change: c, Movements: info}
	got := WhichPaid([]LessonDone{d})
	if len(got) != 2 || got[0].Exercise != "circle-20" || got[0].Factor != 1.143 || !strings.Contains(got[0].Words, "too few") {
		t.Errorf("%+v", got) // (1*2 + 6)/(1+6) = 1.143
	}
	got = WhichPaid([]LessonDone{d, d, d, d})
	if got[0].Factor != 1.4 || !strings.Contains(got[0].Words, "seems to have paid") || got[1].Factor >= 1 {
		t.Errorf("%+v", got) // (4*2 + 6)/(4+6) = 1.4
	}
}

// The golden lesson is read by a person whenever it changes: UPDATE_GOLDEN=1 writes it.
func TestGoldenLesson(t *testing.T) {
	ten := 10
	in := LessonInput{Minutes: 45, Needs: sampleNeeds(), Horse: Horse{AgeYears: 9, Level: "novice", Fitness: "fit"}, DaysToShow: &ten, ArenaLengthM: 40,
		Causes: []diagnose.Cause{{Cause: "outside aids do not guide", Probability: 0.72}, {Cause: "line not planned", Probability: 0.41}}}
	golden(t, "lesson.json", plan(t, in))
	short := LessonInput{Minutes: 20, Needs: sampleNeeds(), Horse: Horse{AgeYears: 4, Level: "preliminary", Fitness: "unfit", MayNot: []string{"canter"}}}
	golden(t, "lesson-short.json", plan(t, short))
}

func golden(t *testing.T, name string, v any) {
	t.Helper()
	got, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	path := filepath.Join("testdata", name)
	if os.Getenv("UPDATE_GOLDEN") != "" {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil || string(want) != string(got) {
		t.Errorf("%s differs from what was read (%v); UPDATE_GOLDEN=1 writes it anew", path, err)
	}
}
