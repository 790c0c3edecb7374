package backup

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"ringcraft/internal/logbook"
)

// rides writes a folder for each ride.
func (e *exporter) rides() error {
	names := e.names()
	notes := map[string][]logbook.Note{}
	for _, n := range e.r.Notes {
		notes[n.RideID] = append(notes[n.RideID], n)
	}
	for _, r := range e.r.Rides {
		dir := fmt.Sprintf("rides/%s-%s-%s/", safeName(string(r.Date)), safeName(names[r.CombinationID]), safeName(r.ID))
		for _, f := range r.Files {
			if err := e.original(dir, r, f); err != nil {
				return err
			}
		}
		if err := e.noted(dir, standing(notes[r.ID])); err != nil {
			return err
		}
	}
	return nil
}

// original writes one file of a ride as it was given; a recording also as GPX where it can be.
func (e *exporter) original(dir string, r logbook.Ride, f logbook.File) error {
	in, err := e.rec.Open(e.ctx, f.Blob)
	if err != nil {
		if c := logbook.CodeOf(err); c == logbook.NotFound || c == logbook.Damaged {
			e.warn("%s%s: %s", dir, f.Name, logbook.MessageOf(err))
			return nil
		}
		return err
	}
	defer in.Close()
	w, err := e.create(fmt.Sprintf("%soriginal-%s-%d%s", dir, safeName(string(f.Role)), f.Seq, safeExt(f.Name)))
	if err != nil {
		return err
	}
	if _, err := io.Copy(w, in); err != nil {
		return err
	}
	if f.Role != logbook.RoleTrack {
		return nil
	}
	if e.tracks != nil {
		e.tracks.All++
	}
	if e.geo == nil {
		return nil
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return err
	}
	fixes, err := e.geo(in)
	if err != nil {
		e.warn("%s%s: not written as GPX: %v", dir, f.Name, err)
		return nil
	}
	return e.gpx(dir, r, fixes)
}

func (e *exporter) warn(format string, args ...any) {
	e.warnings = append(e.warnings, fmt.Sprintf(format, args...))
}

// safeExt keeps a short, plain file ending.
func safeExt(name string) string {
	ext := strings.ToLower(path.Ext(name))
	if len(ext) < 2 || len(ext) > 6 {
		return ""
	}
	for _, r := range ext[1:] {
		if r > unicode.MaxASCII || !(unicode.IsLetter(r) || unicode.IsDigit(r)) {
			return ""
		}
	}
	return ext
}

// GPX 1.1 (topografix.com/GPX/1/1), as far as it is needed.
type gpxFile struct {
	XMLName xml.Name   `xml:"http://www.topografix.com/GPX/1/1 gpx"`
	Version string     `xml:"version,attr"`
	Creator string     `xml:"creator,attr"`
	Name    string     `xml:"trk>name"`
	Points  []gpxPoint `xml:"trk>trkseg>trkpt"`
}

type gpxPoint struct {
	Lat  string `xml:"lat,attr"`
	Lon  string `xml:"lon,attr"`
	Time string `xml:"time,omitempty"`
}

func (e *exporter) gpx(dir string, r logbook.Ride, fixes []GeoFix) error {
	if len(fixes) == 0 {
		return nil // the recording does not know where on earth it was
	}
	g := gpxFile{Version: "1.1", Creator: "Ringcraft", Name: "Ride of " + string(r.Date)}
	for _, f := range fixes {
		p := gpxPoint{Lat: degrees(f.LatDeg), Lon: degrees(f.LonDeg)}
		if !f.At.IsZero() {
			p.Time = f.At.UTC().Format("2006-01-02T15:04:05.000Z")
		}
		g.Points = append(g.Points, p)
	}
	if e.tracks != nil {
		e.tracks.GPX++
	}
	w, err := e.create(dir + "track.gpx")
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	return xml.NewEncoder(w).Encode(g)
}

// degrees to 9 decimals: 0.1 mm.
func degrees(d float64) string { return strconv.FormatFloat(d, 'f', 9, 64) }

// standing drops notes that were taken back, and the taking back.
func standing(notes []logbook.Note) []logbook.Note {
	gone := map[string]bool{}
	for _, n := range notes {
		if n.Kind == logbook.NoteUndo {
			gone[n.Undoes] = true
		}
	}
	var out []logbook.Note
	for _, n := range notes {
		if n.Kind != logbook.NoteUndo && !gone[n.ID] {
			out = append(out, n)
		}
	}
	return out
}

// noted writes the notes that stand as WebVTT, and the marks as a marks file.
func (e *exporter) noted(dir string, notes []logbook.Note) error {
	if len(notes) == 0 {
		return nil
	}
	w, err := e.create(dir + "notes.vtt")
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, notesVTT(notes)); err != nil {
		return err
	}
	var marks [][]string
	for _, n := range notes {
		what := number(n.Movement)
		if n.Collective != "" {
			what = "collective:" + n.Collective
		}
		switch n.Kind {
		case logbook.NoteMark:
			marks = append(marks, []string{what, n.Judge, n.Mark, n.Text})
		case logbook.NoteError:
			marks = append(marks, []string{"error", n.Judge, "", n.Text})
		}
	}
	if len(marks) == 0 {
		return nil
	}
	return e.table(dir+"marks.csv", []string{"movement", "judge", "mark", "remark"}, marks)
}

// notesVTT writes notes as WebVTT cues (W3C WebVTT) of three seconds, in time order.
func notesVTT(notes []logbook.Note) string {
	ordered := append([]logbook.Note(nil), notes...)
	slices.SortStableFunc(ordered, func(a, b logbook.Note) int { return cmp.Compare(a.AtS, b.AtS) })
	var b strings.Builder
	b.WriteString("WEBVTT\n")
	for _, n := range ordered {
		from := max(n.AtS, 0)
		fmt.Fprintf(&b, "\n%s --> %s\n%s\n", vttTime(from), vttTime(from+3), vttText(noteWords(n)))
	}
	return b.String()
}

func noteWords(n logbook.Note) string {
	var parts []string
	if n.Movement > 0 {
		parts = append(parts, fmt.Sprintf("movement %d", n.Movement))
	}
	if n.Collective != "" {
		parts = append(parts, n.Collective)
	}
	parts = append(parts, string(n.Kind))
	for _, s := range []string{n.Mark, n.Text} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ", ")
}

// vttText escapes text for a cue: no markup, no arrow, no blank line.
func vttText(s string) string {
	s = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(s)
	return strings.Join(strings.Fields(s), " ")
}

func vttTime(s float64) string {
	ms := int64(s*1000 + 0.5)
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}
