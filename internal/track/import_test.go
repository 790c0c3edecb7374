package track

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
)

func importText(t *testing.T, text string) *Track {
	t.Helper()
	tr, err := Import(strings.NewReader(text), ImportOptions{File: "ride"})
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// rows repeats a line pattern with the row number as argument.
func rows(header, format string, n int, args func(i int) []any) string {
	var b strings.Builder
	if header != "" {
		b.WriteString(header + "\n")
	}
	for i := range n {
		fmt.Fprintf(&b, format+"\n", args(i)...)
	}
	return b.String()
}

func arenaRows(n int) []string {
	out := []string{"t_s,x_m,y_m"}
	for i := range n {
		out = append(out, fmt.Sprintf("%.1f,%.2f,%.2f", 5+float64(i)/10, 0.5, float64(i)*0.3))
	}
	return out
}

func TestImportArena(t *testing.T) {
	tr := importText(t, strings.Join(arenaRows(20), "\n"))
	if tr.Format != "csv" || tr.Frame != FrameArena || len(tr.Fixes) != 20 || tr.Start != "" || len(tr.Notes) != 0 {
		t.Fatalf("%+v", tr)
	}
	f := tr.Fixes[3]
	if f.T != 5.3 || f.P != (Local{0.5, 0.9}) || f.HasHeading || f.Line != 5 {
		t.Errorf("fourth fix %+v", f)
	}
}

func TestImportHeading(t *testing.T) {
	deg := importText(t, rows("t_s,x_m,y_m,heading_deg", "%d,1,%d,%d", 12, func(i int) []any { return []any{i, i, 90 + 30*i} }))
	if f := deg.Fixes[4]; !f.HasHeading || math.Abs(f.Heading-(-150*degree)) > 1e-12 {
		t.Errorf("210 degrees read as %g rad", f.Heading)
	}
	rad := importText(t, rows("time_s,x_m,y_m,heading_rad", "%d,1,%d,%.2f", 12, func(i int) []any { return []any{i, i, 0.5} }))
	if rad.Frame != FrameLocal || rad.Fixes[0].Heading != 0.5 {
		t.Errorf("frame %s heading %g", rad.Frame, rad.Fixes[0].Heading)
	}
	// a compass heading of 90 degrees is east: 0 in the frame
	geo := importText(t, rows("time,lat,lon,heading", "%d,52.%05d,5,90", 12, func(i int) []any { return []any{i, i} }))
	if geo.Frame != FrameGeo || math.Abs(geo.Fixes[0].Heading) > 1e-12 {
		t.Errorf("frame %s heading %g", geo.Frame, geo.Fixes[0].Heading)
	}
}

func TestImportGeoCSV(t *testing.T) {
	for name, c := range map[string]struct{ head, row string }{
		"rfc 3339":      {"time,lat,lon", "2026-05-02T09:30:%02dZ,52.%05d,5.1"},
		"zone":          {"timestamp,latitude,longitude", "2026-05-02T11:30:%02d+02:00,52.%05d,5.1"},
		"quoted":        {`"Time","Latitude","Longitude"`, `"2026-05-02 09:30:%02d","52.%05d","5.1"`},
		"semicolon":     {"time;lat;lon", "2026-05-02T09:30:%02dZ;52,%05d;5,1"},
		"tab and BOM":   {"\ufefftime\tlat\tlon", "2026-05-02T09:30:%02dZ\t52.%05d\t5.1"},
		"other columns": {"name,time,lat,lon,hr", "x,2026-05-02T09:30:%02dZ,52.%05d,5.1,99"},
	} {
		tr := importText(t, rows(c.head, c.row, 15, func(i int) []any { return []any{i, i} }))
		if tr.Frame != FrameGeo || tr.Start != "2026-05-02T09:30:00Z" || tr.Fixes[14].T != 14 {
			t.Errorf("%s: %s start %s last %v", name, tr.Frame, tr.Start, tr.Fixes[14])
		}
		if d := tr.Fixes[14].P.Y; math.Abs(d-14*1.1126) > 0.01 { // 1e-5 degrees of latitude at 52 north
			t.Errorf("%s: 14 steps north are %.3f m", name, d)
		}
		if tr.Origin != (LatLon{52, 5.1}) {
			t.Errorf("%s: origin %v", name, tr.Origin)
		}
	}
}

func TestImportClocks(t *testing.T) {
	for name, c := range map[string]struct {
		head  string
		step  int
		first int64
		start string
		note  string
	}{
		"unix ms":     {"time", 100, 1557995040000, "2019-05-16T08:24:00Z", "milliseconds"},
		"unix s":      {"time", 1, 1557995040, "2019-05-16T08:24:00Z", ""},
		"ms named":    {"time_ms", 100, 0, "", ""},
		"ns":          {"time", 10_000_000, 1245907240064, "", "nanoseconds"},
		"us in words": {"Time (us)", 100_000, 0, "", ""},
	} {
		tr := importText(t, rows(c.head+",x_m,y_m", "%d,%d,2", 20, func(i int) []any { return []any{c.first + int64(i*c.step), i} }))
		if tr.Start != c.start {
			t.Errorf("%s: start %q, want %q", name, tr.Start, c.start)
		}
		want := map[string]Seconds{"unix ms": 0.1, "unix s": 1, "ms named": 0.1, "ns": 0.01, "us in words": 0.1}[name]
		if got := tr.Fixes[1].T; math.Abs(float64(got-want)) > 1e-9 {
			t.Errorf("%s: step %v, want %v", name, got, want)
		}
		if c.note != "" && !strings.Contains(strings.Join(tr.Notes, "\n"), c.note) {
			t.Errorf("%s: notes %q lack %q", name, tr.Notes, c.note)
		}
	}
}

// A file without a header: its columns have no name, and what is said of them calls none by one.
func TestColumnsWithoutAName(t *testing.T) {
	text := func(times func(i int) int) string {
		return rows("", "%d,0,0,%.3f", 200, func(i int) []any { return []any{times(i), 9.8 + 0.1*float64(i%3)} })
	}
	tr := importText(t, text(func(i int) int { return 1557995040000 + 10*i }))
	if said := strings.Join(tr.Notes, "\n"); !strings.Contains(said, "the first column, taken as time, gives no unit and was taken as milliseconds") || strings.Contains(said, `"1"`) {
		t.Errorf("notes %q", tr.Notes)
	}
	if got := tr.Motion[1].T - tr.Motion[0].T; math.Abs(float64(got)-0.01) > 1e-9 {
		t.Errorf("step %v, want 10 ms", got)
	}
}

func TestMedianLeavesItsList(t *testing.T) {
	list := []float64{3, 1, 2, 0}
	if v := median(list); v != 1.5 || list[0] != 3 || list[3] != 0 {
		t.Errorf("median %v leaves %v", v, list)
	}
}

func TestImportMotion(t *testing.T) {
	acc := func(head, f string, g float64) *Track {
		return importText(t, rows(head, f, 200, func(i int) []any { return []any{float64(i) / 100, g * (1 + 0.1*float64(i%3))} }))
	}
	for name, tr := range map[string]*Track{
		"g by size":  acc("t,ax,ay,az", "%.2f,0,0,%.3f", 1),
		"m/s2":       acc("time_s,acc_x,acc_y,acc_z", "%.2f,0,0,%.3f", 9.80665),
		"g by name":  acc("t,ax_g,ay_g,az_g", "%.2f,0,0,%.3f", 1),
		"in words":   acc(`"Time (s)","Acceleration x (m/s^2)","Acceleration y (m/s^2)","Acceleration z (m/s^2)"`, "%.2f,0,0,%.3f", 9.80665),
		"thousandth": acc("t,ax,ay,az", "%.2f,0,0,%.0f", 1000),
	} {
		if len(tr.Motion) != 200 || tr.HasGyro || math.Abs(tr.Motion[0].AccZ-9.80665) > 0.01 || len(tr.Fixes) != 0 {
			t.Errorf("%s: %d samples, gyro %v, first %+v", name, len(tr.Motion), tr.HasGyro, tr.Motion[0])
		}
	}
	gyr := importText(t, rows("t_s,ax,ay,az,gx_dps,gy_dps,gz_dps", "%.2f,0,0,9.8,90,0,0", 200, func(i int) []any { return []any{float64(i) / 100} }))
	if !gyr.HasGyro || math.Abs(gyr.Motion[5].GyrX-math.Pi/2) > 1e-9 {
		t.Errorf("gyro %v %+v", gyr.HasGyro, gyr.Motion[5])
	}
	both := importText(t, rows("t_s,x_m,y_m,ax,ay,az", "%.2f,%s,0,0,9.8", 200, func(i int) []any {
		p := ","
		if i%10 == 0 {
			p = fmt.Sprintf("%d,2", i)
		}
		return []any{float64(i) / 100, p}
	}))
	if len(both.Fixes) != 20 || len(both.Motion) != 200 || both.Frame != FrameArena {
		t.Errorf("position and motion in one file: %d fixes, %d samples, %s", len(both.Fixes), len(both.Motion), both.Frame)
	}
	held := importText(t, rows("t_s,lat,lon,ax,ay,az", "%.2f,52.%05d,5,0,0,9.8", 200, func(i int) []any { return []any{float64(i) / 100, i / 10} }))
	if len(held.Fixes) != 20 {
		t.Errorf("held positions: %d fixes, want 20; %q", len(held.Fixes), held.Notes)
	}
}

func TestImportTags(t *testing.T) {
	text := rows("id;x;y;z;time", "%s;%d;%d;0;2026-05-02 09:30:%02d.%03d", 40, func(i int) []any {
		return []any{[]string{"a1", "a1", "b2"}[i%3], 2000 + 300*i, 900, i / 4, i % 4 * 250}
	})
	tr := importText(t, text)
	if tr.Frame != FrameLocal || len(tr.Fixes) != 27 || !strings.Contains(strings.Join(tr.Notes, "|"), "left out: b2") {
		t.Errorf("%s %d fixes, notes %q", tr.Frame, len(tr.Fixes), tr.Notes)
	}
	if x := tr.Fixes[1].P.X; math.Abs(x-2.3) > 1e-9 {
		t.Errorf("1200 units a second are not millimetres: x %g; %q", x, tr.Notes)
	}
	other, err := Import(strings.NewReader(text), ImportOptions{File: "ride", Tag: "b2"})
	if err != nil || len(other.Fixes) != 13 {
		t.Errorf("tag b2: %v", err)
	}
	if _, err := Import(strings.NewReader(text), ImportOptions{File: "ride", Tag: "c"}); err == nil || !strings.Contains(err.Error(), "allowed: a1, b2") {
		t.Errorf("unknown tag: %v", err)
	}
}

// Two tags 1.2 m apart on one horse on a circle: the body's heading comes from them, whichever is read.
func TestImportTwoTagsGiveHeading(t *testing.T) {
	var b strings.Builder
	b.WriteString("id,t_s,x_m,y_m\n")
	for i := range 200 {
		at := float64(i) / 10
		for k, id := range []string{"poll", "croup"} {
			a := (3*(at+0.03*float64(k)) + 1.2*float64(1-k)) / 10
			fmt.Fprintf(&b, "%s,%.2f,%.4f,%.4f\n", id, at+0.03*float64(k), 10*math.Cos(a), 10*math.Sin(a))
		}
	}
	for _, tag := range []string{"poll", "croup"} {
		tr, err := Import(strings.NewReader(b.String()), ImportOptions{File: "ride", Tag: tag})
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, f := range tr.Fixes {
			if !f.HasHeading {
				continue
			}
			n++
			want := math.Atan2(f.P.Y, f.P.X) + math.Pi/2 // along the circle
			if d := math.Abs(math.Remainder(f.Heading-want, 2*math.Pi)); d > 0.12 {
				t.Fatalf("%s at %.1f s: heading %.2f, the circle goes %.2f", tag, float64(f.T), f.Heading, want)
			}
		}
		if n < 190 || !strings.Contains(strings.Join(tr.Notes, "|"), "keeps 1.2 m") {
			t.Errorf("%s: %d headings, notes %q", tag, n, tr.Notes)
		}
	}
}

func gpxText(points string) string {
	return `<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>` + points + `</trkseg></trk></gpx>`
}

func gpxPoints(n int) string {
	return rows("", `<trkpt lat="52.%05d" lon="5"><ele>3</ele><time>2026-05-02T09:30:%02d.5Z</time></trkpt>`, n, func(i int) []any { return []any{i, i} })
}

func TestImportGPX(t *testing.T) {
	tr := importText(t, gpxText(gpxPoints(12)))
	if tr.Format != "gpx" || len(tr.Fixes) != 12 || tr.Start != "2026-05-02T09:30:00.5Z" || tr.Fixes[11].T != 11 {
		t.Errorf("%+v", tr)
	}
	// the later segment stands first
	two := gpxText(strings.Replace(gpxPoints(12), "09:30", "09:45", -1) + "</trkseg><trkseg>" + gpxPoints(12))
	tr = importText(t, two)
	if len(tr.Fixes) != 24 || tr.Fixes[0].T != 0 || tr.Fixes[12].T != 900 || len(tr.Notes) != 2 {
		t.Errorf("segments: %d fixes, notes %q", len(tr.Fixes), tr.Notes)
	}
}

// bad inputs: what each must say. "line" is the line the message must name, 0 for none.
func TestImportRefuses(t *testing.T) {
	edit := func(line int, text string) string {
		l := arenaRows(30)
		l[line-1] = text
		return strings.Join(l, "\n")
	}
	deep := gpxText("") + strings.Repeat("<a>", 100)
	laughs := `<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>` + gpxText(gpxPoints(12))
	for name, c := range map[string]struct {
		text string
		line int
		says []string
	}{
		"empty":           {"", 0, []string{"empty", "allowed: GPX"}},
		"blank":           {" \n\n", 0, []string{"empty"}},
		"binary":          {"\x00\x01\x02\x03\x04\x05\x06\x07\x08\x09\x0a\x0b\x0c\x0d", 0, []string{"not known"}},
		"prose":           {"dear diary\ntoday we rode", 1, []string{"no time with positions", "allowed: t_s,x_m,y_m"}},
		"NaN":             {edit(7, "5.5,NaN,1"), 7, []string{"column x_m", `"NaN" is not a number`, "t_s 5.5", "finite"}},
		"Inf":             {edit(7, "5.5,1,+Inf"), 7, []string{"column y_m", "not a number"}},
		"word":            {edit(9, "5.7,left,1"), 9, []string{"column x_m", `"left"`}},
		"empty cell":      {edit(9, "5.7,,1"), 9, []string{"column x_m", "empty"}},
		"huge":            {edit(9, "5.7,1e300,1"), 9, []string{"out of range"}},
		"no time":         {edit(9, ",1,1"), 9, []string{"column t_s", "time is empty"}},
		"bad time":        {edit(9, "noon,1,1"), 9, []string{"column t_s", `"noon" is not a time`}},
		"backwards":       {edit(9, "5.1,1,1"), 9, []string{"backwards by 0.500 s", "5.100 s", "later than the one before (5.600 s)"}},
		"short row":       {edit(9, "5.7,1"), 9, []string{"2 columns", "3 columns as in the header"}},
		"long row":        {edit(9, "5.7,1,1,1"), 9, []string{"4 columns"}},
		"too few":         {strings.Join(arenaRows(5), "\n"), 0, []string{"only 5 timed positions", "at least 10"}},
		"header only":     {"t_s,x_m,y_m\n", 0, []string{"only 0"}},
		"no header":       {"1,2,3\n2,3,4\n", 1, []string{"not column names"}},
		"no header wide":  {rows("", "%d,100,200,300", 200, func(i int) []any { return []any{i} }), 1, []string{"do not look like an accelerometer"}},
		"long line":       {"t_s,x_m,y_m\n" + strings.Repeat("9", MaxLine+10), 2, []string{"too long"}},
		"weeks":           {edit(31, "9999999,1,1"), 31, []string{"span 116 days", "7 days"}},
		"lat":             {rows("time,lat,lon", "%d,92,5", 20, func(i int) []any { return []any{i} }), 2, []string{"column lat", "-90 to 90"}},
		"gpx other root":  {"<kml></kml>", 1, []string{"root is kml"}},
		"gpx cut":         {gpxText(gpxPoints(12))[:900], 10, []string{"broken XML", "well-formed"}},
		"gpx no track":    {`<gpx version="1.1"></gpx>`, 1, []string{"no track"}},
		"gpx bad time":    {gpxText(gpxPoints(12) + `<trkpt lat="1" lon="1"><time>soon</time></trkpt>`), 13, []string{"column time", `"soon"`}},
		"gpx bad lat":     {gpxText(gpxPoints(12) + `<trkpt lat="north" lon="1"/>`), 13, []string{"column lat"}},
		"gpx no lat":      {gpxText(gpxPoints(12) + `<trkpt lon="1"/>`), 13, []string{"lacks lat or lon"}},
		"gpx NaN":         {gpxText(gpxPoints(12) + `<trkpt lat="NaN" lon="1"/>`), 13, []string{"column lat"}},
		"gpx backwards":   {gpxText(gpxPoints(12) + `<trkpt lat="52" lon="5"><time>2026-05-02T09:30:05Z</time></trkpt>`), 13, []string{"backwards by 6.500 s", "09:30:05"}},
		"gpx no times":    {gpxText(strings.Repeat(`<trkpt lat="52" lon="5"/>`, 20)), 0, []string{"20 of 20 track points have no time"}},
		"gpx deep":        {strings.Replace(deep, "</gpx>", "", 1), 1, []string{"nested too deep", "64"}},
		"gpx entities":    {laughs, 1, []string{"document type", "without DOCTYPE"}},
		"gpx entity":      {gpxText(`<name>&b;</name>` + gpxPoints(12)), 1, []string{"broken XML"}},
		"gpx long tag":    {gpxText(`<name a="` + strings.Repeat("x", MaxXMLToken+9000) + `"/>`), 1, []string{"too long"}},
		"gpx encoding":    {`<?xml version="1.0" encoding="utf-7"?>` + gpxText(gpxPoints(12)), 1, []string{"utf-7"}},
		"nmea no fix":     {"$GPGGA,095257.809,2712.6404,S,15303.1201,E,0,00,00.0,4.0,M,42.2,M,,*7B\n", 0, []string{"only 0", "without a position"}},
		"fit header only": {"\x0e\x10\x00\x00\x10\x00\x00\x00.FIT\x00\x00", 0, []string{"FIT"}},
	} {
		t.Run(name, func(t *testing.T) {
			tr, err := Import(strings.NewReader(c.text), ImportOptions{File: "ride.dat"})
			if tr != nil || err == nil {
				t.Fatalf("not refused: %+v", tr)
			}
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("%T is not *Error", err)
			}
			if e.Line != c.line && !(name == "fit header only") {
				t.Errorf("line %d, want %d: %v", e.Line, c.line, err)
			}
			if !strings.HasPrefix(err.Error(), "ride.dat") {
				t.Errorf("no file name: %v", err)
			}
			for _, s := range c.says {
				if !strings.Contains(err.Error(), s) {
					t.Errorf("%q does not say %q", err, s)
				}
			}
			if len(err.Error()) > 400 || strings.ContainsAny(err.Error(), "\n\x00") {
				t.Errorf("message is not one readable line: %q", err)
			}
		})
	}
}

