package track

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf16"
)

// circleAt is a 20 m circle at 3 m/s, five places a second.
func circleAt(i int) (t, x, y, dir float64) {
	t = float64(i) / 5
	a := 0.3 * t
	return t, 10 * math.Cos(a), 10 * math.Sin(a), a + math.Pi/2
}

// circleRows writes a circle with a line's format of t, x, y and what more the caller adds.
func circleRows(head string, line func(i int) string) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for i := range 200 {
		b.WriteString(line(i) + "\n")
	}
	return b.String()
}

func plainCircle(sep string) func(i int) string {
	return func(i int) string {
		t, x, y, _ := circleAt(i)
		return fmt.Sprintf("%.2f%s%.3f%s%.3f", t, sep, x, sep, y)
	}
}

func utf16Text(s string, o binary.AppendByteOrder) string {
	b := o.AppendUint16(nil, 0xfeff)
	for _, u := range utf16.Encode([]rune(s)) {
		b = o.AppendUint16(b, u)
	}
	return string(b)
}

// One circle in the forms that programs write tables in: each is read as that circle.
func TestImportForms(t *testing.T) {
	arena := circleRows("t_s,x_m,y_m", plainCircle(","))
	clock := func(layout string) string {
		return circleRows("time,x_m,y_m", func(i int) string {
			s, x, y, _ := circleAt(i)
			return fmt.Sprintf("%s,%.3f,%.3f", unixTime(1777766390+s).Format(layout), x, y) // over midnight
		})
	}
	for name, text := range map[string]string{
		"UTF-16, little end": utf16Text(arena, binary.LittleEndian),
		"UTF-16, big end":    utf16Text(arena, binary.BigEndian),
		"carriage returns":   strings.ReplaceAll(arena, "\n", "\r"),
		"blanks":             circleRows("t_s  x_m  y_m", plainCircle("   ")),
		"lines before":       "Logger 7\nFirmware: 1.2, build 4\n\n" + arena,
		"row of units":       circleRows("time,x,y\ns,m,m", plainCircle(",")),
		"minutes":            circleRows("time [min],x_m,y_m", func(i int) string { s, x, y, _ := circleAt(i); return fmt.Sprintf("%.6f,%.3f,%.3f", s/60, x, y) }),
		"feet": circleRows("time_s,x (ft),y (ft)", func(i int) string {
			s, x, y, _ := circleAt(i)
			return fmt.Sprintf("%.2f,%.4f,%.4f", s, x/0.3048, y/0.3048)
		}),
		"kilometres":           circleRows("time_s,x_km,y_km", func(i int) string { s, x, y, _ := circleAt(i); return fmt.Sprintf("%.2f,%.7f,%.7f", s, x/1000, y/1000) }),
		"time of day":          clock("15:04:05.000"),
		"date and time of day": strings.ReplaceAll(clock("2006-01-02,15:04:05.000"), "time,x_m", "date,time,x_m"),
		"days first":           clock("02.01.2006 15:04:05.000"),
	} {
		tr, err := Import(strings.NewReader(text), ImportOptions{File: "ride"})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		worst := 0.0
		for i, f := range tr.Fixes {
			s, x, y, _ := circleAt(i)
			worst = max(worst, math.Hypot(f.P.X-x, f.P.Y-y), math.Abs(float64(f.T)-s))
		}
		if len(tr.Fixes) != 200 || worst > 0.002 {
			t.Errorf("%s: %d fixes, off by %.4f", name, len(tr.Fixes), worst)
		}
	}
}

// However a file counts its headings, they come out anticlockwise from +x; what fits no way is left out.
func TestHeadingWays(t *testing.T) {
	for name, c := range map[string]struct {
		head string
		of   func(dir float64) float64
		note string
	}{
		"as agreed":          {"t_s,x_m,y_m,heading_deg", func(d float64) float64 { return d / degree }, ""},
		"compass":            {"t_s,x_m,y_m,heading_deg", func(d float64) float64 { return 90 - d/degree }, "as a compass"},
		"radians untold":     {"t_s,x_m,y_m,heading", func(d float64) float64 { return math.Remainder(d, 2*math.Pi) }, "radians anticlockwise"},
		"radians, a compass": {"t_s,x_m,y_m,yaw", func(d float64) float64 { return math.Remainder(math.Pi/2-d, 2*math.Pi) }, "radians clockwise"},
		"degrees untold":     {"t_s,x_m,y_m,heading", func(d float64) float64 { return d / degree }, "degrees anticlockwise"},
		"stuck":              {"t_s,x_m,y_m,heading_deg", func(float64) float64 { return 17 }, "left out"},
	} {
		tr := importText(t, circleRows(c.head, func(i int) string {
			s, x, y, d := circleAt(i)
			return fmt.Sprintf("%.2f,%.3f,%.3f,%.4f", s, x, y, c.of(d))
		}))
		if notes := strings.Join(tr.Notes, "|"); c.note == "" && notes != "" || !strings.Contains(notes, c.note) {
			t.Errorf("%s: notes %q", name, notes)
		}
		for i, f := range tr.Fixes {
			_, _, _, d := circleAt(i)
			if f.HasHeading != (name != "stuck") || f.HasHeading && math.Abs(math.Remainder(f.Heading-d, 2*math.Pi)) > 0.001 {
				t.Errorf("%s: fix %d has the heading %.3f (%v), true is %.3f", name, i, f.Heading, f.HasHeading, d)
				break
			}
		}
	}
}

