package track

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"ringcraft/internal/testkit"
)

func importShared(t testing.TB, elem ...string) (*Track, error) {
	t.Helper()
	b := testkit.ReadShared(t, append([]string{"data"}, elem...)...)
	return Import(bytes.NewReader(b), ImportOptions{File: elem[len(elem)-1]})
}

func pathLength(f []Fix) float64 {
	l := 0.0
	for i := 1; i < len(f); i++ {
		l += math.Hypot(f[i].P.X-f[i-1].P.X, f[i].P.Y-f[i-1].P.Y)
	}
	return l
}

// Counts of the folder's README (made there with an XML parser): track points, those with a time.
func TestSharedGPX(t *testing.T) {
	for name, c := range map[string]struct{ points, timed int }{
		"cerknicko-jezero": {296, 296}, "cerknicko-without-times": {296, 5}, "korita-zbevnica": {871, 513},
		"gpx1.0_with_all_fields": {1, 1}, "gpx1.1_with_all_fields": {1, 1}, "track-with-empty-segment": {9, 9},
		"track-with-less-sec-time": {2, 2}, "track_with_speed": {3, 3}, "route": {0, 0}, "unicode": {0, 0}, "gpx_with_garmin_extension": {0, 0},
	} {
		b := testkit.ReadShared(t, "data", "gpx-samples", name+".gpx")
		rd, err := readGPX(bytes.NewReader(b))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		untimed := 0
		for _, n := range rd.notes {
			if f := strings.Fields(n); strings.Contains(n, "have no time") {
				untimed = int(mustNumber(t, f[0]))
			}
		}
		if len(rd.rows) != c.timed || len(rd.rows)+untimed != c.points {
			t.Errorf("%s: %d timed, %d untimed points, want %d of %d", name, len(rd.rows), untimed, c.timed, c.points)
		}
		tr, err := importShared(t, "gpx-samples", name+".gpx")
		whole := c.timed
		if name == "korita-zbevnica" { // it rests for more than half an hour: the longest part is read
			whole = 281
		}
		if ok := c.timed >= MinFixes; ok != (err == nil) || ok && len(tr.Fixes) != whole {
			t.Errorf("%s: import says %v", name, err)
		}
	}
	// every file of the folder is in the table above
	files, _ := filepath.Glob(filepath.Join(testkit.Shared(t, "data", "gpx-samples"), "*.gpx"))
	if len(files) != 11 {
		t.Errorf("%d GPX files, the table has 11", len(files))
	}
}

func mustNumber(t *testing.T, s string) float64 {
	var v float64
	if err := json.Unmarshal([]byte(s), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// README: 2809 records at 1 Hz with position, 8.98 km.
func TestSharedFIT(t *testing.T) {
	tr, err := importShared(t, "fit-samples", "run-fenix2.fit")
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Fixes) != 2809 || tr.Format != "fit" || tr.Start != "2015-08-15T14:45:08Z" {
		t.Errorf("%d fixes, start %s", len(tr.Fixes), tr.Start)
	}
	if l := pathLength(tr.Fixes); math.Abs(l-8980) > 60 {
		t.Errorf("path %.0f m, the watch says 8980", l)
	}
	if tr, err := importShared(t, "fit-samples", "run-fenix2-truncated.fit"); tr != nil || err == nil ||
		!strings.Contains(err.Error(), "truncated") || !strings.Contains(err.Error(), "1391 positions came before (at 2015-08-15T15:08:33") {
		t.Errorf("truncated file: %v", err)
	}
}

// tpv is one report of the reference decoder.
type tpv struct {
	Class    string
	Time     string
	Lat, Lon *float64
}

func readReports(t *testing.T, name string) []tpv {
	var out []tpv
	sc := bufio.NewScanner(bytes.NewReader(testkit.ReadShared(t, "data", "nmea-gpsd", name)))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var r tpv
		if b := sc.Bytes(); len(b) > 0 && b[0] == '{' && json.Unmarshal(b, &r) == nil && r.Class == "TPV" && r.Lat != nil {
			out = append(out, r)
		}
	}
	return out
}