// What recorders really do and no one need be told off for: a repeated instant, a row without a fix.
func TestImportForgives(t *testing.T) {
	l := arenaRows(20)
	l = append(l[:8], append([]string{l[7]}, l[8:]...)...)
	tr := importText(t, strings.Join(l, "\r\n")+"\r\n\r\n")
	if len(tr.Fixes) != 20 || len(tr.Notes) != 1 || !strings.Contains(tr.Notes[0], "1 position with the time of the one before was left out") {
		t.Errorf("%d fixes, %q", len(tr.Fixes), tr.Notes)
	}
	tr = importText(t, "# exported\ntime,lat,lon\n0,,\n"+rows("", "%d,52.%05d,5", 12, func(i int) []any { return []any{i + 1, i} }))
	if len(tr.Fixes) != 12 || !strings.Contains(tr.Notes[0], "1 row without a position") {
		t.Errorf("%d fixes, %q", len(tr.Fixes), tr.Notes)
	}
}

// A reader that fails half way gives an error, not half a track; the cause is kept.
func TestImportReaderFails(t *testing.T) {
	boom := errors.New("disk gone")
	for name, text := range map[string]string{"csv": strings.Join(arenaRows(2000), "\n"), "gpx": gpxText(gpxPoints(60))} {
		r := io.MultiReader(strings.NewReader(text[:len(text)/2]), iotest.ErrReader(boom))
		tr, err := Import(r, ImportOptions{File: "x"})
		if tr != nil || err == nil || !strings.Contains(err.Error(), "disk gone") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

type endless struct {
	line []byte
	at   int
}

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.line[e.at:])
	e.at = (e.at + n) % len(e.line)
	return n, nil
}

