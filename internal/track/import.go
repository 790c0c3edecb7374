package track

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"time"
)

// ImportOptions says how a recording is read.
type ImportOptions struct {
	File string // name used in messages only; the content decides the format
	// Tag picks one tag of a file that holds several; "" takes the one with the most rows.
	Tag string
	// Step is asked after every so many bytes; Size is how many there are, 0 where that is not known.
	Step Step
	Size int64
}

// row is one position as a reader found it, before frames and clocks are settled.
type row struct {
	t       float64 // seconds on the file's clock, or since 1970 UTC
	a, b    float64 // latitude and longitude in degrees, or x and y in metres
	h       float64 // heading, radians anticlockwise from +x
	hasH    bool
	line    int
	segment int
}

// reading is what a format's reader hands on.
type reading struct {
	format    string
	frame     Frame
	rows      []row
	motion    []Motion // T on the same clock as rows
	hasGyro   bool
	unix      bool // times are seconds since 1970 UTC
	keepClock bool // T of the track is the file's own time, not counted from the first fix
	notes     []string
	// pairWander is how much two tags of one horse disagree slowly, metres per axis; 0 unknown.
	pairWander, pairDistance float64
	unfixed                  float64 // share of positions without fixed carrier phase, where the file says
}

func (r *reading) note(format string, args ...any) {
	r.notes = append(r.notes, fmt.Sprintf(format, args...))
}

// leftOut notes how many of what was read do not count.
func (r *reading) leftOut(n int, what, why string) {
	if n == 1 {
		r.note("1 %s %s was left out", what, why)
		return
	}
	r.note("%d %ss %s were left out", n, what, why)
}

// Import reads one recording. The format is found from the content, never from a name. On any
// error, a *Error that says where, there is no track. See the package's limits.
func Import(r io.Reader, o ImportOptions) (*Track, error) {
	return importUpTo(r, o, MaxBytes)
}

func importUpTo(r io.Reader, o ImportOptions, bytes int64) (*Track, error) {
	l := &limited{r: r, left: bytes, most: bytes, step: o.Step, size: o.Size}
	rd, err := read(l, o)
	if l.stopped != nil {
		return nil, l.stopped
	}
	if err == nil {
		var t *Track
		if t, err = rd.track(o); err == nil {
			return t, nil
		}
	}
	var e *Error
	if !errors.As(err, &e) {
		return nil, &Error{File: o.File, Message: "could not be read: " + err.Error(), Cause: err}
	}
	e.File = o.File
	return nil, e
}

func read(r io.Reader, o ImportOptions) (*reading, error) {
	br, head, err := plainText(r)
	if err != nil {
		return nil, err
	}
	if e := other(head); e != nil {
		return nil, e
	}
	switch sniff(head) {
	case "gpx":
		return readGPX(br)
	case "fit":
		return readFIT(br)
	case "nmea":
		return readNMEA(br)
	case "csv":
		return readCSV(br, o)
	}
	if len(bytes.TrimSpace(head)) == 0 {
		return nil, &Error{Message: "the file is empty", Allowed: allowedFormats}
	}
	return nil, &Error{Message: "the format is not known", Allowed: allowedFormats}
}

const allowedFormats = "GPX 1.0 or 1.1, FIT, NMEA 0183, or CSV with a header line such as t_s,x_m,y_m or time,lat,lon"

// limited reads at most left bytes and then fails, so that a file too large is refused, not cut.
type limited struct {
	r          io.Reader
	left, most int64

	step    Step
	size    int64 // of all, 0 unknown
	asked   int64 // bytes read when the step was asked last
	stopped error // what the step said to end the work
}

// Read fails once the limit is reached or the step says so; it implements io.Reader.
func (l *limited) Read(p []byte) (int, error) {
	if l.ask(); l.stopped != nil {
		return 0, l.stopped
	}
	if l.left <= 0 {
		return 0, &Error{Message: "the file is too large", Allowed: fmt.Sprintf("at most %d MiB", l.most>>20)}
	}
	if int64(len(p)) > l.left {
		p = p[:l.left]
	}
	n, err := l.r.Read(p)
	l.left -= int64(n)
	return n, err
}

// ask asks the step when enough was read since it was asked last.
func (l *limited) ask() {
	done := l.most - l.left
	if l.step == nil || l.stopped != nil || done > 0 && done-l.asked < stepEveryBytes {
		return
	}
	share := -1.0
	if l.size > 0 {
		share = min(1, float64(done)/float64(l.size))
	}
	l.asked, l.stopped = done, l.step(share)
}

