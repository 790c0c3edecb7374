package track

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"
)

// sentence checks one NMEA 0183 sentence "$....*hh" and returns its fields: address first, checksum
// cut off. ok is false when the checksum is absent or wrong.
func sentence(b []byte) (fields [][]byte, ok bool) {
	star := bytes.IndexByte(b, '*')
	if len(b) < 7 || b[0] != '$' || star < 6 || len(b) < star+3 {
		return nil, false
	}
	var sum byte
	for _, c := range b[1:star] {
		sum ^= c
	}
	want, err := strconv.ParseUint(string(b[star+1:star+3]), 16, 8)
	if err != nil || byte(want) != sum {
		return nil, false
	}
	return bytes.Split(b[1:star], []byte{','}), true
}

// nmeaFix is a position of one sentence.
type nmeaFix struct {
	row
	tod     float64 // seconds of the UTC day
	day     float64 // Unix seconds of the date last heard, NaN before there was one
	quality int     // of GGA, 0 for other sentences
}

type nmeaReader struct {
	r         *reading
	kinds     map[string][]nmeaFix // by sentence: GGA, RMC, GLL
	day       float64              // Unix seconds of the day's start, NaN before a date came
	bad       int                  // wrong or missing checksums
	noFix     int
	quality   [9]int
	head      float64 // last heading heard, radians from east
	headAt    float64 // its time of day, NaN when it counts for the next position
	hasHead   bool
	headFirst bool    // headings come before the positions of their instant, not after
	lastTod   float64 // time of day of the last position
	sentences int
}

// readNMEA reads GGA, RMC, GLL for positions, RMC and ZDA for the date, HDT, THS and PASHR for
// the heading of the body (NMEA 0183 sentence layouts as documented by the gpsd project). A line
// may hold anything before the '$'. Positions come from one kind of sentence: GGA where there
// are any, else RMC, else GLL.
func readNMEA(r io.Reader) (*reading, error) {
	n, err := scanNMEA(r)
	if err != nil {
		return nil, err
	}
	return n.finish()
}

func scanNMEA(r io.Reader) (*nmeaReader, error) {
	n := &nmeaReader{r: &reading{format: "nmea", frame: FrameGeo}, kinds: map[string][]nmeaFix{}, day: math.NaN(), lastTod: math.NaN()}
	sc := bufio.NewScanner(r)
	sc.Buffer(make([]byte, 4096), MaxLine)
	for line := 1; sc.Scan(); line++ {
		if err := n.line(sc.Bytes(), line); err != nil {
			return nil, err
		}
	}
	if err := sc.Err(); err == bufio.ErrTooLong {
		return nil, &Error{Message: "a line is too long", Allowed: fmt.Sprintf("at most %d bytes", MaxLine)}
	} else if err != nil {
		return nil, err
	}
	return n, nil
}

// line takes every sentence in a line; talkers sometimes share one.
func (n *nmeaReader) line(b []byte, line int) error {
	if len(b) > 0 && b[0] == '#' {
		return nil
	}
	for {
		i := bytes.IndexByte(b, '$')
		if i < 0 {
			return nil
		}
		b = b[i:]
		f, ok := sentence(b)
		if ok {
			n.sentences++
			if err := n.take(f, line); err != nil {
				return err
			}
		} else if plausible(b) {
			n.bad++
		}
		b = b[1:]
	}
}

// plausible reports whether the bytes start like a sentence, so that binary noise is not counted.
func plausible(b []byte) bool {
	if len(b) < 7 {
		return false
	}
	for _, c := range b[1:6] {
		if c < 'A' || c > 'Z' {
			return false
		}
	}
	return b[6] == ','
}

func (n *nmeaReader) take(f [][]byte, line int) error {
	addr := string(f[0])
	if len(addr) < 5 {
		return nil
	}
	switch kind := addr[len(addr)-3:]; {
	case addr == "PASHR":
		n.pashr(f)
	case kind == "HDT" || kind == "THS":
		n.heading(f, 1, n.instant())
	case kind == "ZDA" && len(f) > 4:
		n.date(string(f[2]) + string(f[3]) + string(f[4]))
	case kind == "GGA" && len(f) > 6:
		return n.gga(f, line)
	case kind == "RMC" && len(f) > 9:
		return n.rmc(f, line)
	case kind == "GLL" && len(f) > 6:
		return n.position("GLL", f, 5, 1, string(f[6]) == "A", 0, line)
	}
	return nil
}

