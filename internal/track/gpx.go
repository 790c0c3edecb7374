package track

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"
)

// gpxReader walks a GPX file as a stream: nothing but the points is kept.
type gpxReader struct {
	dec     *xml.Decoder
	guard   *tokenGuard
	r       *reading
	path    []string // local names of the open elements
	space   string   // namespace of the root
	segment int
	stamp   strings.Builder // text of the time being read
	points  int             // track points seen, with or without a time
	untimed int
	others  int // route points and waypoints
	cur     row
	hasTime bool
}

// readGPX reads the track points of GPX 1.0 and 1.1 (Topografix schemas). Points without a time
// are left out with a note; routes and waypoints are counted and left out. Document types and
// their entities are refused.
func readGPX(r io.Reader) (*reading, error) {
	guard := &tokenGuard{r: asciiOnly{r}}
	g := &gpxReader{dec: xml.NewDecoder(guard), guard: guard, r: &reading{format: "gpx", frame: FrameGeo, unix: true}}
	g.dec.CharsetReader = charset
	if err := g.walk(); err != nil {
		return nil, g.positioned(err)
	}
	return g.finish()
}

func (g *gpxReader) walk() error {
	for {
		g.guard.since = 0
		tok, err := g.dec.Token()
		if err == io.EOF {
			return g.end()
		}
		if err != nil {
			return err
		}
		switch k := tok.(type) {
		case xml.StartElement:
			err = g.open(k)
		case xml.EndElement:
			err = g.close()
			g.path = g.path[:len(g.path)-1]
		case xml.CharData:
			if g.within("time", "trkpt") {
				g.stamp.Write(k)
			}
		case xml.Directive:
			if strings.HasPrefix(strings.ToUpper(strings.TrimSpace(string(k))), "DOCTYPE") {
				err = &Error{Message: "the file declares a document type", Allowed: "GPX without DOCTYPE and entities"}
			}
		}
		if err != nil {
			return err
		}
	}
}

func (g *gpxReader) end() error {
	if len(g.path) != 0 || g.segment == 0 && g.points+g.others == 0 {
		return &Error{Message: "no track in the file", Allowed: "GPX with at least one trkseg"}
	}
	return nil
}

func (g *gpxReader) open(k xml.StartElement) error {
	name := k.Name.Local
	if len(g.path) == 0 {
		g.space = k.Name.Space
	} else if k.Name.Space != g.space {
		name = "" // an extension's own element, whatever it is called
	}
	g.path = append(g.path, name)
	if len(g.path) > MaxDepth {
		return &Error{Message: "elements are nested too deep", Allowed: fmt.Sprintf("at most %d levels", MaxDepth)}
	}
	if len(g.path) == 1 && name != "gpx" {
		return &Error{Message: "the file is XML but its root is " + clip(k.Name.Local) + ", not gpx", Allowed: allowedFormats}
	}
	switch {
	case name == "trkseg":
		g.segment++
	case name == "rtept", name == "wpt":
		g.others++
	case g.within("trkpt", "trkseg"):
		return g.point(k)
	case g.within("time", "trkpt"):
		g.stamp.Reset()
	}
	return nil
}

// within reports whether the innermost open element is name and the one round it is parent.
func (g *gpxReader) within(name, parent string) bool {
	n := len(g.path)
	return n > 1 && g.path[n-1] == name && g.path[n-2] == parent
}

func (g *gpxReader) point(k xml.StartElement) error {
	line, _ := g.dec.InputPos()
	g.points++
	g.cur, g.hasTime = row{line: line, segment: g.segment, a: math.NaN(), b: math.NaN()}, false
	if g.points > MaxFixes {
		return tooMany("positions", MaxFixes)
	}
	for _, a := range k.Attr {
		var err error
		switch a.Name.Local {
		case "lat":
			g.cur.a, err = degrees("lat", a.Value, 90)
		case "lon":
			g.cur.b, err = degrees("lon", a.Value, 180)
		}
		if err != nil {
			return err
		}
	}
	if math.IsNaN(g.cur.a + g.cur.b) {
		return &Error{Message: "a track point lacks lat or lon", Allowed: `trkpt lat="..." lon="..."`}
	}
	return nil
}

func (g *gpxReader) time() error {
	text := strings.TrimSpace(g.stamp.String())
	if text == "" { // as good as no time
		return nil
	}
	t, err := parseStamp(text)
	if err != nil {
		return &Error{Message: err.Error(), Column: "time", Allowed: "RFC 3339, for instance 2026-05-02T09:30:00Z"}
	}
	g.cur.t, g.hasTime = unixSeconds(t), true
	return nil
}

func (g *gpxReader) close() error {
	if g.within("time", "trkpt") {
		return g.time()
	}
	if !g.within("trkpt", "trkseg") {
		return nil
	}
	if !g.hasTime {
		g.untimed++
		return nil
	}
	g.r.rows = append(g.r.rows, g.cur)
	return nil
}

func (g *gpxReader) positioned(err error) error {
	line, _ := g.dec.InputPos()
	var e *Error
	if errors.As(err, &e) {
		if e.Line == 0 {
			e.Line = line
		}
		return e
	}
	var syn *xml.SyntaxError
	if errors.As(err, &syn) {
		e = &Error{Line: syn.Line, Message: "broken XML: " + clip(syn.Msg), Allowed: "a whole, well-formed GPX file", Cause: err}
		if strings.Contains(syn.Msg, "unexpected EOF") {
			e.Message = "broken XML: the file ends too early (" + clip(syn.Msg) + ")"
		}
		if n := len(g.r.rows); n > 0 {
			e.Message += fmt.Sprintf("; %d positions came before", n)
			e.At = g.r.clock(g.r.rows[n-1].t)
		}
		return e
	}
	return &Error{Line: line, Message: "could not be read: " + err.Error(), Cause: err}
}