// A phone's accelerometer whose columns are called x, y and z is motion, not a ride of centimetres.
func TestImportBareAcceleration(t *testing.T) {
	for name, up := range map[string]float64{"with gravity": 9.8, "without": 0} {
		var b strings.Builder
		b.WriteString("time,seconds_elapsed,z,y,x\n")
		for i := range 500 {
			s := float64(i) / 100
			fmt.Fprintf(&b, "%d,%.3f,%.4f,%.4f,%.4f\n", 1777766390000000000+int64(i)*10_000_000, s, up+3*math.Sin(16*s), math.Sin(8*s), math.Cos(8*s))
		}
		tr := importText(t, b.String())
		if len(tr.Fixes) != 0 || len(tr.Motion) != 500 || math.Abs(tr.Motion[0].AccZ-up) > 1e-9 || !strings.Contains(strings.Join(tr.Notes, "|"), "taken as acceleration") {
			t.Errorf("%s: %d fixes, %d samples, notes %q", name, len(tr.Fixes), len(tr.Motion), tr.Notes)
		}
	}
}

// Two tags in one row, under one time: the heading comes from both.
func TestImportTagsInOneRow(t *testing.T) {
	tr := importText(t, circleRows("t_s,poll_x_m,poll_y_m,croup_x_m,croup_y_m", func(i int) string {
		s, x, y, d := circleAt(i)
		return fmt.Sprintf("%.2f,%.3f,%.3f,%.3f,%.3f", s, x, y, x-1.8*math.Cos(d), y-1.8*math.Sin(d))
	}))
	for i, f := range tr.Fixes {
		if _, _, _, d := circleAt(i); !f.HasHeading || math.Abs(math.Remainder(f.Heading-d, 2*math.Pi)) > 0.01 {
			t.Fatalf("fix %d: heading %.3f, true %.3f; notes %q", i, f.Heading, d, tr.Notes)
		}
	}
	if math.Abs(tr.PairDistance-1.8) > 0.01 {
		t.Errorf("the tags are %.2f m apart", tr.PairDistance)
	}
}

// A file of two rides gives the longer and says so; a receiver's 0, 0 is no place.
func TestImportParts(t *testing.T) {
	tr := importText(t, circleRows("time,lat,lon", func(i int) string {
		s := float64(i)
		if i >= 60 {
			s += 86400
		}
		if i == 100 {
			return fmt.Sprintf("%.1f,0,0", s)
		}
		return fmt.Sprintf("%.1f,51.%06d,7.1", s, i*9)
	}))
	if notes := strings.Join(tr.Notes, "|"); len(tr.Fixes) != 139 || !strings.Contains(notes, "2 parts") || !strings.Contains(notes, "139 of 199") || !strings.Contains(notes, "latitude 0") {
		t.Errorf("%d fixes, notes %q", len(tr.Fixes), notes)
	}
}