func (n *nmeaReader) gga(f [][]byte, line int) error {
	q, err := strconv.Atoi(string(f[6]))
	if err != nil || q < 0 || q > 8 {
		q = 0
	}
	n.quality[q]++
	return n.position("GGA", f, 1, 2, q > 0, q, line)
}

func (n *nmeaReader) rmc(f [][]byte, line int) error {
	if d := string(f[9]); len(d) == 6 {
		n.date(d[:4] + century(d[4:]))
	}
	return n.position("RMC", f, 1, 3, string(f[2]) == "A", 0, line)
}

// century turns the two-digit year of RMC into four digits; receivers did not exist before 1980.
func century(yy string) string {
	if yy >= "80" {
		return "19" + yy
	}
	return "20" + yy
}

func (n *nmeaReader) date(ddmmyyyy string) {
	// a receiver that knows no date yet writes the first day of its clock, 6 January 1980
	if t, err := time.Parse("02012006", ddmmyyyy); err == nil && t.Year() >= 1990 {
		n.day = unixSeconds(t)
	}
}

func (n *nmeaReader) position(kind string, f [][]byte, at, lat int, valid bool, q, line int) error {
	tod, ok := timeOfDay(string(f[at]))
	if len(f) < lat+4 || !valid || !ok || len(f[lat]) == 0 || len(f[lat+2]) == 0 {
		n.noFix++
		return nil
	}
	a, err1 := arcMinutes(f[lat], 90, f[lat+1], "N", "S")
	b, err2 := arcMinutes(f[lat+2], 180, f[lat+3], "E", "W")
	if err1 != nil || err2 != nil {
		return &Error{Line: line, At: string(f[at]), Message: fmt.Sprintf("the position %q, %q cannot be read", clip(string(f[lat])), clip(string(f[lat+2]))), Allowed: "ddmm.mmmm,N|S,dddmm.mmmm,E|W"}
	}
	if len(n.kinds[kind]) >= MaxFixes {
		return tooMany("positions", MaxFixes)
	}
	fix := nmeaFix{row: row{a: a, b: b, line: line}, tod: tod, day: n.day, quality: q}
	if n.hasHead && (math.IsNaN(n.headAt) || math.Abs(n.headAt-tod) < sameInstant) {
		fix.h, fix.hasH = n.head, true
	}
	n.lastTod = tod
	n.kinds[kind] = append(n.kinds[kind], fix)
	return nil
}

// sameInstant is how far in seconds two times of day of one instant may lie apart.
const sameInstant = 0.05

// instant is the time of day of a heading whose sentence has none: that of the position before it, or,
// in a file that begins with a heading, of the next position.
func (n *nmeaReader) instant() float64 {
	if math.IsNaN(n.lastTod) {
		n.headFirst = true
	}
	if n.headFirst {
		return math.NaN()
	}
	return n.lastTod
}

// heading takes a true heading in degrees clockwise from north for the positions of its instant, those
// read already and those to come.
func (n *nmeaReader) heading(f [][]byte, i int, tod float64) {
	if len(f) <= i+1 || string(f[i+1]) == "V" {
		return
	}
	d, err := strconv.ParseFloat(string(f[i]), 64)
	if err != nil || d < 0 || d > 360 {
		return
	}
	n.head, n.headAt, n.hasHead = math.Remainder((90-d)*degree, 2*math.Pi), tod, true
	for _, fixes := range n.kinds {
		if k := len(fixes) - 1; k >= 0 && math.Abs(fixes[k].tod-tod) < sameInstant {
			fixes[k].h, fixes[k].hasH = n.head, true
		}
	}
}

func (n *nmeaReader) pashr(f [][]byte) {
	if len(f) > 3 && string(f[3]) == "T" {
		if tod, ok := timeOfDay(string(f[1])); ok {
			n.heading(f, 2, tod)
		}
	}
}

