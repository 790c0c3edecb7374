package logbook

import (
	"cmp"
	"context"
	"maps"
	"strings"
)

// Notes lists by device, then sequence.
func (m *Memory) Notes(_ context.Context, rideID string) ([]Note, error) {
	return listed(m, m.d.notes, func(n Note) bool { return n.RideID == rideID }, func(a, b Note) int {
		return cmp.Or(strings.Compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq), strings.Compare(a.ID, b.ID))
	}), nil
}

// AddNotes adds what is new, all or nothing.
func (m *Memory) AddNotes(_ context.Context, notes []Note) (int, error) {
	defer m.lock()()
	d := m.d.clone()
	added := 0
	for _, n := range notes {
		if _, known := d.notes[n.ID]; known {
			continue
		}
		if _, ok := d.rides[n.RideID]; !ok {
			return 0, Missing("note")
		}
		for _, o := range d.notes {
			if o.RideID == n.RideID && o.Device == n.Device && o.Seq == n.Seq {
				return 0, NoteClash(n)
			}
		}
		d.notes[n.ID] = n
		added++
	}
	*m.d = *d
	return added, nil
}

// NoteClash is the error for two different notes in one place of a device's sequence.
func NoteClash(n Note) error {
	return Errorf(Conflict, "device %q sent two different notes as number %d; nothing of this batch was added", n.Device, n.Seq)
}

// Lessons lists the newest first.
func (m *Memory) Lessons(_ context.Context, f LessonFilter) ([]Lesson, error) {
	out := listed(m, m.d.lessons, func(l Lesson) bool {
		return (f.CombinationID == "" || l.CombinationID == f.CombinationID) && (f.RideID == "" || l.RideID == f.RideID)
	}, func(a, b Lesson) int { return newestFirst(a.Date, a.ID, b.Date, b.ID) })
	return cut(out, f.Limit), nil
}

// Lesson finds one.
func (m *Memory) Lesson(_ context.Context, id string) (Lesson, error) {
	return found(m, m.d.lessons, "lesson", id)
}

// PutLesson adds or replaces; its combination must be there.
func (m *Memory) PutLesson(_ context.Context, l Lesson) error {
	defer m.lock()()
	if _, ok := m.d.combinations[l.CombinationID]; !ok {
		return Missing("lesson")
	}
	if _, ok := m.d.rides[l.RideID]; !ok && l.RideID != "" {
		return Missing("lesson")
	}
	m.d.lessons[l.ID] = l
	return nil
}

// RemoveLesson removes a lesson with its steps.
func (m *Memory) RemoveLesson(_ context.Context, id string) error {
	defer m.lock()()
	m.d.removeLesson(id)
	return nil
}

// Steps lists by sequence.
func (m *Memory) Steps(_ context.Context, lessonID string) ([]Step, error) {
	return listed(m, m.d.steps, func(s Step) bool { return s.LessonID == lessonID }, func(a, b Step) int {
		return cmp.Or(cmp.Compare(a.Seq, b.Seq), strings.Compare(a.ID, b.ID))
	}), nil
}

// AddSteps adds what is new, all or nothing.
func (m *Memory) AddSteps(_ context.Context, steps []Step) (int, error) {
	defer m.lock()()
	d := m.d.clone()
	added := 0
	for _, s := range steps {
		if _, known := d.steps[s.ID]; known {
			continue
		}
		if _, ok := d.lessons[s.LessonID]; !ok {
			return 0, Missing("step")
		}
		d.steps[s.ID] = s
		added++
	}
	*m.d = *d
	return added, nil
}

// Appointments lists by date and start.
func (m *Memory) Appointments(_ context.Context, from, to Date) ([]Appointment, error) {
	return listed(m, m.d.appointments, func(a Appointment) bool { return a.Date >= from && a.Date <= to }, func(a, b Appointment) int {
		return cmp.Or(strings.Compare(string(a.Date), string(b.Date)), strings.Compare(a.Start, b.Start), strings.Compare(a.ID, b.ID))
	}), nil
}

// PutAppointment adds or replaces; its combination must be there.
func (m *Memory) PutAppointment(_ context.Context, a Appointment) error {
	defer m.lock()()
	if _, ok := m.d.combinations[a.CombinationID]; !ok {
		return Missing("appointment")
	}
	m.d.appointments[a.ID] = a
	return nil
}

// RemoveAppointment removes one.
func (m *Memory) RemoveAppointment(_ context.Context, id string) error {
	defer m.lock()()
	delete(m.d.appointments, id)
	return nil
}

// Consents lists by time given.
func (m *Memory) Consents(_ context.Context, riderID string) ([]Consent, error) {
	return listed(m, m.d.consents, func(c Consent) bool { return c.RiderID == riderID }, func(a, b Consent) int {
		return cmp.Or(a.Given.Compare(b.Given), strings.Compare(a.ID, b.ID))
	}), nil
}

// PutConsent adds or replaces; its rider must be there.
func (m *Memory) PutConsent(_ context.Context, c Consent) error {
	defer m.lock()()
	if _, ok := m.d.riders[c.RiderID]; !ok {
		return Missing("consent")
	}
	m.d.consents[c.ID] = c
	return nil
}

// Computed finds a cached result.
func (m *Memory) Computed(_ context.Context, kind, subject string) (Computed, error) {
	defer m.lock()()
	c, ok := m.d.computed[[2]string{kind, subject}]
	if !ok {
		return c, NoSuch("result", kind+" of "+subject)
	}
	return c, nil
}

// PutComputed keeps a result.
func (m *Memory) PutComputed(_ context.Context, c Computed) error {
	return put(m, m.d.computed, [2]string{c.Kind, c.Subject}, c)
}

// RemoveComputed forgets all results of a subject.
func (m *Memory) RemoveComputed(_ context.Context, subject string) error {
	defer m.lock()()
	maps.DeleteFunc(m.d.computed, func(k [2]string, _ Computed) bool { return k[1] == subject })
	return nil
}

// Job finds one.
func (m *Memory) Job(_ context.Context, id string) (Job, error) {
	return found(m, m.d.jobs, "job", id)
}

// JobsOf lists the newest first.
func (m *Memory) JobsOf(_ context.Context, subject string) ([]Job, error) {
	return listed(m, m.d.jobs, func(j Job) bool {
		return j.Subject == subject || (subject == "" && !j.State.Over())
	}, func(a, b Job) int { return cmp.Or(b.Made.Compare(a.Made), strings.Compare(b.ID, a.ID)) }), nil
}

// PutJob adds or replaces.
func (m *Memory) PutJob(_ context.Context, j Job) error { return put(m, m.d.jobs, j.ID, j) }

// Exercises lists the trainer's own by id.
func (m *Memory) Exercises(context.Context) ([]OwnExercise, error) {
	return listed(m, m.d.exercises, nil, func(a, b OwnExercise) int { return strings.Compare(a.ID, b.ID) }), nil
}

// PutExercise adds or replaces.
func (m *Memory) PutExercise(_ context.Context, e OwnExercise) error {
	return put(m, m.d.exercises, e.ID, e)
}

// RemoveExercise removes one.
func (m *Memory) RemoveExercise(_ context.Context, id string) error {
	defer m.lock()()
	delete(m.d.exercises, id)
	return nil
}
