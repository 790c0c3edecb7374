package logbook

import "time"

// Yard is a place where horses stand and lessons are given.
type Yard struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Place    string `json:"place,omitempty"` // how to find it, in the trainer's words
	Arena    string `json:"arena,omitempty"` // size of its arena, "20 x 60"
	Remark   string `json:"remark,omitempty"`
	Invented bool   `json:"invented,omitempty"`
}

// Rider is a person taught. Minor decides whose consent a recording needs.
type Rider struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Minor    bool   `json:"minor,omitempty"`
	Remark   string `json:"remark,omitempty"` // what the trainer must not forget
	Invented bool   `json:"invented,omitempty"`
}

// Horse is a horse and what is known of how it moves. Profile is the text of a horse file
// (`--horse F.json`) as given, "" when nothing is known.
type Horse struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Profile  string `json:"profile,omitempty"`
	Remark   string `json:"remark,omitempty"` // restriction or reminder, in the trainer's words
	Invented bool   `json:"invented,omitempty"`
}

// Combination is one rider on one horse.
type Combination struct {
	ID      string `json:"id"`
	RiderID string `json:"rider_id"`
	HorseID string `json:"horse_id"`
	YardID  string `json:"yard_id,omitempty"` // "" when not said
	Level   string `json:"level,omitempty"`
	Remark  string `json:"remark,omitempty"`
}

// Sheet is a test sheet as typed. Text is that of Version; earlier versions stay in the store,
// because rides point at the version they were ridden from.
type Sheet struct {
	ID       string    `json:"id"`
	Name     string    `json:"name"`
	Version  int       `json:"version"` // from 1
	Text     string    `json:"text"`
	Saved    time.Time `json:"saved"`
	Invented bool      `json:"invented,omitempty"`
}

// RideKind says what a ride was.
type RideKind string

// The kinds of ride.
const (
	Training RideKind = "training"
	Show     RideKind = "show"
)

// Ride is one riding of a sheet and what was recorded of it.
type Ride struct {
	ID            string   `json:"id"`
	CombinationID string   `json:"combination_id"`
	SheetID       string   `json:"sheet_id"`
	SheetVersion  int      `json:"sheet_version"`
	Date          Date     `json:"date"`
	Kind          RideKind `json:"kind"`
	Place         string   `json:"place,omitempty"`
	Recorder      string   `json:"recorder,omitempty"` // class of track.ImportOptions, "" when unknown or none
	Rules         string   `json:"rules,omitempty"`    // rule set, "" for the sheet's own
	// MarkedBy is who gave the marks; Taught says that this person also taught the combination
	// since its last ride, which makes the marks prone to expectation.
	MarkedBy string `json:"marked_by,omitempty"`
	Taught   bool   `json:"taught,omitempty"`
	// Opened and Closed bound the time in which notes of a ride being ridden are taken; zero
	// when it was not watched with Ringcraft, Closed zero while it is being ridden.
	Opened    time.Time `json:"opened,omitzero"`
	Closed    time.Time `json:"closed,omitzero"`
	Simulated bool      `json:"simulated,omitempty"` // recording from the simulator
	Made      time.Time `json:"made"`
	Files     []File    `json:"files,omitempty"` // by role, then sequence
}

// Riding reports whether the ride is being ridden now: opened and not closed.
func (r Ride) Riding() bool { return !r.Opened.IsZero() && r.Closed.IsZero() }

// File returns the first file of a role and whether there is one.
func (r Ride) File(role Role) (File, bool) {
	for _, f := range r.Files {
		if f.Role == role {
			return f, true
		}
	}
	return File{}, false
}

// FilesOf returns the files of a role in sequence.
func (r Ride) FilesOf(role Role) []File {
	var out []File
	for _, f := range r.Files {
		if f.Role == role {
			out = append(out, f)
		}
	}
	return out
}

// Role says what a file is to its ride.
type Role string

// The roles of files.
const (
	RoleTrack      Role = "track"
	RoleMotion     Role = "motion"     // accelerometer and gyroscope beside the positions
	RoleArena      Role = "arena"      // surveyed letters
	RoleCommentary Role = "commentary" // text with times
	RoleMarks      Role = "marks"      // marks CSV
	RoleAudio      Role = "audio"      // a piece of sound; Seq orders the pieces
)

// File is something given with a ride, kept byte for byte in Recordings.
type File struct {
	Role  Role      `json:"role"`
	Seq   int       `json:"seq"`
	Blob  string    `json:"blob"` // SHA-256 in hex
	Name  string    `json:"name"` // as the user's machine called it; for people only
	Media string    `json:"media,omitempty"`
	Size  int64     `json:"size"`
	AtS   float64   `json:"at_s,omitempty"` // audio: where the piece begins on the ride's clock
	Added time.Time `json:"added"`
}

// NoteKind says what was noted.
type NoteKind string

// The kinds of note.
const (
	NoteMark   NoteKind = "mark"   // Movement or Collective, Judge, Mark
	NoteFault  NoteKind = "fault"  // a fault or praise word tapped
	NoteRemark NoteKind = "remark" // words
	NoteNow    NoteKind = "now"    // this movement begins at AtS
	NoteError  NoteKind = "error"  // error of course
	NoteLater  NoteKind = "later"  // something to come back to
	NoteUndo   NoteKind = "undo"   // takes back the note named in Undoes

	// NoteCorrect is the trainer's word on a remark of the commentary, made at the desk and not
	// on a phone: which movement it belongs to, how the rider reads it. Text is a Correction.
	NoteCorrect NoteKind = "correct"
	// NotePart says, at the desk, which part of the recording is the ride. Text is a RidePart.
	NotePart NoteKind = "part"
)