// Files without end are stopped by the limits: of bytes (here 4 MiB of the 256) and of positions.
func TestImportLimits(t *testing.T) {
	for name, c := range map[string]struct {
		head, line, says string
		bytes            int64
	}{
		"comments":  {"t_s,x_m,y_m\n1,2,3\n", "#" + strings.Repeat("c", 8000) + "\n", "too large; allowed: at most 4 MiB", 4 << 20},
		"XML":       {`<gpx><trk>`, "<name>n</name>", "too large", 4 << 20},
		"sentences": {withSum("$GPGGA,1,,,,,0,,,,,,,,") + "\n", "$GPXXX,1*00\n", "too large", 4 << 20},
		"points":    {"t_s,x_m,y_m\n", "1,2,3\n", "too many positions", MaxBytes},
	} {
		if name == "points" && testing.Short() {
			continue
		}
		tr, err := importUpTo(io.MultiReader(strings.NewReader(c.head), &endless{line: []byte(c.line)}), ImportOptions{File: "x"}, c.bytes)
		if tr != nil || err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The name of a file never matters: the same bytes read the same under any name.
func TestImportIgnoresNames(t *testing.T) {
	for _, n := range []string{"a.gpx", "a.fit", "a.txt", ""} {
		tr, err := Import(bytes.NewReader([]byte(strings.Join(arenaRows(20), "\n"))), ImportOptions{File: n})
		if err != nil || tr.Format != "csv" {
			t.Errorf("%q: %v", n, err)
		}
	}
}
