package prepare

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/judging"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
	"ringcraft/internal/testkit"
)

// elementaryRide is the invented elementary sheet with invented marks and remarks.
func elementaryRide(t testing.TB) (*rideplan.Plan, diagnose.Input) {
	text, err := os.ReadFile(filepath.Join(testkit.Root(t), "sheets", "willow-ford-elementary.sheet"))
	if err != nil {
		t.Fatal(err)
	}
	p := rideplan.CompileText("elementary", string(text), rideplan.Options{})
	in := diagnose.Input{Plan: p}
	faults := []terms.Fault{"not square", "circle too large", "neck bend only", "late at the letter", "falling out", "not enough angle", "uneven loops", "rein-back crooked", "turn too large", "no stretch"}
	for i, m := range p.Movements {
		in.Card.Marks = append(in.Card.Marks, judging.Mark{Movement: m.Number, Judge: "C", Mark: judging.Tenths(50 + 5*(i%5))})
		if i < len(faults) {
			in.Placed.Remarks = append(in.Placed.Remarks, remarks.Remark{Movement: m.Number, AtS: float64(m.StartS), Text: string(faults[i]), Faults: faults[i : i+1], Confidence: 0.9})
		}
	}
	return p, in
}

func lessonOf(p *rideplan.Plan, d diagnose.Diagnosis) LessonInput {
	var info []MovementInfo
	for _, m := range p.Movements {
		info = append(info, InfoOf(m))
	}
	return LessonInput{Minutes: 45, Needs: NeedsOf(d, info, diagnose.MaxPoints(p)), Causes: d.Causes, Level: p.Level, ArenaLengthM: 60, Horse: Horse{Fitness: "fit"}}
}

// What is lost in a pace is worked on in that pace, if the exercise is there for its kind.
func TestLessonFollowsTheDiagnosis(t *testing.T) {
	p, in := elementaryRide(t)
	l := lessonOf(p, diagnose.Diagnose(in))
	circle := slices.IndexFunc(l.Needs, func(n Need) bool { return n.Loss.Fault == "circle too large" })
	if circle < 0 || l.Needs[circle].Rein != "left" || !slices.Equal(l.Needs[circle].Paces, []string{"trot"}) || l.Needs[circle].MaxPoints != 270 {
		t.Fatalf("%+v", l.Needs)
	}
	c := choice{in: l}
	trot, _ := ExerciseByID("circle-10")
	canter, _ := ExerciseByID("canter-volte-10")
	if c.strengthOf(trot, l.Needs[circle]) <= c.strengthOf(canter, l.Needs[circle]) {
		t.Error("a circle lost in trot is worked on in canter")
	}
	if err := checkLesson(l, plan(t, l)); err != nil {
		t.Error(err)
	}
}

func BenchmarkReviewToLesson(b *testing.B) {
	p, in := elementaryRide(b)
	for b.Loop() {
		l := lessonOf(p, diagnose.Diagnose(in))
		if _, err := PlanLesson(context.Background(), l); err != nil {
			b.Fatal(err)
		}
	}
}
