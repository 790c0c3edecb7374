package backup

import (
	"archive/zip"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// ExportOptions narrow an export; the zero value is everything.
type ExportOptions struct {
	// RiderID narrows to what is stored about one person: to be shown to them.
	RiderID string
	Now     time.Time
	// Access adds who may come in: people, devices and links, without secrets. nil adds none.
	Access access.Store
	// Settings is the settings file as it was written, "" for none.
	Settings []byte
	// Geo reads a recording's places on earth; none when it does not know them. nil writes no GPX.
	Geo func(r io.Reader) ([]GeoFix, error)
	// Tracks is told how many tracks were written and how many also as GPX. nil counts none.
	Tracks *TrackCount
}

// TrackCount says how the tracks of an export were written.
type TrackCount struct {
	All int // as they were given
	GPX int // of these also as GPX: those that know where on earth they were
}

// GeoFix is one recorded place on earth (WGS84).
type GeoFix struct {
	LatDeg, LonDeg float64
	At             time.Time // zero when the recording has no wall clock
}

const exportAbout = `What was put into Ringcraft, in open formats.

records.json    all records, those of people and devices that may come in too
*.csv           riders, horses, combinations, yards, rides, notes, lessons, their steps, appointments,
                consents as tables, for a spreadsheet
sheets/         test sheets as they were typed, every version
horses/         horse files as they were given
exercises/      exercises of the trainer's own
lessons/        the plan of each lesson, its homework
settings.json   the settings, where there are any
rides/          a folder for each ride: every file as it was given, byte for byte (original-...);
                track.gpx, when the recording knows where on earth it was; notes.vtt, the notes with
                their times, to be laid over sound or video; marks.csv
Text cells in the tables that begin with = + - @ have a ' before them, so that a spreadsheet does
not take them for a formula.

Not in here: reviews and scores (computed from this whenever they are looked at), the state of
background work, and secrets: of passwords, codes, links and sessions only hashes are stored, which
open nothing.
`

// records is records.json.
type records struct {
	About        string                `json:"about"`
	Made         time.Time             `json:"made"`
	Yards        []logbook.Yard        `json:"yards"`
	Riders       []logbook.Rider       `json:"riders"`
	Horses       []logbook.Horse       `json:"horses"`
	Combinations []logbook.Combination `json:"combinations"`
	Sheets       []logbook.Sheet       `json:"sheets"`
	Rides        []logbook.Ride        `json:"rides"`
	Notes        []logbook.Note        `json:"notes"`
	Lessons      []logbook.Lesson      `json:"lessons"`
	Steps        []logbook.Step        `json:"steps"`
	Appointments []logbook.Appointment `json:"appointments"`
	Consents     []logbook.Consent     `json:"consents"`
	Exercises    []logbook.OwnExercise `json:"exercises"`
	Accounts     []accountRecord       `json:"accounts"`
	Devices      []deviceRecord        `json:"devices"`
	Links        []linkRecord          `json:"links"`
}

// Export writes everything a user has put in, or all about one rider, as a zip of open formats.
// It returns warnings: recordings that are missing or damaged, tracks that cannot be read.
func Export(ctx context.Context, out io.Writer, s logbook.Store, rec logbook.Recordings, o ExportOptions) ([]string, error) {
	r, err := gather(ctx, s, o)
	if err != nil {
		return nil, err
	}
	e := &exporter{ctx: ctx, z: zip.NewWriter(out), rec: rec, r: r, geo: o.Geo, tracks: o.Tracks, settings: o.Settings}
	for _, part := range []func() error{e.readme, e.json, e.tables, e.sheets, e.horses, e.exercises, e.lessons, e.rides, e.setting} {
		if err := part(); err != nil {
			return e.warnings, err
		}
	}
	return e.warnings, e.z.Close()
}

// gather reads all records, then drops what is not about the rider.
func gather(ctx context.Context, s logbook.Store, o ExportOptions) (*records, error) {
	r := &records{About: "Ringcraft export", Made: o.Now.UTC().Truncate(time.Second)}
	var err error
	read := func(f func() error) {
		if err == nil {
			err = f()
		}
	}
	read(func() (e error) { r.Yards, e = s.Yards(ctx); return })
	read(func() (e error) { r.Riders, e = s.Riders(ctx); return })
	read(func() (e error) { r.Horses, e = s.Horses(ctx); return })
	read(func() (e error) { r.Combinations, e = s.Combinations(ctx); return })
	read(func() (e error) { r.Rides, e = s.Rides(ctx, logbook.RideFilter{}); return })
	read(func() (e error) { r.Lessons, e = s.Lessons(ctx, logbook.LessonFilter{}); return })
	read(func() (e error) { r.Appointments, e = s.Appointments(ctx, "0000-00-00", "9999-99-99"); return })
	read(func() (e error) { r.Exercises, e = s.Exercises(ctx); return })
	read(func() error { return r.mayComeIn(ctx, o.Access) })
	if err != nil {
		return nil, err
	}
	if o.RiderID != "" {
		if err := r.about(o.RiderID); err != nil {
			return nil, err
		}
	}
	return r, r.details(ctx, s, o.RiderID != "")
}

// about keeps what is stored about one rider.
func (r *records) about(rider string) error {
	drop := func(keep bool) bool { return !keep }
	r.Riders = slices.DeleteFunc(r.Riders, func(x logbook.Rider) bool { return drop(x.ID == rider) })
	if len(r.Riders) == 0 {
		return logbook.Errorf(logbook.NotFound, "there is no rider %q", rider)
	}
	combos, horses, yards := map[string]bool{}, map[string]bool{}, map[string]bool{}
	r.Combinations = slices.DeleteFunc(r.Combinations, func(x logbook.Combination) bool { return drop(x.RiderID == rider) })
	for _, c := range r.Combinations {
		combos[c.ID], horses[c.HorseID], yards[c.YardID] = true, true, true
	}
	r.Horses = slices.DeleteFunc(r.Horses, func(x logbook.Horse) bool { return drop(horses[x.ID]) })
	r.Yards = slices.DeleteFunc(r.Yards, func(x logbook.Yard) bool { return drop(yards[x.ID]) })
	r.Rides = slices.DeleteFunc(r.Rides, func(x logbook.Ride) bool { return drop(combos[x.CombinationID]) })
	r.Lessons = slices.DeleteFunc(r.Lessons, func(x logbook.Lesson) bool { return drop(combos[x.CombinationID]) })
	r.Appointments = slices.DeleteFunc(r.Appointments, func(x logbook.Appointment) bool { return drop(combos[x.CombinationID]) })
	r.Exercises = nil // the trainer's, about nobody
	r.waysInOf(rider)
	return nil
}

// details reads what hangs on the records: every version of the sheets (for one rider: those
// ridden), notes, steps and consents.
func (r *records) details(ctx context.Context, s logbook.Store, onlyRidden bool) error {
	if err := r.versions(ctx, s, onlyRidden); err != nil {
		return err
	}
	for _, ride := range r.Rides {
		notes, err := s.Notes(ctx, ride.ID)
		if err != nil {
			return err
		}
		r.Notes = append(r.Notes, notes...)
	}
	for _, l := range r.Lessons {
		steps, err := s.Steps(ctx, l.ID)
		if err != nil {
			return err
		}
		r.Steps = append(r.Steps, steps...)
	}
	for _, p := range r.Riders {
		consents, err := s.Consents(ctx, p.ID)
		if err != nil {
			return err
		}
		r.Consents = append(r.Consents, consents...)
	}
	return nil
}

func (r *records) versions(ctx context.Context, s logbook.Store, onlyRidden bool) error {
	latest, err := s.Sheets(ctx)
	if err != nil {
		return err
	}
	ridden := map[string]bool{}
	for _, ride := range r.Rides {
		ridden[ride.SheetID] = true
	}
	for _, l := range latest {
		for v := 1; v <= l.Version; v++ {
			if onlyRidden && !ridden[l.ID] {
				continue
			}
			x, err := s.SheetVersion(ctx, l.ID, v)
			if logbook.CodeOf(err) == logbook.NotFound {
				continue
			}
			if err != nil {
				return err
			}
			r.Sheets = append(r.Sheets, x)
		}
	}
	return nil
}

type exporter struct {
	ctx      context.Context
	z        *zip.Writer
	rec      logbook.Recordings
	r        *records
	geo      func(io.Reader) ([]GeoFix, error)
	tracks   *TrackCount // nil: not asked for
	settings []byte
	warnings []string
}

func (e *exporter) create(name string) (io.Writer, error) {
	if err := e.ctx.Err(); err != nil {
		return nil, err
	}
	return e.z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: e.r.Made})
}

