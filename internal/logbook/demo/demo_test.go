package demo_test

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/recordings"
)

var ctx = context.Background()

const today = logbook.Date("2026-06-07")

// loaded returns a book with the demo yard, loaded once for all tests of the package.
func loaded(t testing.TB) *logbook.Book {
	t.Helper()
	if book == nil {
		book = load(t)
	}
	return book
}

// scratch returns a second load, for tests that change it.
func scratch(t testing.TB) *logbook.Book {
	t.Helper()
	if second == nil {
		second = load(t)
	}
	return second
}

var book, second *logbook.Book

func load(t testing.TB) *logbook.Book {
	t.Helper()
	dir, err := os.MkdirTemp("", "demo")
	if err != nil {
		t.Fatal(err)
	}
	rec, err := recordings.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	b := &logbook.Book{Store: logbook.NewMemory(), Recordings: rec,
		Now:   func() time.Time { return time.Date(2026, 6, 7, 9, 0, 0, 0, time.UTC) },
		NewID: func() string { n++; return fmt.Sprint("x", n) }}
	if err := demo.Load(ctx, b, today, nil); err != nil {
		for _, p := range logbook.ProblemsOf(err) {
			t.Log(p)
		}
		t.Fatal(err)
	}
	return b
}

func compare(t *testing.T, one, other string) *logbook.Compared {
	t.Helper()
	c, err := loaded(t).CompareOf(ctx, one, other)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestToolTellsTheTwoApart is the point of the demo: of two rides that were both marked better by
// the person who taught them, one is better.
func TestToolTellsTheTwoApart(t *testing.T) {
	real, seems := compare(t, demo.BetterBefore, demo.BetterAfter), compare(t, demo.SeemsBefore, demo.SeemsAfter)
	for name, c := range map[string]*logbook.Compared{"real": real, "seems": seems} {
		if c.Comparison.Total.Change == nil || *c.Comparison.Total.Change < 3 {
			t.Errorf("%s: the marks did not go up: %+v", name, c.Comparison.Total)
		}
	}
	if v := real.Comparison.Measured.Verdict; v != "better" {
		t.Errorf("the real improvement is measured as %q: %s", v, real.Comparison.Measured.Reason)
	}
	if v := real.Comparison.Total.Verdict; v != "better" {
		t.Errorf("the real improvement as a whole is %q: %s", v, real.Comparison.Total.Reason)
	}
	if v := seems.Comparison.Measured.Verdict; v == "better" || v == "worse" {
		t.Errorf("the ride that only looks better is measured as %q: %s", v, seems.Comparison.Measured.Reason)
	}
	if v := seems.Comparison.Total.Verdict; v == "better" {
		t.Errorf("marks of the teacher alone gave better: %s", seems.Comparison.Total.Reason)
	}
	if len(seems.Comparison.Caution) == 0 {
		t.Error("no caution that marks of the teacher lean towards hope")
	}
}

func TestEverythingIsLabelled(t *testing.T) {
	b := loaded(t)
	rides, err := b.Rides(ctx, logbook.RideFilter{})
	if err != nil || len(rides) != 5 {
		t.Fatalf("%d rides, %v", len(rides), err)
	}
	for _, r := range rides {
		_, recorded := r.File(logbook.RoleTrack)
		if recorded != r.Simulated {
			t.Errorf("%s: recorded %v, labelled simulated %v", r.ID, recorded, r.Simulated)
		}
		rev, err := b.ReviewOf(ctx, r.ID)
		if err != nil {
			t.Fatal(err)
		}
		if rev.Doc.Simulated != r.Simulated || !rev.Pair.Invented() || !rev.Sheet.Invented {
			t.Errorf("%s: simulated %v, invented %v %v", r.ID, rev.Doc.Simulated, rev.Pair.Invented(), rev.Sheet.Invented)
		}
		for _, p := range rev.Doc.Problems {
			if p.Severity != "note" {
				t.Errorf("%s: %s", r.ID, p)
			}
		}
	}
}

func TestShowRideHasOnlyMarks(t *testing.T) {
	rev, err := loaded(t).ReviewOf(ctx, demo.ShowRide)
	if err != nil {
		t.Fatal(err)
	}
	if rev.Line != nil || rev.Doc.Total == nil || rev.Ride.Kind != logbook.Show {
		t.Errorf("line %d, total %v, kind %s", len(rev.Line), rev.Doc.Total, rev.Ride.Kind)
	}
}

func TestLoadedOnceAndTheSameEveryTime(t *testing.T) {
	b := loaded(t)
	before, err := b.Lessons(ctx, logbook.LessonFilter{})
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Load(ctx, b, today.Add(30), nil); err != nil {
		t.Fatal(err)
	}
	after, err := b.Lessons(ctx, logbook.LessonFilter{})
	if err != nil || len(after) != len(before) || after[0].Date != before[0].Date {
		t.Errorf("a second load changed the yard: %v", err)
	}
	again := scratch(t)
	for _, id := range []string{demo.BetterBefore, demo.BetterAfter, demo.SeemsBefore, demo.SeemsAfter} {
		one, err := b.Ride(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		other, err := again.Ride(ctx, id)
		want := 3 // marks, recording, commentary
		if id == demo.BetterAfter {
			want = 4 // and motion
		}
		if err != nil || len(one.Files) != want || len(other.Files) != want {
			t.Fatalf("%s has %d and %d files, want %d: %v", id, len(one.Files), len(other.Files), want, err)
		}
		for i, f := range one.Files {
			if f.Blob != other.Files[i].Blob {
				t.Errorf("%s: %s differs between two loads", id, f.Role)
			}
		}
	}
	lessons, err := again.Lessons(ctx, logbook.LessonFilter{})
	if err != nil || lessons[0].Plan != before[0].Plan {
		t.Errorf("the lesson differs between two loads (%v)", err)
	}
}

func TestLessonsHoldExercises(t *testing.T) {
	b := loaded(t)
	lessons, err := b.Lessons(ctx, logbook.LessonFilter{})
	if err != nil || len(lessons) != 5 {
		t.Fatalf("%d lessons, %v", len(lessons), err)
	}
	for _, l := range lessons {
		got, err := b.LessonOf(ctx, l.ID)
		if err != nil {
			t.Fatal(err)
		}
		exercises := 0
		for _, k := range got.Plan.Blocks {
			if k.Kind == "exercise" {
				exercises++
				plan := b.PlanOf(k.Title, k.Sheet, got.Pair.Horse.Profile)
				if len(plan.Samples) == 0 {
					t.Errorf("%s: %q has no line", l.ID, k.Title)
				}
			}
		}
		if exercises < 3 {
			t.Errorf("%s: %d exercises", l.ID, exercises)
		}
	}
}