// Real logs against the reference decoder's output (gpsd, *.chk). The reference reports once or twice
// a cycle and may leave out a sentence, so the check runs both ways: every position it reports is one
// that we read, in order, to the 9 decimals it prints (0.1 mm); and at least the stated number of our
// fixes stand in it with its time. Counts of fixes as the README has them.
func TestSharedNMEA(t *testing.T) {
	for name, want := range map[string]struct{ fixes, shared int }{"nmea-rtk": {122, 121}, "bundg_zeus_9": {138, 90}, "haicom-305N": {68, 67},
		"quectel-l76k-nmea": {150, 149}, "rst39": {40, 39}, "ublox-zed-f9p-nmea": {29, 28}, "garmin-geko201": {18, 1}, "nmea-fuzzy-cases": {14, 13}} {
		b := testkit.ReadShared(t, "data", "nmea-gpsd", name+".log")
		n, err := scanNMEA(bytes.NewReader(b))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		tr, err := importShared(t, "nmea-gpsd", name+".log")
		if err != nil || len(tr.Fixes) != want.fixes {
			t.Errorf("%s: not %d fixes (%v)", name, want.fixes, err)
			continue
		}
		reports := readReports(t, name+".log.chk")
		var all []nmeaFix
		for _, k := range []string{"GGA", "RMC", "GLL"} {
			all = append(all, n.kinds[k]...)
		}
		sort.SliceStable(all, func(i, j int) bool { return all[i].line < all[j].line })
		for i, j := 0, 0; i < len(reports); i++ {
			// a report may repeat the position of the one before
			for j < len(all) && !sameTo9(all[j].row, reports[i]) {
				j++
			}
			if j == len(all) {
				t.Errorf("%s: the reference's report %d (%.9f, %.9f) was not read", name, i, *reports[i].Lat, *reports[i].Lon)
				break
			}
		}
		shared := 0
		for j, f := 0, n.kinds["GGA"]; len(f) > 0; f = f[1:] {
			k := j
			for k < len(reports) && !sameTo9(f[0].row, reports[k]) {
				k++
			}
			if k < len(reports) {
				shared++
				j = k
			}
		}
		t.Logf("%s: %d fixes, %d of them reported by the reference, all %d of its reports read", name, len(tr.Fixes), shared, len(reports))
		if shared < want.shared {
			t.Errorf("%s: only %d fixes stand in the reference, want %d", name, shared, want.shared)
		}
	}
	// binary receiver protocol without one NMEA sentence: named as unknown, nothing read
	if _, err := importShared(t, "nmea-gpsd", "bu303-moving.log"); err == nil || !strings.Contains(err.Error(), "not known") {
		t.Errorf("bu303-moving: %v", err)
	}
}

// The clock: reports of the reference that carry a time and stand at one of our fixes have that time.
func TestSharedNMEAClock(t *testing.T) {
	for _, name := range []string{"nmea-rtk", "quectel-l76k-nmea", "ublox-zed-f9p-nmea"} {
		rd, err := readNMEA(bytes.NewReader(testkit.ReadShared(t, "data", "nmea-gpsd", name+".log")))
		if err != nil || !rd.unix {
			t.Fatalf("%s: %v", name, err)
		}
		at := map[string]row{}
		for _, w := range rd.rows {
			at[rd.clock(w.t)] = w
		}
		seen := 0
		for _, r := range readReports(t, name+".log.chk") {
			if w, ok := at[r.Time]; ok && sameTo9(w, r) {
				seen++
			}
		}
		if seen < len(rd.rows)*3/4 {
			t.Errorf("%s: %d of %d fixes have the reference's time", name, seen, len(rd.rows))
		}
	}
}

func sameTo9(w row, r tpv) bool {
	return math.Abs(*r.Lat-w.a) < 6e-10 && math.Abs(*r.Lon-w.b) < 6e-10
}

