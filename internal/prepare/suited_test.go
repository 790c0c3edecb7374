package prepare

import (
	"context"
	"slices"
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/terms"
)

// The figure of an exercise follows the movement where marks were lost, else the horse.
func TestParametersSuitTheLesson(t *testing.T) {
	circle, halt, back := mustExercise(t, "circle-10"), mustExercise(t, "halt-after-circle"), mustExercise(t, "rein-back-walk")
	line := mustExercise(t, "final-line")
	at := func(letters, text, rein string) []Need {
		return []Need{{Movement: 7, Letters: letters, Text: text, Rein: rein}}
	}
	tests := []struct {
		name  string
		e     Exercise
		in    LessonInput
		needs []Need
		want  string
	}{
		{"nothing known", circle, LessonInput{}, nil, "E"},
		{"at the letter of the movement", circle, LessonInput{}, at("K", "Circle left 10 m", "left"), "K"},
		{"at its mirror image", circle, LessonInput{}, at("F", "Circle right 10 m", "right"), "K"},
		{"on the left rein F is no mirror", circle, LessonInput{}, at("F", "Circle left 10 m", "left"), "E"},
		{"a letter it cannot be ridden at", circle, LessonInput{}, at("C", "Circle left 10 m", "left"), "E"},
		{"the last halt at G", line, LessonInput{}, at("A; G", "Down the centre line; Halt", ""), "G"},
		{"steps as asked", back, LessonInput{}, at("C", "Halt, rein back 3-5 steps", ""), "3"},
		{"size as asked", halt, LessonInput{}, at("B", "Circle right 10 metres", "right"), "10"},
		{"an elementary horse", halt, LessonInput{Horse: Horse{Level: "medium"}}, nil, "10"},
		{"which may not do small circles", halt, LessonInput{Horse: Horse{Level: "medium", MayNot: []string{"small circles"}}}, nil, "15"},
		{"a young one", halt, LessonInput{Horse: Horse{Level: "medium", AgeYears: 5}}, nil, "15"},
		{"a young horse in corners", mustExercise(t, "corner-voltes"), LessonInput{Horse: Horse{Level: "medium", AgeYears: 5}}, nil, "10"},
	}
	for _, tt := range tests {
		params, reasons := suited(tt.in, tt.e, tt.needs)
		got, ok := params[tt.e.Params[0].Name]
		if !ok {
			got = tt.e.Params[0].Values[0]
		}
		if got != tt.want || got != tt.e.Params[0].Values[0] && len(reasons) == 0 {
			t.Errorf("%s: %q with reasons %q, want %q", tt.name, got, reasons, tt.want)
		}
	}
}

func mustExercise(t *testing.T, id string) Exercise {
	t.Helper()
	e, ok := ExerciseByID(id)
	if !ok || len(e.Params) == 0 {
		t.Fatalf("no exercise %q with parameters", id)
	}
	return e
}

// In a whole lesson the sheet of a block carries the value and its reasons say why.
func TestLessonCarriesTheSuitedValue(t *testing.T) {
	need := Need{Movement: 4, Kinds: []terms.Kind{terms.ReinBack, terms.Halt}, Coefficient: 1, MaxPoints: 200, Letters: "C", Text: "Halt, rein back 5 steps",
		Loss: diagnose.Loss{Reason: "too few steps back", Fault: "too few steps back", Marks: 2, Reach: diagnose.Now}}
	var without []string
	for _, e := range Exercises() {
		if e.ID != "rein-back-walk" {
			without = append(without, e.ID)
		}
	}
	l, err := PlanLesson(context.Background(), LessonInput{Minutes: 45, Needs: []Need{need}, Horse: Horse{Level: "elementary"}, Prefer: Preferences{Without: without}})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(l.Blocks, func(b Block) bool { return b.Exercise == "rein-back-walk" })
	if i < 0 {
		t.Fatalf("%+v", l.Blocks)
	}
	if b := l.Blocks[i]; !strings.Contains(b.Sheet, "5 steps") || !slices.ContainsFunc(b.Reasons, func(r string) bool { return strings.Contains(r, "5 steps, as in movement 4") }) {
		t.Errorf("%s\n%q", b.Sheet, b.Reasons)
	}
	if h := l.Homework; len(h) == 0 || !strings.Contains(h[0].Sheet, "5 steps") {
		t.Errorf("homework %+v", h)
	}
}

// The trainer's own minutes of warm-up lead; out of range is refused.
func TestWarmUpAsSet(t *testing.T) {
	length := func(minutes float64) float64 {
		d, err := PlanShow(ShowInput{StartClockS: 36000, Level: "medium", WarmUpMin: minutes})
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, p := range d.Phases {
			if p.Kind == "warm-up" || p.Title == "Walk on a long rein" {
				sum += (p.ToS - p.FromS) / 60
			}
		}
		if minutes > 0 && !slices.ContainsFunc(d.Warnings, func(w string) bool { return strings.Contains(w, "as you set it") && strings.Contains(w, "32") }) {
			t.Errorf("not said: %q", d.Warnings)
		}
		return sum
	}
	if got := length(0); got != 32 {
		t.Errorf("usual at medium: %g minutes", got)
	}
	if got := length(50); got != 50 {
		t.Errorf("set to 50: %g minutes", got)
	}
	for _, bad := range []float64{3, 200, -5} {
		if _, err := PlanShow(ShowInput{StartClockS: 36000, WarmUpMin: bad}); err == nil || !strings.Contains(err.Error(), "allowed: 10 to 90") {
			t.Errorf("%g minutes: %v", bad, err)
		}
	}
}