// What a GPX may hold besides: foreign elements of the same names, small letters in the time, names in
// another encoding than declared, two devices in one file.
func TestImportGPXStrange(t *testing.T) {
	point := func(i int, stamp, more string) string {
		return fmt.Sprintf(`<trkpt lat="52.%05d" lon="5"><time>%s</time>%s</trkpt>`, i, fmt.Sprintf(stamp, i), more)
	}
	points := func(n int, stamp, more string) string {
		var b strings.Builder
		for i := range n {
			b.WriteString(point(i, stamp, more) + "\n")
		}
		return b.String()
	}
	const usual = "2026-05-02T09:30:%02dZ"
	for name, c := range map[string]struct {
		text string
		note string
	}{
		"extensions":  {gpxText(points(20, usual, `<extensions><z:time xmlns:z="urn:z">soon</z:time><time>1999-01-01T00:00:00Z</time><z:trkpt xmlns:z="urn:z" lat="99"/></extensions>`)), ""},
		"comment":     {gpxText(points(20, "<!-- GPS -->"+usual, "")), ""},
		"small z":     {gpxText(points(20, "2026-05-02t09:30:%02dz", "")), ""},
		"wrong bytes": {gpxText(strings.Replace(points(20, usual, ""), "<trkpt", "<name>K\xf6nig</name><trkpt", 1)), ""},
		"UTF-16":      {utf16Text(gpxText(points(20, usual, "")), binary.LittleEndian), ""},
		"two devices": {gpxText(points(20, usual, "") + "</trkseg><trkseg>" + points(12, usual, "")), "run at the same time"},
	} {
		tr, err := Import(strings.NewReader(c.text), ImportOptions{File: "ride"})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(tr.Fixes) != 20 || tr.Start != "2026-05-02T09:30:00Z" || !strings.Contains(strings.Join(tr.Notes, "|"), c.note) {
			t.Errorf("%s: %d fixes from %s, notes %q", name, len(tr.Fixes), tr.Start, tr.Notes)
		}
	}
}

// A heading belongs to the position of its own instant, whichever comes first in the file; a date of
// 1980 is no date; two days' rides are parted by their dates.
func TestImportNMEAStrange(t *testing.T) {
	fix := func(i int, hour string) string {
		return withSum(fmt.Sprintf("$GPGGA,%s00%02d.00,52%02d.0000,N,00500.0000,E,4,08,1.0,10.0,M,47.0,M,,", hour, i, i)) + "\r\n"
	}
	date := func(i int, hour, d string) string {
		return withSum(fmt.Sprintf("$GPRMC,%s00%02d.00,A,52%02d.0000,N,00500.0000,E,5.0,10.0,%s,,,A", hour, i, i, d)) + "\r\n"
	}
	head := func(i int) string { return withSum(fmt.Sprintf("$GPHDT,%d.0,T", 10*i)) + "\r\n" }
	var after, before, old, days strings.Builder
	for i := range 20 {
		after.WriteString(fix(i, "10") + head(i))
		before.WriteString(head(i) + fix(i, "10"))
		old.WriteString(date(i, "10", map[bool]string{true: "060180", false: "020526"}[i < 5]) + fix(i, "10"))
	}
	for i := range 40 {
		if i < 15 {
			days.WriteString(date(i, "10", "020526") + fix(i, "10"))
		} else {
			days.WriteString(date(i, "09", "030526") + fix(i, "09"))
		}
	}
	for name, text := range map[string]string{"after": after.String(), "before": before.String()} {
		tr := importText(t, text)
		for i, f := range tr.Fixes {
			if want := math.Remainder((90-10*float64(i))*degree, 2*math.Pi); !f.HasHeading || math.Abs(math.Remainder(f.Heading-want, 2*math.Pi)) > 1e-9 {
				t.Errorf("heading %s its position: fix %d has %.2f, want %.2f", name, i, f.Heading, want)
				break
			}
		}
	}
	if tr := importText(t, old.String()); tr.Start != "2026-05-02T10:00:00Z" || len(tr.Fixes) != 20 {
		t.Errorf("a date of 1980: start %s, %d fixes", tr.Start, len(tr.Fixes))
	}
	if tr := importText(t, days.String()); tr.Start != "2026-05-03T09:00:15Z" || len(tr.Fixes) != 25 {
		t.Errorf("two days: start %s, %d fixes, notes %q", tr.Start, len(tr.Fixes), tr.Notes)
	}
}

// What is handed in by mistake, or is not to be understood, is named, with what would be right.
func TestImportNames(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"zip":          {"PK\x03\x04" + strings.Repeat("x", 100), "ZIP archive"},
		"gzip":         {"\x1f\x8b\x08" + strings.Repeat("\x00", 100), "gzip"},
		"pdf":          {"%PDF-1.7\n", "a PDF"},
		"json":         {`{"a": 1}`, "JSON"},
		"misspelt":     {"tme,x_m,y_m\n1,2,3\n", `does "tme" mean time?`},
		"odd unit":     {"t_s,x (furlongs),y (furlongs)\n1,2,3\n", `"furlongs" is no unit of length that is known; allowed: cm, feet, ft`},
		"time as x":    {"t_s,x (s),y (s)\n1,2,3\n", `"s" is no unit of length`},
		"no checksums": {strings.Repeat("$GPGGA,100000.00,5200.0000,N,00500.0000,E,1,08,1.0,10.0,M,47.0,M,,\n", 20), "20 NMEA sentences, none with a right checksum"},
	} {
		if tr, err := Import(strings.NewReader(c.text), ImportOptions{File: "ride"}); tr != nil || err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}