func (e *exporter) readme() error {
	w, err := e.create("README.txt")
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, exportAbout)
	return err
}

func (e *exporter) json() error {
	w, err := e.create("records.json")
	if err != nil {
		return err
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", " ")
	return enc.Encode(e.r)
}

// table writes one CSV file.
func (e *exporter) table(name string, head []string, rows [][]string) error {
	w, err := e.create(name)
	if err != nil {
		return err
	}
	c := csv.NewWriter(w)
	if err := c.Write(head); err != nil {
		return err
	}
	for _, r := range rows {
		for i := range r {
			r[i] = cell(r[i])
		}
		if err := c.Write(r); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// cell keeps a spreadsheet from running text as a formula; plain numbers stay numbers.
func cell(s string) string {
	if s == "" || !strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return s
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	return "'" + s
}

// names maps combinations to "rider on horse", and riders to their names.
func (e *exporter) names() map[string]string {
	out := map[string]string{}
	horses := map[string]string{}
	for _, r := range e.r.Riders {
		out[r.ID] = r.Name
	}
	for _, h := range e.r.Horses {
		horses[h.ID] = h.Name
	}
	for _, c := range e.r.Combinations {
		out[c.ID] = out[c.RiderID] + " on " + horses[c.HorseID]
	}
	return out
}

func (e *exporter) sheets() error {
	for _, s := range e.r.Sheets {
		w, err := e.create(fmt.Sprintf("sheets/%s-%s-v%d.txt", safeName(s.Name), safeName(s.ID), s.Version))
		if err != nil {
			return err
		}
		if _, err := io.WriteString(w, s.Text); err != nil {
			return err
		}
	}
	return nil
}

func seconds(s float64) string { return strconv.FormatFloat(s, 'f', -1, 64) }

func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

// safeName makes a name fit for any file system: letters and digits stay, all else is a dash; no
// name can climb out of its folder or meet a device of Windows.
func safeName(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(unicode.ToLower(r))
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 48 {
			break
		}
	}
	if out := strings.Trim(b.String(), "-"); out != "" {
		return out
	}
	return "unnamed"
}
