package backup

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/logbook"
	"ringcraft/internal/track"
)

func export(t *testing.T, y *yard, o ExportOptions) (map[string]string, []string) {
	t.Helper()
	var b bytes.Buffer
	o.Now = day
	warn, err := Export(context.Background(), &b, y.store, y.rec, o)
	must(t, err)
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	must(t, err)
	out := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		must(t, err)
		text, err := io.ReadAll(r)
		must(t, err)
		out[f.Name] = string(text)
	}
	return out, warn
}

const rideDir = "rides/2026-05-02-script-ada-on-bess-ride1/"

func TestExportHoldsEverything(t *testing.T) {
	y := newYard(t)
	files, warn := export(t, y, ExportOptions{})
	if len(warn) != 0 {
		t.Errorf("warnings %v", warn)
	}
	track, _ := y.rec.Read(context.Background(), y.track, 1<<20)
	if files[rideDir+"original-track-1.csv"] != string(track) {
		t.Errorf("the track is not there byte for byte; files: %v", keys(files))
	}
	if files["sheets/willow-s1-v1.txt"] != "name: Willow\n1 A Enter\n" {
		t.Error("the sheet's text is not there")
	}
	var r records
	must(t, json.Unmarshal([]byte(files["records.json"]), &r))
	if len(r.Riders) != 2 || len(r.Rides) != 2 || len(r.Notes) != 4 || r.Riders[0].Name != "<script>Ada" {
		t.Errorf("records: %+v", r)
	}
	rows, err := csv.NewReader(strings.NewReader(files["rides.csv"])).ReadAll()
	if err != nil || len(rows) != 3 {
		t.Errorf("rides.csv: %v %v", err, rows)
	}
	const wantVTT = "WEBVTT\n\n00:00:02.000 --> 00:00:05.000\nmovement 1, remark, late &lt;b&gt; --&gt; &amp; crooked\n\n" +
		"00:00:04.250 --> 00:00:07.250\nmovement 1, mark, 6.5\n"
	if files[rideDir+"notes.vtt"] != wantVTT {
		t.Errorf("notes.vtt:\n%s", files[rideDir+"notes.vtt"])
	}
	if files[rideDir+"marks.csv"] != "movement,judge,mark,remark\n1,C,6.5,\n" {
		t.Errorf("marks.csv: %q", files[rideDir+"marks.csv"])
	}
	for name := range files {
		if strings.Contains(name, "..") || strings.ContainsAny(name, "\\<>:") {
			t.Errorf("name %q", name)
		}
	}
}

func TestExportOfOnePerson(t *testing.T) {
	y := newYard(t)
	files, _ := export(t, y, ExportOptions{RiderID: "r2"})
	all := strings.Join(values(files), "\n")
	if strings.Contains(all, "Ada") || strings.Contains(all, "crooked") || !strings.Contains(all, "Ben") {
		t.Errorf("not only about one person: %v", keys(files))
	}
	_, err := Export(context.Background(), io.Discard, y.store, y.rec, ExportOptions{RiderID: "nobody"})
	if logbook.CodeOf(err) != logbook.NotFound {
		t.Error(err)
	}
}

func TestExportTellsOfDamage(t *testing.T) {
	y := newYard(t)
	must(t, y.rec.Remove(context.Background(), y.track))
	files, warn := export(t, y, ExportOptions{})
	if len(warn) != 1 || !strings.Contains(warn[0], "no such recording") || files["records.json"] == "" {
		t.Errorf("%v", warn)
	}
}

// A recording that came as latitude and longitude in another format comes out as GPX that reads
// back to the same places.
func TestExportGPXReadsBack(t *testing.T) {
	y := newYard(t)
	csvTrack := "time,lat,lon\n"
	for i := range 20 {
		csvTrack += fmt.Sprintf("2026-05-02T10:00:%02dZ,%.6f,%.6f\n", i, 52.1+float64(i)*1e-5, 5.1+float64(i*i)*1e-6)
	}
	ctx := context.Background()
	b, err := y.rec.Put(ctx, strings.NewReader(csvTrack), 1<<20)
	must(t, err)
	must(t, y.store.PutRide(ctx, logbook.Ride{ID: "ride3", CombinationID: "c2", SheetID: "s1", SheetVersion: 1, Date: "2026-05-03",
		Files: []logbook.File{{Role: logbook.RoleTrack, Seq: 1, Blob: b.SHA256, Name: "x.csv", Size: b.Size}}}))
	files, warn := export(t, y, ExportOptions{Geo: geo})
	gpx := files["rides/2026-05-03-ben-on-bess-ride3/track.gpx"]
	if gpx == "" {
		t.Fatalf("no GPX: %v %v", warn, keys(files))
	}
	want, err := track.Import(strings.NewReader(csvTrack), track.ImportOptions{})
	must(t, err)
	got, err := track.Import(strings.NewReader(gpx), track.ImportOptions{})
	must(t, err)
	if len(got.Fixes) != len(want.Fixes) || got.Start != want.Start {
		t.Fatalf("%d fixes from %s, want %d from %s", len(got.Fixes), got.Start, len(want.Fixes), want.Start)
	}
	for i, w := range want.Fixes {
		g := got.Fixes[i]
		if math.Hypot(g.P.X-w.P.X, g.P.Y-w.P.Y) > 0.001 || math.Abs(float64(g.T-w.T)) > 0.001 {
			t.Errorf("fix %d: %+v, want %+v", i, g, w)
		}
	}
}

func geo(r io.Reader) (out []GeoFix, err error) {
	t, err := track.Import(r, track.ImportOptions{})
	if err != nil {
		return nil, err
	}
	plane, ok := t.Plane()
	if !ok {
		return nil, nil
	}
	start, err := time.Parse(time.RFC3339Nano, t.Start)
	for _, f := range t.Fixes {
		q := plane.FromLocal(f.P)
		out = append(out, GeoFix{LatDeg: q.LatDeg, LonDeg: q.LonDeg, At: start.Add(time.Duration(float64(f.T) * 1e9))})
	}
	return out, err
}

func TestCells(t *testing.T) {
	for in, want := range map[string]string{"=1+1": "'=1+1", "@x": "'@x", "-": "'-", "-2.5": "-2.5", "+3": "+3", "Bess": "Bess", "": "", "+cmd|x": "'+cmd|x"} {
		if got := cell(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func FuzzSafeName(f *testing.F) {
	for _, s := range []string{"../../x", "CON", "a/b", "é😀", "", strings.Repeat("ü", 90), "\xff\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := safeName(s)
		if got == "" || len(got) > 64 || strings.ContainsAny(got, "./\\:*?\"<>| \x00") || strings.HasPrefix(got, "-") {
			t.Fatalf("%q: %q", s, got)
		}
	})
}

func keys(m map[string]string) (out []string) {
	for k := range m {
		out = append(out, k)
	}
	return out
}

func values(m map[string]string) (out []string) {
	for _, v := range m {
		out = append(out, v)
	}
	return out
}
