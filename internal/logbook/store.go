package logbook

import (
	"context"
	"io"
)

// Store keeps the records. Every writing method is atomic and durable when it returns nil.
// Looking up one record that is not there gives an error of code NotFound. Lists are in the
// stated order, so that the same store always gives the same bytes. Put adds or replaces.
type Store interface {
	// Atomically runs f on a Store whose changes all happen or, when f returns an error, none.
	// f must use the Store it is given and must not nest another Atomically.
	Atomically(ctx context.Context, f func(Store) error) error

	Yards(ctx context.Context) ([]Yard, error) // by name
	PutYard(ctx context.Context, y Yard) error
	RemoveYard(ctx context.Context, id string) error

	Riders(ctx context.Context) ([]Rider, error) // by name
	Rider(ctx context.Context, id string) (Rider, error)
	PutRider(ctx context.Context, r Rider) error
	// RemoveRider removes the rider with combinations, rides, notes, lessons and consents.
	RemoveRider(ctx context.Context, id string) error

	Horses(ctx context.Context) ([]Horse, error) // by name
	Horse(ctx context.Context, id string) (Horse, error)
	PutHorse(ctx context.Context, h Horse) error
	RemoveHorse(ctx context.Context, id string) error // as RemoveRider

	Combinations(ctx context.Context) ([]Combination, error) // by id
	Combination(ctx context.Context, id string) (Combination, error)
	PutCombination(ctx context.Context, c Combination) error

	Sheets(ctx context.Context) ([]Sheet, error)         // latest version of each, by name
	Sheet(ctx context.Context, id string) (Sheet, error) // latest version
	SheetVersion(ctx context.Context, id string, version int) (Sheet, error)
	// PutSheet adds a version: the first, or one more than the latest. Any other number is a
	// Conflict: somebody else saved meanwhile.
	PutSheet(ctx context.Context, s Sheet) error
	RemoveSheet(ctx context.Context, id string) error // Conflict while a ride uses it

	Rides(ctx context.Context, f RideFilter) ([]Ride, error) // newest first; with their files
	Ride(ctx context.Context, id string) (Ride, error)
	PutRide(ctx context.Context, r Ride) error // with its files; files it no longer names go
	// AddFile adds one file to a ride; adding the same again changes nothing, another blob under
	// the same role and sequence is a Conflict.
	AddFile(ctx context.Context, rideID string, f File) error
	RemoveRide(ctx context.Context, id string) error

	Notes(ctx context.Context, rideID string) ([]Note, error) // by device, then sequence
	// AddNotes adds those notes not there yet and says how many that were. A note with a known
	// ID is left as it was; one that reuses a device's sequence number under another ID is a
	// Conflict and nothing of the batch is added.
	AddNotes(ctx context.Context, notes []Note) (added int, err error)

	Lessons(ctx context.Context, f LessonFilter) ([]Lesson, error) // newest first
	Lesson(ctx context.Context, id string) (Lesson, error)
	PutLesson(ctx context.Context, l Lesson) error
	RemoveLesson(ctx context.Context, id string) error
	Steps(ctx context.Context, lessonID string) ([]Step, error) // by sequence
	AddSteps(ctx context.Context, steps []Step) (added int, err error)

	Appointments(ctx context.Context, from, to Date) ([]Appointment, error) // by date and start, ends included
	PutAppointment(ctx context.Context, a Appointment) error
	RemoveAppointment(ctx context.Context, id string) error

	Consents(ctx context.Context, riderID string) ([]Consent, error) // by time given
	PutConsent(ctx context.Context, c Consent) error

	Exercises(ctx context.Context) ([]OwnExercise, error) // by id
	PutExercise(ctx context.Context, e OwnExercise) error
	RemoveExercise(ctx context.Context, id string) error

	// Computed returns a cached result, NotFound when there is none.
	Computed(ctx context.Context, kind, subject string) (Computed, error)
	PutComputed(ctx context.Context, c Computed) error
	RemoveComputed(ctx context.Context, subject string) error

	JobStore
}

// JobStore keeps the state of background work.
type JobStore interface {
	Job(ctx context.Context, id string) (Job, error)
	JobsOf(ctx context.Context, subject string) ([]Job, error) // newest first; "" for all not over
	PutJob(ctx context.Context, j Job) error
}

// RideFilter narrows a list of rides; zero fields do not narrow.
type RideFilter struct {
	CombinationID, SheetID string
	Limit                  int
}

// LessonFilter narrows a list of lessons; zero fields do not narrow.
type LessonFilter struct {
	CombinationID, RideID string
	Limit                 int
}

// Blob names stored bytes by what they are.
type Blob struct {
	SHA256 string
	Size   int64
}

// Recordings keeps bytes by their SHA-256. What was put is on disk when Put returns nil; what
// comes out is what went in, or an error of code Damaged.
type Recordings interface {
	// Put stores what r gives, at most limit bytes (TooLarge beyond, nothing stored).
	Put(ctx context.Context, r io.Reader, limit int64) (Blob, error)
	// Open returns verified bytes for reading and seeking.
	Open(ctx context.Context, sha256 string) (io.ReadSeekCloser, error)
	// Read returns all bytes, verified, at most limit of them.
	Read(ctx context.Context, sha256 string, limit int64) ([]byte, error)
	Remove(ctx context.Context, sha256 string) error
	// Each calls f for every stored blob in the order of their names.
	Each(ctx context.Context, f func(Blob) error) error
}

// Jobs runs work in the background.
type Jobs interface {
	// Start queues work of a kind about a subject. When such work is already waiting or running
	// that job is returned instead of a second one.
	Start(ctx context.Context, kind, subject string) (Job, error)
	// Cancel stops a job; nothing happens to one that is over.
	Cancel(ctx context.Context, id string) error
}