func (g *gpxReader) finish() (*reading, error) {
	r := g.r
	if g.untimed > 0 {
		r.note("%d of %d track points have no time and were left out", g.untimed, g.points)
	}
	if g.others > 0 {
		r.note("%d route points and waypoints were left out", g.others)
	}
	sortSegments(r)
	apart(r)
	if len(r.rows) > 0 && r.rows[0].segment != r.rows[len(r.rows)-1].segment {
		r.note("the segments of the file were joined into one recording")
	}
	return r, nil
}

// sortSegments orders whole segments by their first time; inside a segment nothing is moved.
func sortSegments(r *reading) {
	var groups [][]row
	for i := 0; i < len(r.rows); {
		j := i
		for j < len(r.rows) && r.rows[j].segment == r.rows[i].segment {
			j++
		}
		groups = append(groups, r.rows[i:j])
		i = j
	}
	before := func(i, j int) bool { return groups[i][0].t < groups[j][0].t }
	if sort.SliceIsSorted(groups, before) {
		return
	}
	sort.SliceStable(groups, before)
	var rows []row
	for _, g := range groups {
		rows = append(rows, g...)
	}
	r.rows = rows
	r.note("the segments of the file were put in the order of their times")
}

// apart keeps, of segments that overlap in time, the one with most points: two devices or two copies of
// one ride in one file. The segments are in the order of their first times.
func apart(r *reading) {
	type group struct{ from, to int }
	var gs []group
	for i, w := range r.rows {
		if i == 0 || w.segment != r.rows[i-1].segment {
			gs = append(gs, group{i, i})
		}
		gs[len(gs)-1].to = i + 1
	}
	var kept []group
	for _, g := range gs {
		if n := len(kept); n > 0 && r.rows[g.from].t < r.rows[kept[n-1].to-1].t {
			if old := kept[n-1]; g.to-g.from <= old.to-old.from {
				continue
			}
			kept = kept[:n-1]
		}
		kept = append(kept, g)
	}
	if len(kept) == len(gs) {
		return
	}
	var rows []row
	for _, g := range kept {
		rows = append(rows, r.rows[g.from:g.to]...)
	}
	r.note("%d of %d segments run at the same time as a longer one and were left out (%d of %d points)", len(gs)-len(kept), len(gs), len(r.rows)-len(rows), len(r.rows))
	r.rows = rows
}

func degrees(name, text string, most float64) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(v) || math.Abs(v) > most {
		return 0, &Error{Column: name, Message: fmt.Sprintf("%q is not a position", clip(text)), Allowed: fmt.Sprintf("degrees from -%g to %g", most, most)}
	}
	return v, nil
}

func tooMany(what string, most int) error {
	return &Error{Message: "too many " + what, Allowed: fmt.Sprintf("at most %d", most)}
}

// tokenGuard stops a single XML token from growing without bound.
type tokenGuard struct {
	r     io.Reader
	since int
}

// Read hands bytes on and counts them since the last token; it implements io.Reader.
func (t *tokenGuard) Read(p []byte) (int, error) {
	if t.since > MaxXMLToken {
		return 0, &Error{Message: "one XML element is too long", Allowed: fmt.Sprintf("at most %d bytes", MaxXMLToken)}
	}
	n, err := t.r.Read(p)
	t.since += n
	return n, err
}

// charset takes encodings that hold ASCII, which the points are written in, for ASCII: what else there
// is in them was turned into letters by asciiOnly, and UTF-16 became UTF-8 before.
func charset(label string, input io.Reader) (io.Reader, error) {
	l := strings.ToLower(label)
	for _, p := range []string{"utf-8", "utf8", "utf-16", "us-ascii", "ascii", "iso-8859", "iso8859", "latin", "windows-", "cp125", "koi8", "macintosh", "gb", "big5", "euc-", "shift"} {
		if strings.HasPrefix(l, p) {
			return input, nil
		}
	}
	return nil, &Error{Message: "encoding " + clip(label) + " is not read", Allowed: "UTF-8, UTF-16, ISO-8859 or Windows encodings"}
}

// asciiOnly turns every byte above ASCII into a letter: names and remarks are not read, only tags and
// numbers, so that no name in another encoding than the file declares can cost a ride.
type asciiOnly struct{ r io.Reader }

// Read hands ASCII on; it implements io.Reader.
func (l asciiOnly) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	for i := range p[:n] {
		if p[i] >= 0x80 {
			p[i] = 'x'
		}
	}
	return n, err
}

var stampLayouts = []string{
	time.RFC3339Nano, "2006-01-02T15:04:05.999999999", "2006-01-02 15:04:05.999999999Z07:00",
	"2006-01-02 15:04:05.999999999", "2006/01/02 15:04:05.999999999", "2006-01-02T15:04:05.999999999Z0700",
}

// parseStamp reads a date with a time of day; without a zone it is taken as UTC.
func parseStamp(s string) (time.Time, error) {
	for _, l := range stampLayouts {
		if t, err := time.Parse(l, strings.ToUpper(s)); err == nil { // RFC 3339 lets T and Z be small
			if y := t.UTC().Year(); y < 1970 || y > 2200 {
				return t, fmt.Errorf("%q lies outside the years 1970 to 2200", clip(s))
			}
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is not a time", clip(s))
}
