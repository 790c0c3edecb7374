package prepare

import (
	"context"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func replanned(t testing.TB, in LessonInput, l Lesson, at Progress) Lesson {
	t.Helper()
	out, err := Replan(context.Background(), in, l, at)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Whenever the lesson is planned anew, what was ridden stays, the rest fits the time, nothing
// ridden comes again, and the horse's limits hold for the whole.
func TestReplanKeepsThePast(t *testing.T) {
	in := LessonInput{Minutes: 45, Needs: sampleNeeds(), Horse: Horse{AgeYears: 9, Level: "novice", Fitness: "fit"}}
	l := plan(t, in)
	rapid.Check(t, func(rt *rapid.T) {
		at := Progress{NowS: float64(rapid.IntRange(0, 44*60).Draw(rt, "now")), Tired: rapid.Bool().Draw(rt, "tired")}
		if rapid.Bool().Draw(rt, "slipped") {
			at.EndS = at.NowS + float64(rapid.IntRange(60, 3000).Draw(rt, "left"))
		}
		got := replanned(t, in, l, at)
		end := 60 * l.Minutes
		if at.EndS > 0 {
			end = at.EndS
		}
		sum, after := 0.0, map[string]bool{}
		for i, b := range got.Blocks {
			if math.Abs(b.StartS-sum) > 0.5 {
				rt.Fatalf("block %d starts at %v, want %v: %+v", i, b.StartS, sum, got.Blocks)
			}
			sum += b.LengthS
			if b.StartS >= at.NowS && b.Kind == ExerciseBlock {
				after[b.Exercise] = true
			}
		}
		if math.Abs(sum-end) > 0.5 {
			rt.Fatalf("ends at %v, want %v", sum, end)
		}
		for _, d := range doneOf(got.Blocks[:len(got.Blocks)-1]) {
			if past := pastMinutes(l, d.Exercise, at.NowS); past > 0 && after[d.Exercise] {
				rt.Fatalf("%s comes again", d.Exercise)
			}
		}
		if at.Tired && len(after) > 1 {
			rt.Fatalf("a tired horse has %d more exercises", len(after))
		}
		if c := capacityOf(in.Horse); loadOf(got) > c.Load+0.1 {
			rt.Fatalf("load %v of %v", loadOf(got), c.Load)
		}
	})
}

func pastMinutes(l Lesson, id string, now float64) float64 {
	m := 0.0
	for _, b := range l.Blocks {
		if b.Exercise == id && b.Kind == ExerciseBlock {
			m += math.Max(0, math.Min(b.LengthS, now-b.StartS)) / 60
		}
	}
	return m
}

func TestReplanAfterTheEndIsRefused(t *testing.T) {
	in := LessonInput{Minutes: 45, Needs: sampleNeeds()}
	l := plan(t, in)
	for _, at := range []Progress{{NowS: 3000}, {NowS: -1}, {NowS: 100, EndS: 90}} {
		if _, err := Replan(context.Background(), in, l, at); !errors.Is(err, ErrInput) {
			t.Errorf("%+v: %v", at, err)
		}
	}
}