// timeOfDay reads hhmmss[.sss] as seconds of the day.
func timeOfDay(s string) (float64, bool) {
	if len(s) < 6 {
		return 0, false
	}
	h, e1 := strconv.Atoi(s[:2])
	m, e2 := strconv.Atoi(s[2:4])
	sec, e3 := strconv.ParseFloat(s[4:], 64)
	if e1 != nil || e2 != nil || e3 != nil || h < 0 || h > 23 || m < 0 || m > 59 || !(sec >= 0 && sec < 61) {
		return 0, false
	}
	return float64(h*3600+m*60) + sec, true
}

// arcMinutes reads [d]ddmm.mmmm with its hemisphere as degrees.
func arcMinutes(b []byte, most float64, hemi []byte, plus, minus string) (float64, error) {
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil || !(v >= 0) || v > most*100 {
		return 0, fmt.Errorf("bad angle %q", b)
	}
	d := math.Floor(v / 100)
	min := v - d*100
	if min >= 60 {
		return 0, fmt.Errorf("bad minutes %q", b)
	}
	switch string(hemi) {
	case plus:
		return d + min/60, nil
	case minus:
		return -(d + min/60), nil
	}
	return 0, fmt.Errorf("bad hemisphere %q", hemi)
}

func (n *nmeaReader) finish() (*reading, error) {
	r := n.r
	if n.sentences == 0 {
		return nil, &Error{Message: fmt.Sprintf("%d NMEA sentences, none with a right checksum", n.bad), Allowed: "sentences as the receiver wrote them, each with its checksum, for instance $GPGGA,...*47"}
	}
	var fixes []nmeaFix
	for _, kind := range []string{"GGA", "RMC", "GLL"} {
		if fixes = n.kinds[kind]; len(fixes) > 0 {
			break
		}
	}
	n.clock(fixes)
	r.unfixed = unfixed(fixes)
	r.rows = make([]row, len(fixes))
	for i, f := range fixes {
		r.rows[i] = f.row
	}
	if n.bad > 0 {
		r.leftOut(n.bad, "sentence", "with a wrong or missing checksum")
	}
	if n.noFix > 0 {
		r.leftOut(n.noFix, "sentence", "without a position")
	}
	n.qualityNotes()
	return r, nil
}

// unfixed is the share of positions without fixed carrier phase, 0 where no sentence says.
func unfixed(fixes []nmeaFix) float64 {
	without := 0
	for _, f := range fixes {
		if f.quality != 0 && f.quality != rtkFixed {
			without++
		}
	}
	return float64(without) / math.Max(1, float64(len(fixes)))
}

// rtkFixed is GGA's quality of a position with fixed carrier phase.
const rtkFixed = 4

// clock turns times of day into one running clock across midnight and, where a date was given,
// into Unix seconds. A step back of more than half a day is the next day; so is a later date, which a log
// that was appended to on another day holds.
func (n *nmeaReader) clock(fixes []nmeaFix) {
	base := 0.0
	for _, f := range fixes {
		if !math.IsNaN(f.day) {
			base, n.r.unix = f.day, true
			break
		}
	}
	if !n.r.unix && !math.IsNaN(n.day) && len(fixes) > 0 { // a date came after the last position
		base, n.r.unix = n.day, true
	}
	for i := range fixes {
		if i > 0 && fixes[i].tod < fixes[i-1].tod-43200 {
			base += 86400
		}
		if d := fixes[i].day; d > base { // false where no date was heard yet; a stale one is smaller
			base = d
		}
		fixes[i].t = base + fixes[i].tod
	}
}

func (n *nmeaReader) qualityNotes() {
	for _, q := range []struct {
		code int
		text string
	}{{4, "with fixed carrier phase (RTK)"}, {5, "with floating carrier phase"}, {2, "with differential correction"}, {6, "by dead reckoning"}, {8, "from a simulator"}} {
		if n.quality[q.code] > 0 {
			n.r.note("%d positions %s", n.quality[q.code], q.text)
		}
	}
}