// track settles order, clock and frame and builds the recording.
func (r *reading) track(o ImportOptions) (*Track, error) {
	if err := r.settle(); err != nil {
		return nil, err
	}
	if len(r.rows) == 0 && len(r.motion) > 0 && len(r.motion) < MinMotion {
		return nil, &Error{Message: fmt.Sprintf("only %d motion samples", len(r.motion)), Allowed: fmt.Sprintf("at least %d", MinMotion)}
	}
	if len(r.motion) == 0 && len(r.rows) < MinFixes {
		e := &Error{Message: fmt.Sprintf("only %d timed positions", len(r.rows)), Allowed: fmt.Sprintf("at least %d", MinFixes)}
		if len(r.notes) > 0 {
			e.Message += " (" + r.notes[0] + ")"
		}
		return nil, e
	}
	t := &Track{Format: r.format, Frame: r.frame, HasGyro: r.hasGyro, PairWander: r.pairWander, PairDistance: r.pairDistance, Unfixed: r.unfixed}
	t0 := r.zero()
	if r.unix {
		t.Start = unixTime(t0).Format(time.RFC3339Nano)
	}
	r.fill(t, t0)
	t.Notes = r.notes
	return t, nil
}

// zero returns the file time that becomes T = 0.
func (r *reading) zero() float64 {
	switch {
	case r.keepClock:
		return 0
	case len(r.rows) > 0:
		return r.rows[0].t
	}
	return float64(r.motion[0].T)
}

func (r *reading) fill(t *Track, t0 float64) {
	var plane Plane
	if r.frame == FrameGeo && len(r.rows) > 0 {
		t.Origin = LatLon{r.rows[0].a, r.rows[0].b}
		plane = NewPlane(t.Origin)
	}
	far := 0.0
	t.Fixes = make([]Fix, len(r.rows))
	for i, w := range r.rows {
		f := Fix{T: since(w.t, t0), P: Local{w.a, w.b}, Heading: w.h, HasHeading: w.hasH, Line: w.line}
		if r.frame == FrameGeo {
			f.P = plane.ToLocal(LatLon{w.a, w.b})
			far = max(far, math.Hypot(f.P.X, f.P.Y))
		}
		t.Fixes[i] = f
	}
	t.Motion = r.motion
	for i := range t.Motion {
		t.Motion[i].T = since(float64(t.Motion[i].T), t0)
	}
	if far > 2000 {
		r.note("positions reach %.1f km from the first one; an arena is under 0.1 km", far/1000)
	}
}

// since rounds to the microsecond, which hides what float64 loses on times counted from 1970.
func since(t, t0 float64) Seconds { return Seconds(math.Round((t-t0)*1e6) / 1e6) }

// settle drops repeats of one instant and refuses time that runs back.
func (r *reading) settle() error {
	same := 0
	out := r.rows[:0]
	for i, w := range r.rows {
		if i > 0 {
			last := out[len(out)-1]
			if w.t < last.t {
				return r.backwards(w.line, w.t, last.t)
			}
			if w.t == last.t {
				same++
				continue
			}
		}
		out = append(out, w)
	}
	r.rows = out
	if same > 0 {
		r.leftOut(same, "position", "with the time of the one before")
	}
	r.nowhere()
	r.longestPart()
	if err := r.settleMotion(); err != nil {
		return err
	}
	if n := len(r.rows); n > 1 && r.rows[n-1].t-r.rows[0].t > MaxSpan {
		return &Error{Line: r.rows[n-1].line, Message: fmt.Sprintf("the times span %.0f days", (r.rows[n-1].t-r.rows[0].t)/86400), Allowed: "at most 7 days"}
	}
	return nil
}

func (r *reading) settleMotion() error {
	same := 0
	out := r.motion[:0]
	for i, m := range r.motion {
		if i > 0 {
			last := out[len(out)-1]
			if m.T < last.T {
				return r.backwards(0, float64(m.T), float64(last.T))
			}
			if m.T == last.T {
				same++
				continue
			}
		}
		out = append(out, m)
	}
	r.motion = out
	if same > 0 {
		r.leftOut(same, "motion sample", "with the time of the one before")
	}
	if n := len(out); n > 1 && out[n-1].T-out[0].T > MaxSpan {
		return &Error{Message: "the times span more than 7 days", Allowed: "at most 7 days"}
	}
	return nil
}

func (r *reading) backwards(line int, t, before float64) error {
	return &Error{Line: line, At: r.clock(t), Message: fmt.Sprintf("time runs backwards by %.3f s", before-t),
		Allowed: "each time later than the one before (" + r.clock(before) + ")"}
}

// clock prints a file time as people read it.
func (r *reading) clock(t float64) string {
	if r.unix {
		return unixTime(t).Format("2006-01-02T15:04:05.000Z")
	}
	return atSeconds(t)
}

// unixTime rounds to the millisecond: that is all a float64 of seconds since 1970 is asked to hold.
func unixTime(t float64) time.Time { return time.UnixMilli(int64(math.Round(t * 1000))).UTC() }

func unixSeconds(t time.Time) float64 {
	return float64(t.Unix()) + float64(t.Nanosecond())*1e-9
}
