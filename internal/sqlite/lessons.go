package sqlite

import (
	"context"

	"ringcraft/internal/logbook"
	"ringcraft/internal/sqlite/gen"
)

func lesson(r gen.Lesson) logbook.Lesson {
	return logbook.Lesson{
		ID: r.ID, CombinationID: r.CombinationID, RideID: r.RideID.String, Date: logbook.Date(r.Date), Minutes: int(r.Minutes),
		WarmedUp: r.WarmedUp != 0, Plan: r.Plan, Homework: r.Homework, Made: unstamp(r.Made), Started: unstamp(r.Started), Ended: unstamp(r.Ended),
	}
}

// Lessons lists the newest first.
func (s *Store) Lessons(ctx context.Context, f logbook.LessonFilter) ([]logbook.Lesson, error) {
	rows, err := s.q.Lessons(ctx, gen.LessonsParams{Combination: f.CombinationID, Ride: optional(f.RideID).String, Most: most(f.Limit)})
	return many(rows, err, lesson)
}

// Lesson finds one.
func (s *Store) Lesson(ctx context.Context, id string) (logbook.Lesson, error) {
	r, err := s.q.Lesson(ctx, id)
	return one(r, err, "lesson", id, lesson)
}

// PutLesson adds or replaces.
func (s *Store) PutLesson(ctx context.Context, l logbook.Lesson) error {
	return trouble(s.q.PutLesson(ctx, gen.PutLessonParams{
		ID: l.ID, CombinationID: l.CombinationID, RideID: optional(l.RideID), Date: string(l.Date), Minutes: int64(l.Minutes),
		WarmedUp: bit(l.WarmedUp), Plan: l.Plan, Homework: l.Homework, Made: stamp(l.Made), Started: stamp(l.Started), Ended: stamp(l.Ended),
	}))
}

// RemoveLesson removes a lesson with its steps.
func (s *Store) RemoveLesson(ctx context.Context, id string) error {
	return trouble(s.q.RemoveLesson(ctx, id))
}

func step(r gen.Step) logbook.Step {
	return logbook.Step{ID: r.ID, LessonID: r.LessonID, Seq: r.Seq, Kind: logbook.StepKind(r.Kind), Block: int(r.Block), AtS: r.AtS, Text: r.Text, Received: unstamp(r.Received)}
}

// Steps lists by sequence.
func (s *Store) Steps(ctx context.Context, lessonID string) ([]logbook.Step, error) {
	rows, err := s.q.Steps(ctx, lessonID)
	return many(rows, err, step)
}

// AddSteps adds what is new, all or nothing.
func (s *Store) AddSteps(ctx context.Context, steps []logbook.Step) (int, error) {
	added := 0
	err := s.write(ctx, func(s *Store) error {
		for _, p := range steps {
			n, err := s.q.AddStep(ctx, gen.AddStepParams{ID: p.ID, LessonID: p.LessonID, Seq: p.Seq, Kind: string(p.Kind), Block: int64(p.Block), AtS: p.AtS, Text: p.Text, Received: stamp(p.Received)})
			if err != nil {
				return err
			}
			added += int(n)
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

func appointment(r gen.Appointment) logbook.Appointment {
	return logbook.Appointment{
		ID: r.ID, CombinationID: r.CombinationID, YardID: r.YardID.String, Date: logbook.Date(r.Date), Start: r.Start,
		Minutes: int(r.Minutes), Kind: r.Kind, SheetID: r.SheetID, LessonID: r.LessonID.String, Remark: r.Remark,
	}
}

// Appointments lists by date and start.
func (s *Store) Appointments(ctx context.Context, from, to logbook.Date) ([]logbook.Appointment, error) {
	rows, err := s.q.Appointments(ctx, gen.AppointmentsParams{First: string(from), Last: string(to)})
	return many(rows, err, appointment)
}

// PutAppointment adds or replaces.
func (s *Store) PutAppointment(ctx context.Context, a logbook.Appointment) error {
	return trouble(s.q.PutAppointment(ctx, gen.PutAppointmentParams{
		ID: a.ID, CombinationID: a.CombinationID, YardID: optional(a.YardID), Date: string(a.Date), Start: a.Start,
		Minutes: int64(a.Minutes), Kind: a.Kind, SheetID: a.SheetID, LessonID: optional(a.LessonID), Remark: a.Remark,
	}))
}

// RemoveAppointment removes one.
func (s *Store) RemoveAppointment(ctx context.Context, id string) error {
	return trouble(s.q.RemoveAppointment(ctx, id))
}

func computed(r gen.Computed) logbook.Computed {
	return logbook.Computed{Kind: r.Kind, Subject: r.Subject, Stamp: r.Stamp, Value: r.Value, Made: unstamp(r.Made)}
}

// Computed finds a cached result.
func (s *Store) Computed(ctx context.Context, kind, subject string) (logbook.Computed, error) {
	r, err := s.q.Computed(ctx, gen.ComputedParams{Kind: kind, Subject: subject})
	return one(r, err, "result", kind+" of "+subject, computed)
}

// PutComputed keeps a result.
func (s *Store) PutComputed(ctx context.Context, c logbook.Computed) error {
	return trouble(s.q.PutComputed(ctx, gen.PutComputedParams{Kind: c.Kind, Subject: c.Subject, Stamp: c.Stamp, Value: c.Value, Made: stamp(c.Made)}))
}

// RemoveComputed forgets all results of a subject.
func (s *Store) RemoveComputed(ctx context.Context, subject string) error {
	return trouble(s.q.RemoveComputed(ctx, subject))
}

func job(r gen.Job) logbook.Job {
	return logbook.Job{ID: r.ID, Kind: r.Kind, Subject: r.Subject, State: logbook.JobState(r.State), Progress: r.Progress, Message: r.Message, Tries: int(r.Tries), Made: unstamp(r.Made), Ended: unstamp(r.Ended)}
}

// Job finds one.
func (s *Store) Job(ctx context.Context, id string) (logbook.Job, error) {
	r, err := s.q.Job(ctx, id)
	return one(r, err, "job", id, job)
}

// JobsOf lists the newest first.
func (s *Store) JobsOf(ctx context.Context, subject string) ([]logbook.Job, error) {
	if subject == "" {
		rows, err := s.q.JobsNotOver(ctx)
		return many(rows, err, job)
	}
	rows, err := s.q.JobsOf(ctx, subject)
	return many(rows, err, job)
}

// PutJob adds or replaces.
func (s *Store) PutJob(ctx context.Context, j logbook.Job) error {
	return trouble(s.q.PutJob(ctx, gen.PutJobParams{ID: j.ID, Kind: j.Kind, Subject: j.Subject, State: string(j.State), Progress: j.Progress, Message: j.Message, Tries: int64(j.Tries), Made: stamp(j.Made), Ended: stamp(j.Ended)}))
}
