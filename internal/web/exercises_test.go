package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// myExercise is the form of an invented exercise.
func myExercise(more ...string) url.Values {
	f := url.Values{"title": {"Two circles <b>quietly</b>"}, "purpose": {"Same size twice."}, "feel": {"The next quarter is in sight."}, "see": {"Two alike."}, "usual": {"the second drifts\r\n\r\nhurried"},
		"lines": {"A | Enter in working trot\r\nC | Track left\r\nE | Circle left 10 m\r\nB | Circle left 10 m"}, "kind": {"circle", ""}, "fault": {"circle too large", ""},
		"level": {"novice"}, "load": {"2"}, "minutes": {"5"}, "age": {"4,5"}, "pace": {"trot"}, "one_rein": {"1"}}
	for i := 0; i < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return f
}

// TestOwnExercise keeps an exercise, finds it in the list and in the planner's hands, changes it and
// takes it out; one that cannot be ridden comes back with all that was typed.
func TestOwnExercise(t *testing.T) {
	b, r := saidRide(t) // of which it is said that a circle is far too large
	h := site(t, b)
	post(t, h, "/rides/"+r.ID+"/marks", typed("-1", "", "C", "7", "7", "4", "7"))
	for _, path := range []string{"/exercises", "/exercises?group=lateral", "/exercises/new", "/exercises/circle-20/edit"} {
		status, body := get(t, h, path)
		if status != http.StatusOK || strings.Contains(body, "{place}") {
			t.Fatalf("%s: status %d", path, status)
		}
		clean(t, body)
	}
	for name, bad := range map[string]url.Values{"no such figure": myExercise("lines", "A | Enter in working trot\nQ | Circle sideways"), "too long": myExercise("minutes", "40"), "no purpose": myExercise("purpose", " "), "helps nobody": myExercise("kind", "", "fault", "")} {
		w := post(t, h, "/exercises", bad)
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", name, w.Code)
		}
		has(t, w.Body.String(), "Two circles &lt;b&gt;quietly&lt;/b&gt;", "The next quarter is in sight.", "formfault", "4,5")
	}
	if own, _ := b.OwnExercises(ctx); len(own) != 0 {
		t.Fatalf("bad forms wrote %v", own)
	}
	w := post(t, h, "/exercises", myExercise())
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	_, body := get(t, h, "/exercises")
	has(t, body, "my own", "Two circles &lt;b&gt;quietly&lt;/b&gt;", "from 4.5 years")
	own, err := b.OwnExercises(ctx)
	if err != nil || len(own) != 1 || len(own[0].UsualFaults) != 2 {
		t.Fatalf("%v %v", own, err)
	}
	plan, err := b.TryLesson(ctx, logbook.NewLesson{CombinationID: r.CombinationID, RideID: r.ID, Date: "2026-06-02", Minutes: 45})
	if err != nil {
		t.Fatal(err)
	}
	known := false
	for _, k := range plan.Blocks {
		known = known || k.Exercise == own[0].ID
	}
	for _, l := range plan.LeftOut {
		known = known || l.Exercise == own[0].ID
	}
	if !known {
		t.Error("the planner neither took the exercise nor says why not")
	}
	changed := myExercise("id", own[0].ID, "title", "Three circles")
	if w := post(t, h, "/exercises", changed); w.Code != http.StatusSeeOther {
		t.Fatalf("changing: status %d", w.Code)
	}
	if own, _ = b.OwnExercises(ctx); len(own) != 1 || own[0].Title != "Three circles" {
		t.Errorf("changed: %v", own)
	}
	if w := post(t, h, "/exercises", myExercise("id", "circle-20")); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("changing one that comes with Ringcraft: status %d", w.Code)
	}
	post(t, h, "/exercises/"+own[0].ID+"/remove", nil)
	if own, _ = b.OwnExercises(ctx); len(own) != 0 {
		t.Errorf("taken out: %v", own)
	}
}

// TestExerciseAsTyped asks what is understood of lines that are half typed.
func TestExerciseAsTyped(t *testing.T) {
	h := site(t, testBook())
	w := post(t, h, "/exercises/try", myExercise("lines", "A | Enter in working trot\n\nC | Trak left"))
	has(t, w.Body.String(), `"line":3`, `\u003csvg`)
	if w.Code != http.StatusOK {
		t.Errorf("status %d", w.Code)
	}
}
