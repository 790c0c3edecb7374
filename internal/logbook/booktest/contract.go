// Package booktest holds the contract that every logbook.Store keeps, as tests that each
// implementation runs.
package booktest

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"ringcraft/internal/logbook"
)

var (
	ctx  = context.Background()
	noon = time.Date(2026, 5, 31, 12, 0, 0, 123456789, time.UTC)
)

// Contract runs the contract on fresh stores made by open.
func Contract(t *testing.T, open func(t *testing.T) logbook.Store) {
	tests := []struct {
		name string
		run  func(*testing.T, logbook.Store)
	}{
		{"people and horses round trip in order", peopleRoundTrip},
		{"sheets keep every version", sheetVersions},
		{"rides round trip with files", rides},
		{"notes are added once and in order", notes},
		{"a clashing batch adds nothing", clash},
		{"lessons, steps and appointments", lessons},
		{"own exercises", exercises},
		{"removing takes what belongs and leaves the rest", removal},
		{"atomically: all or nothing", atomically},
		{"cache and jobs", cacheAndJobs},
		{"dangling references are refused", dangling},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { tt.run(t, open(t)) })
	}
}

// Seed puts one yard, rider, horse, combination and sheet into the store.
func Seed(t testing.TB, s logbook.Store) {
	t.Helper()
	must(t, s.PutYard(ctx, logbook.Yard{ID: "y1", Name: "Ashgrove", Place: "behind the mill", Arena: "20 x 40"}))
	must(t, s.PutRider(ctx, logbook.Rider{ID: "r1", Name: "Ilse Bramwell", Minor: true}))
	must(t, s.PutHorse(ctx, logbook.Horse{ID: "h1", Name: "Quillon", Profile: `{"name":"Quillon"}`}))
	must(t, s.PutCombination(ctx, logbook.Combination{ID: "c1", RiderID: "r1", HorseID: "h1", YardID: "y1", Level: "elementary"}))
	must(t, s.PutSheet(ctx, logbook.Sheet{ID: "s1", Name: "Willow Ford 2", Version: 1, Text: "name: Willow Ford 2\n", Saved: noon}))
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func wantCode(t *testing.T, err error, want logbook.Code) {
	t.Helper()
	if got := logbook.CodeOf(err); got != want {
		t.Errorf("error %v has code %q, want %q", err, got, want)
	}
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

func peopleRoundTrip(t *testing.T, s logbook.Store) {
	for _, n := range []string{"zoe", "Änne", "Bea", "bea"} {
		must(t, s.PutRider(ctx, logbook.Rider{ID: "id-" + n, Name: n, Remark: "<script>'\";--"}))
	}
	list, err := s.Riders(ctx)
	must(t, err)
	var names []string
	for _, r := range list {
		names = append(names, r.Name)
	}
	same(t, "riders by name, case ignored", names, []string{"Bea", "bea", "zoe", "Änne"})
	must(t, s.PutRider(ctx, logbook.Rider{ID: "id-zoe", Name: "Zoe", Minor: true, Invented: true}))
	r, err := s.Rider(ctx, "id-zoe")
	must(t, err)
	same(t, "replaced rider", r, logbook.Rider{ID: "id-zoe", Name: "Zoe", Minor: true, Invented: true})
	_, err = s.Horse(ctx, "none")
	wantCode(t, err, logbook.NotFound)

	Seed(t, s)
	h, err := s.Horse(ctx, "h1")
	must(t, err)
	same(t, "horse", h, logbook.Horse{ID: "h1", Name: "Quillon", Profile: `{"name":"Quillon"}`})
	ys, err := s.Yards(ctx)
	must(t, err)
	same(t, "yards", ys, []logbook.Yard{{ID: "y1", Name: "Ashgrove", Place: "behind the mill", Arena: "20 x 40"}})
	c, err := s.Combination(ctx, "c1")
	must(t, err)
	same(t, "combination", c, logbook.Combination{ID: "c1", RiderID: "r1", HorseID: "h1", YardID: "y1", Level: "elementary"})
	must(t, s.RemoveYard(ctx, "y1"))
	c, err = s.Combination(ctx, "c1")
	must(t, err)
	same(t, "combination stays without its yard", c.YardID, "")
	given := logbook.Consent{ID: "k1", RiderID: "r1", What: "voice", GivenBy: "her mother", Guardian: true, Given: noon}
	must(t, s.PutConsent(ctx, given))
	given.Withdrawn = noon.Add(time.Hour)
	must(t, s.PutConsent(ctx, given))
	ks, err := s.Consents(ctx, "r1")
	must(t, err)
	same(t, "consents", ks, []logbook.Consent{given})
}

func sheetVersions(t *testing.T, s logbook.Store) {
	Seed(t, s)
	two := logbook.Sheet{ID: "s1", Name: "Willow Ford 2", Version: 2, Text: "second\r\n\x00tab\t", Saved: noon.Add(time.Minute), Invented: true}
	must(t, s.PutSheet(ctx, two))
	wantCode(t, s.PutSheet(ctx, two), logbook.Conflict)
	two.Version = 4
	wantCode(t, s.PutSheet(ctx, two), logbook.Conflict)
	two.Version = 2
	got, err := s.Sheet(ctx, "s1")
	must(t, err)
	same(t, "latest", got, two)
	one, err := s.SheetVersion(ctx, "s1", 1)
	must(t, err)
	same(t, "first stays", one.Text, "name: Willow Ford 2\n")
	for _, v := range []int{0, 3, -1} {
		_, err = s.SheetVersion(ctx, "s1", v)
		wantCode(t, err, logbook.NotFound)
	}
	must(t, s.PutSheet(ctx, logbook.Sheet{ID: "s0", Name: "alder", Version: 1, Saved: noon}))
	all, err := s.Sheets(ctx)
	must(t, err)
	if len(all) != 2 || all[0].Name != "alder" || all[1].Version != 2 {
		t.Errorf("sheets: got %+v", all)
	}
}

// aRide is a ride of the seeded combination with every field set.
func aRide(id string, date logbook.Date) logbook.Ride {
	return logbook.Ride{
		ID: id, CombinationID: "c1", SheetID: "s1", SheetVersion: 1, Date: date, Kind: logbook.Training, Place: "home",
		Recorder: "rtk", Rules: "club", MarkedBy: "the trainer", Taught: true, Opened: noon, Closed: noon.Add(time.Hour),
		Simulated: true, Made: noon,
		Files: []logbook.File{
			{Role: logbook.RoleAudio, Seq: 1, Blob: "aa", Name: "1.webm", Media: "audio/webm", Size: 10, AtS: 2.5, Added: noon},
			{Role: logbook.RoleAudio, Seq: 2, Blob: "bb", Name: "2.webm", Media: "audio/webm", Size: 10, AtS: 7.5, Added: noon},
			{Role: logbook.RoleTrack, Blob: "cc", Name: "ride.csv", Size: 99, Added: noon},
		},
	}
}

func rides(t *testing.T, s logbook.Store) {
	Seed(t, s)
	a := aRide("a", "2026-05-01")
	must(t, s.PutRide(ctx, a))
	got, err := s.Ride(ctx, "a")
	must(t, err)
	same(t, "ride", got, a)
	a.Files, a.Kind = a.Files[1:], logbook.Show
	must(t, s.PutRide(ctx, a))
	extra := logbook.File{Role: logbook.RoleCommentary, Blob: "dd", Name: "said.vtt", Size: 5, Added: noon}
	must(t, s.AddFile(ctx, "a", extra))
	must(t, s.AddFile(ctx, "a", extra))
	a.Files = []logbook.File{a.Files[0], extra, a.Files[1]}
	got, err = s.Ride(ctx, "a")
	must(t, err)
	same(t, "ride replaced, a file added once", got, a)
	extra.Blob = "ee"
	wantCode(t, s.AddFile(ctx, "a", extra), logbook.Conflict)
	wantCode(t, s.AddFile(ctx, "none", extra), logbook.NotFound)

	must(t, s.PutRide(ctx, aRide("b", "2026-05-09")))
	must(t, s.PutRide(ctx, aRide("c", "2026-05-09")))
	for _, f := range []logbook.RideFilter{{}, {CombinationID: "c1"}, {SheetID: "s1"}, {CombinationID: "c1", SheetID: "s1"}} {
		list, err := s.Rides(ctx, f)
		must(t, err)
		if len(list) != 3 || list[0].ID != "c" || list[1].ID != "b" || list[2].ID != "a" || len(list[1].Files) != 3 {
			t.Errorf("rides of %+v: got %+v", f, list)
		}
	}
	list, err := s.Rides(ctx, logbook.RideFilter{CombinationID: "other"})
	must(t, err)
	same(t, "rides of nobody", len(list), 0)
	list, err = s.Rides(ctx, logbook.RideFilter{Limit: 1})
	must(t, err)
	same(t, "limit", len(list), 1)
	wantCode(t, s.RemoveSheet(ctx, "s1"), logbook.Conflict)
}

func aNote(id string, seq int64) logbook.Note {
	return logbook.Note{
		ID: id, RideID: "a", Device: "phone", Seq: seq, Kind: logbook.NoteMark, Movement: 3, Judge: "C", Mark: "6.5",
		Text: "on the forehand", AtS: 12.25, Clock: "1970-01-01T00:00:00Z", Received: noon,
	}
}

func notes(t *testing.T, s logbook.Store) {
	Seed(t, s)
	must(t, s.PutRide(ctx, aRide("a", "2026-05-01")))
	for _, batch := range []struct {
		notes []logbook.Note
		added int
	}{
		{[]logbook.Note{aNote("n2", 2), aNote("n1", 1)}, 2},
		{[]logbook.Note{aNote("n1", 1), aNote("n2", 2), aNote("n3", 3)}, 1},
		{[]logbook.Note{aNote("n3", 3)}, 0},
		{nil, 0},
	} {
		n, err := s.AddNotes(ctx, batch.notes)
		must(t, err)
		same(t, "added", n, batch.added)
	}
	changed := aNote("n1", 1)
	changed.Mark = "9.0"
	n, err := s.AddNotes(ctx, []logbook.Note{changed})
	must(t, err)
	same(t, "a known note is not changed", n, 0)
	got, err := s.Notes(ctx, "a")
	must(t, err)
	same(t, "notes", got, []logbook.Note{aNote("n1", 1), aNote("n2", 2), aNote("n3", 3)})
}

func clash(t *testing.T, s logbook.Store) {
	Seed(t, s)
	must(t, s.PutRide(ctx, aRide("a", "2026-05-01")))
	_, err := s.AddNotes(ctx, []logbook.Note{aNote("n1", 1)})
	must(t, err)
	_, err = s.AddNotes(ctx, []logbook.Note{aNote("n2", 2), aNote("other", 1)})
	wantCode(t, err, logbook.Conflict)
	stray := aNote("n4", 4)
	stray.RideID = "none"
	_, err = s.AddNotes(ctx, []logbook.Note{aNote("n3", 3), stray})
	wantCode(t, err, logbook.Invalid)
	got, err := s.Notes(ctx, "a")
	must(t, err)
	same(t, "only the first note is there", got, []logbook.Note{aNote("n1", 1)})
}

func lessons(t *testing.T, s logbook.Store) {
	Seed(t, s)
	must(t, s.PutRide(ctx, aRide("a", "2026-05-01")))
	l := logbook.Lesson{ID: "l1", CombinationID: "c1", RideID: "a", Date: "2026-05-04", Minutes: 45, WarmedUp: true, Plan: `{"minutes":45}`, Homework: "[]", Made: noon, Started: noon}
	must(t, s.PutLesson(ctx, l))
	l.Ended = noon.Add(45 * time.Minute)
	must(t, s.PutLesson(ctx, l))
	got, err := s.Lesson(ctx, "l1")
	must(t, err)
	same(t, "lesson", got, l)
	for _, f := range []logbook.LessonFilter{{}, {CombinationID: "c1"}, {RideID: "a"}, {Limit: 1}} {
		list, err := s.Lessons(ctx, f)
		must(t, err)
		same(t, "lessons", list, []logbook.Lesson{l})
	}
	steps := []logbook.Step{
		{ID: "p1", LessonID: "l1", Seq: 1, Kind: logbook.StepBegun, AtS: 1, Received: noon},
		{ID: "p2", LessonID: "l1", Seq: 2, Kind: logbook.StepGood, Block: 3, AtS: 60.5, Text: "better", Received: noon},
	}
	for _, want := range []int{2, 0} {
		n, err := s.AddSteps(ctx, steps)
		must(t, err)
		same(t, "steps added", n, want)
	}
	kept, err := s.Steps(ctx, "l1")
	must(t, err)
	same(t, "steps", kept, steps)

	b := logbook.Appointment{ID: "a2", CombinationID: "c1", YardID: "y1", Date: "2026-05-04", Start: "10:30", Minutes: 45, Kind: "lesson", SheetID: "s1", LessonID: "l1", Remark: "no canter"}
	a := logbook.Appointment{ID: "a1", CombinationID: "c1", Date: "2026-05-04", Start: "09:00", Minutes: 30, Kind: "lesson"}
	must(t, s.PutAppointment(ctx, b))
	must(t, s.PutAppointment(ctx, a))
	day, err := s.Appointments(ctx, "2026-05-04", "2026-05-04")
	must(t, err)
	same(t, "the day in order", day, []logbook.Appointment{a, b})
	must(t, s.RemoveLesson(ctx, "l1"))
	day, err = s.Appointments(ctx, "2026-05-01", "2026-05-31")
	must(t, err)
	b.LessonID = ""
	same(t, "the appointment outlives its lesson", day, []logbook.Appointment{a, b})
	must(t, s.RemoveAppointment(ctx, "a1"))
	day, err = s.Appointments(ctx, "2026-05-05", "2026-05-31")
	must(t, err)
	same(t, "other days", len(day), 0)
}

func removal(t *testing.T, s logbook.Store) {
	Seed(t, s)
	must(t, s.PutRider(ctx, logbook.Rider{ID: "r2", Name: "Other"}))
	must(t, s.PutCombination(ctx, logbook.Combination{ID: "c2", RiderID: "r2", HorseID: "h1"}))
	other := aRide("z", "2026-05-02")
	other.CombinationID = "c2"
	must(t, s.PutRide(ctx, aRide("a", "2026-05-01")))
	must(t, s.PutRide(ctx, other))
	_, err := s.AddNotes(ctx, []logbook.Note{aNote("n1", 1)})
	must(t, err)
	must(t, s.PutLesson(ctx, logbook.Lesson{ID: "l1", CombinationID: "c1", RideID: "a", Date: "2026-05-04"}))
	must(t, s.PutConsent(ctx, logbook.Consent{ID: "k1", RiderID: "r1", Given: noon}))
	must(t, s.PutComputed(ctx, logbook.Computed{Kind: "review", Subject: "a", Stamp: "x", Value: []byte("{}"), Made: noon}))

	must(t, s.RemoveRider(ctx, "r1"))
	_, err = s.Ride(ctx, "a")
	wantCode(t, err, logbook.NotFound)
	_, err = s.Lesson(ctx, "l1")
	wantCode(t, err, logbook.NotFound)
	_, err = s.Computed(ctx, "review", "a")
	wantCode(t, err, logbook.NotFound)
	ns, err := s.Notes(ctx, "a")
	must(t, err)
	ks, err := s.Consents(ctx, "r1")
	must(t, err)
	if len(ns)+len(ks) > 0 {
		t.Errorf("left behind: %v %v", ns, ks)
	}
	_, err = s.Ride(ctx, "z")
	must(t, err)
	must(t, s.PutLesson(ctx, logbook.Lesson{ID: "l2", CombinationID: "c2", RideID: "z", Date: "2026-05-04"}))
	must(t, s.RemoveRide(ctx, "z"))
	l, err := s.Lesson(ctx, "l2")
	must(t, err)
	same(t, "a lesson outlives its ride", l.RideID, "")
	must(t, s.RemoveHorse(ctx, "h1"))
	cs, err := s.Combinations(ctx)
	must(t, err)
	same(t, "combinations", len(cs), 0)
	must(t, s.RemoveSheet(ctx, "s1"))
}

func atomically(t *testing.T, s logbook.Store) {
	Seed(t, s)
	stop := errors.New("stop")
	err := s.Atomically(ctx, func(in logbook.Store) error {
		must(t, in.PutRide(ctx, aRide("a", "2026-05-01")))
		_, err := in.AddNotes(ctx, []logbook.Note{aNote("n1", 1)})
		must(t, err)
		if _, err := in.Ride(ctx, "a"); err != nil {
			t.Errorf("own change not seen: %v", err)
		}
		return stop
	})
	if !errors.Is(err, stop) {
		t.Errorf("got %v, want the error of the function", err)
	}
	_, err = s.Ride(ctx, "a")
	wantCode(t, err, logbook.NotFound)
	must(t, s.Atomically(ctx, func(in logbook.Store) error { return in.PutRide(ctx, aRide("a", "2026-05-01")) }))
	_, err = s.Ride(ctx, "a")
	must(t, err)
}

func cacheAndJobs(t *testing.T, s logbook.Store) {
	_, err := s.Computed(ctx, "review", "a")
	wantCode(t, err, logbook.NotFound)
	for _, stamp := range []string{"one", "two"} {
		c := logbook.Computed{Kind: "review", Subject: "a", Stamp: stamp, Value: []byte("\x00" + stamp), Made: noon}
		must(t, s.PutComputed(ctx, c))
		got, err := s.Computed(ctx, "review", "a")
		must(t, err)
		same(t, "computed", got, c)
	}
	must(t, s.RemoveComputed(ctx, "a"))
	_, err = s.Computed(ctx, "review", "a")
	wantCode(t, err, logbook.NotFound)

	a := logbook.Job{ID: "j1", Kind: "transcribe", Subject: "a", State: logbook.JobWaiting, Progress: -1, Made: noon}
	b := logbook.Job{ID: "j2", Kind: "review", Subject: "a", State: logbook.JobDone, Progress: 1, Message: "done", Tries: 1, Made: noon.Add(time.Second), Ended: noon.Add(time.Minute)}
	must(t, s.PutJob(ctx, a))
	must(t, s.PutJob(ctx, b))
	list, err := s.JobsOf(ctx, "a")
	must(t, err)
	same(t, "jobs, newest first", list, []logbook.Job{b, a})
	list, err = s.JobsOf(ctx, "")
	must(t, err)
	same(t, "jobs not over", list, []logbook.Job{a})
	a.State, a.Progress = logbook.JobRunning, 0.5
	must(t, s.PutJob(ctx, a))
	got, err := s.Job(ctx, "j1")
	must(t, err)
	same(t, "job", got, a)
	_, err = s.Job(ctx, "none")
	wantCode(t, err, logbook.NotFound)
}

func dangling(t *testing.T, s logbook.Store) {
	Seed(t, s)
	lost := aRide("a", "2026-05-01")
	lost.CombinationID = "none"
	unsaid := aRide("a", "2026-05-01")
	unsaid.SheetVersion = 7
	for what, err := range map[string]error{
		"combination": s.PutCombination(ctx, logbook.Combination{ID: "x", RiderID: "none", HorseID: "h1"}),
		"ride":        s.PutRide(ctx, lost),
		"version":     s.PutRide(ctx, unsaid),
		"lesson":      s.PutLesson(ctx, logbook.Lesson{ID: "x", CombinationID: "none"}),
		"lesson ride": s.PutLesson(ctx, logbook.Lesson{ID: "x", CombinationID: "c1", RideID: "none"}),
		"appointment": s.PutAppointment(ctx, logbook.Appointment{ID: "x", CombinationID: "none"}),
		"consent":     s.PutConsent(ctx, logbook.Consent{ID: "x", RiderID: "none", Given: noon}),
	} {
		if logbook.CodeOf(err) != logbook.Invalid {
			t.Errorf("%s with a dangling reference: got %v", what, err)
		}
	}
	_, err := s.AddSteps(ctx, []logbook.Step{{ID: "x", LessonID: "none"}})
	wantCode(t, err, logbook.Invalid)
}

func exercises(t *testing.T, s logbook.Store) {
	second := logbook.OwnExercise{ID: "own-2", Text: `{"title":"Ö"}`, Saved: noon}
	first := logbook.OwnExercise{ID: "own-1", Text: `{}`, Saved: noon}
	must(t, s.PutExercise(ctx, second))
	must(t, s.PutExercise(ctx, first))
	second.Text = `{"title":"Ä"}`
	must(t, s.PutExercise(ctx, second))
	got, err := s.Exercises(ctx)
	must(t, err)
	if diff := cmp.Diff([]logbook.OwnExercise{first, second}, got); diff != "" {
		t.Error(diff)
	}
	must(t, s.RemoveExercise(ctx, "own-1"))
	must(t, s.RemoveExercise(ctx, "none"))
	if got, err = s.Exercises(ctx); err != nil || len(got) != 1 {
		t.Errorf("%v %v", got, err)
	}
	stop := errors.New("stop")
	if err := s.Atomically(ctx, func(s logbook.Store) error {
		must(t, s.PutExercise(ctx, first))
		return stop
	}); !errors.Is(err, stop) {
		t.Error(err)
	}
	if got, err = s.Exercises(ctx); err != nil || len(got) != 1 {
		t.Errorf("after a change that was given up: %v %v", got, err)
	}
}