// NoteKinds lists the kinds of note that a phone may send.
func NoteKinds() []NoteKind {
	return []NoteKind{NoteMark, NoteFault, NoteRemark, NoteNow, NoteError, NoteLater, NoteUndo}
}

// Note is one thing noted at the arena side. It is made on a phone, which gives it its ID and
// its place in that phone's sequence; notes are only ever added, so sending one twice is safe.
type Note struct {
	ID         string    `json:"id"`
	RideID     string    `json:"ride_id"`
	Device     string    `json:"device"`
	Seq        int64     `json:"seq"` // per device and ride, from 1
	Kind       NoteKind  `json:"kind"`
	Movement   int       `json:"movement,omitempty"` // 0: none
	Collective string    `json:"collective,omitempty"`
	Judge      string    `json:"judge,omitempty"`
	Mark       string    `json:"mark,omitempty"` // as entered, "6.5"
	Text       string    `json:"text,omitempty"` // words, or the fault's id
	Undoes     string    `json:"undoes,omitempty"`
	AtS        float64   `json:"at_s"`            // seconds on the ride's clock
	Clock      string    `json:"clock,omitempty"` // the phone's own wall clock as it gave it; not trusted
	Received   time.Time `json:"received"`
}

// Lesson is a planned lesson. Plan is prepare.Lesson as JSON: it was taught from, so it is a
// decision and kept, not a cache.
type Lesson struct {
	ID            string    `json:"id"`
	CombinationID string    `json:"combination_id"`
	RideID        string    `json:"ride_id,omitempty"` // the review it was planned from
	Date          Date      `json:"date"`
	Minutes       int       `json:"minutes"`
	WarmedUp      bool      `json:"warmed_up,omitempty"`
	Plan          string    `json:"plan"`
	Homework      string    `json:"homework,omitempty"` // JSON, as set for the rider
	Made          time.Time `json:"made"`
	Started       time.Time `json:"started,omitzero"`
	Ended         time.Time `json:"ended,omitzero"`
}

// Step is one thing that happened in a lesson while it was run; like a Note it is made on the
// page with its own ID and only ever added.
type Step struct {
	ID       string    `json:"id"`
	LessonID string    `json:"lesson_id"`
	Seq      int64     `json:"seq"`
	Kind     StepKind  `json:"kind"`
	Block    int       `json:"block"` // index in the plan, from 0
	AtS      float64   `json:"at_s"`  // seconds since the lesson began
	Text     string    `json:"text,omitempty"`
	Received time.Time `json:"received"`
}

// StepKind says what happened.
type StepKind string

// The kinds of step.
const (
	StepBegun  StepKind = "begun"  // block began
	StepGood   StepKind = "good"   // a good repeat
	StepAgain  StepKind = "again"  // a repeat that was not it
	StepDone   StepKind = "done"   // block finished
	StepSkip   StepKind = "skip"   // left out
	StepTired  StepKind = "tired"  // the horse tires
	StepRemark StepKind = "remark" // words
	StepReplan StepKind = "replan" // the plan was solved again; Text is the new plan as JSON
)

// Appointment is a place in a day: a lesson to give or a start at a show.
type Appointment struct {
	ID            string `json:"id"`
	CombinationID string `json:"combination_id"`
	YardID        string `json:"yard_id,omitempty"`
	Date          Date   `json:"date"`
	Start         string `json:"start"` // "09:30", local to the yard
	Minutes       int    `json:"minutes"`
	Kind          string `json:"kind"` // lesson or show
	SheetID       string `json:"sheet_id,omitempty"`
	LessonID      string `json:"lesson_id,omitempty"`
	Remark        string `json:"remark,omitempty"`
}

// Consent notes that a person, or the guardian of a minor, agreed to being recorded.
type Consent struct {
	ID        string    `json:"id"`
	RiderID   string    `json:"rider_id"`
	What      string    `json:"what"` // voice or ride
	GivenBy   string    `json:"given_by"`
	Guardian  bool      `json:"guardian,omitempty"`
	Given     time.Time `json:"given"`
	Withdrawn time.Time `json:"withdrawn,omitzero"`
}

// Job is a piece of background work.
type Job struct {
	ID       string    `json:"id"`
	Kind     string    `json:"kind"`    // transcribe, review
	Subject  string    `json:"subject"` // id of the ride it is about
	State    JobState  `json:"state"`
	Progress float64   `json:"progress"` // 0 to 1, -1 when it cannot be said
	Message  string    `json:"message,omitempty"`
	Tries    int       `json:"tries"`
	Made     time.Time `json:"made"`
	Ended    time.Time `json:"ended,omitzero"`
}

// JobState says how far a job is.
type JobState string

// The states of a job.
const (
	JobWaiting   JobState = "waiting"
	JobRunning   JobState = "running"
	JobDone      JobState = "done"
	JobFailed    JobState = "failed"
	JobCancelled JobState = "cancelled"
)

// Over reports whether nothing more will happen to the job.
func (s JobState) Over() bool { return s == JobDone || s == JobFailed || s == JobCancelled }

// Computed is a cached result. Stamp names the inputs and versions it was computed from: when
// it differs from today's, the result is old and is computed again.
type Computed struct {
	Kind    string // review, comparison, plan
	Subject string // id of what it is about
	Stamp   string
	Value   []byte
	Made    time.Time
}