// README: 827 rows of one tag over 187 s; the camera file 1312 rows of 8 ids.
func TestSharedUWB(t *testing.T) {
	tr, err := importShared(t, "uwb-walk", "raw_uwbtags.csv")
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Fixes) != 827 || tr.Frame != FrameLocal || math.Abs(float64(tr.Fixes[826].T)-187) > 1 {
		t.Errorf("%d fixes over %.1f s", len(tr.Fixes), float64(tr.Fixes[826].T))
	}
	if !strings.Contains(strings.Join(tr.Notes, "|"), "millimetres") {
		t.Errorf("notes %q", tr.Notes)
	}
	cam, err := importShared(t, "uwb-walk", "raw_xovis.csv")
	if err != nil || len(cam.Fixes) != 544 || cam.Start != "2019-05-16T08:24:00.213Z" {
		t.Fatalf("camera: %v", err)
	}
	if n := strings.Join(cam.Notes, "|"); !strings.Contains(n, "centimetres") || !strings.Contains(n, "milliseconds") || strings.Count(n, "279") < 8 {
		t.Errorf("camera notes %q", cam.Notes)
	}
	total := 0
	for _, id := range []string{"27966", "27984", "27974", "27979", "27981", "27976", "27978", "27977"} {
		b := testkit.ReadShared(t, "data", "uwb-walk", "raw_xovis.csv")
		c := &csvCount{}
		c.read(t, b, id)
		total += c.rows
	}
	if total != 1312 {
		t.Errorf("camera: %d rows over all ids, want 1312", total)
	}
	if both, err := importShared(t, "uwb-walk", "XOVIS_UWB.csv"); err != nil || len(both.Fixes) < 400 {
		t.Errorf("joined file: %v", err)
	}
}

type csvCount struct{ rows int }

func (c *csvCount) read(t *testing.T, b []byte, id string) {
	rd, err := readCSV(bytes.NewReader(b), ImportOptions{Tag: id})
	if err != nil {
		t.Fatal(err)
	}
	c.rows = len(rd.rows)
}

// README: 9658 poses, 1933 s, 5 Hz, 1859.0 m, heading agrees with course over ground (median -0.02 rad).
func TestSharedMower(t *testing.T) {
	tr := readTruth(t)
	n := len(tr.Fixes)
	if n != 9658 || math.Abs(float64(tr.Fixes[n-1].T)-1933) > 1 || math.Abs(tr.RateHz()-5) > 0.05 || math.Abs(pathLength(tr.Fixes)-1859) > 0.5 {
		t.Errorf("%d poses over %.0f s at %.2f Hz, %.1f m", n, float64(tr.Fixes[n-1].T), tr.RateHz(), pathLength(tr.Fixes))
	}
	var off []float64
	for i := 5; i < n; i++ {
		d := Local{tr.Fixes[i].P.X - tr.Fixes[i-5].P.X, tr.Fixes[i].P.Y - tr.Fixes[i-5].P.Y}
		if math.Hypot(d.X, d.Y) > 0.5 {
			off = append(off, math.Remainder(tr.Fixes[i-2].Heading-math.Atan2(d.Y, d.X), 2*math.Pi))
		}
	}
	if m := median(off); math.Abs(m) > 0.04 {
		t.Errorf("heading is %.3f rad off the course", m)
	}
	if dead, err := importShared(t, "mower-plaza1", "dead_reckoned.csv"); err != nil || len(dead.Fixes) != 9658 {
		t.Errorf("dead reckoning: %v", err)
	}
	for _, name := range []string{"ranges.csv", "beacons.csv"} {
		if _, err := importShared(t, "mower-plaza1", name); err == nil || !strings.Contains(err.Error(), "has no time") {
			t.Errorf("%s holds no track: %v", name, err)
		}
	}
}

// README: 19311 rows over 192 s and 19392 over 193 s, about 100 Hz, no header.
func TestSharedPocket(t *testing.T) {
	for name, rows := range map[string]int{"user1_frontpocket_1506422223341.csv": 19311, "user2_backpocket_1506422483834.csv": 19392} {
		tr, err := importShared(t, "pocket-steps", name)
		if err != nil {
			t.Fatal(err)
		}
		dropped := 0
		for _, n := range tr.Notes {
			if strings.Contains(n, "with the time of the one before") {
				dropped = int(mustNumber(t, strings.Fields(n)[0]))
			}
		}
		if got := len(tr.Motion) + dropped; got != rows || len(tr.Fixes) != 0 || math.Abs(float64(tr.Motion[len(tr.Motion)-1].T)-192.5) > 1.5 {
			t.Errorf("%s: %d samples over %.1f s", name, got, float64(tr.Motion[len(tr.Motion)-1].T))
		}
	}
}

// Any file of the shared folder may be handed in by mistake: an answer, never a panic, and never a
// track with numbers that are not finite or not in order.
func TestSharedEveryFile(t *testing.T) {
	root := testkit.Shared(t, "data")
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if i, _ := d.Info(); i.Size() > 4<<20 {
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		tr, err := Import(bytes.NewReader(b), ImportOptions{File: d.Name()})
		if err == nil {
			checkTrack(t, tr)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
