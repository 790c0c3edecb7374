package logbook

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/strides"
)

// The ride of the golden digests: invented, and kept as a file so that it does not change with the
// simulator that made it. RINGCRAFT_UPDATE=ride makes it anew.
const goldenSheet = `name: Larch Meadow 3
arena: 20 x 40
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track right
     B      Circle right 15 m
3    A      Down the centre line
     D-B    Leg-yield left
4    HXF    Change the rein in medium trot
     F      Working trot
5    A      Serpentine three loops
6    C      Medium walk
     E      Half turn on the haunches left
     H      Working trot
7    C      Working canter right
     B      Circle right 10 m
8    A      Working trot
     E      Halt, rein back 4 steps. Proceed in working trot
9    A      Down the centre line
     G      Halt, salute
`

// golden is a stage's version and what it made of the golden ride.
type golden struct {
	stage   string
	version int
	digest  string
}

// TestVersionsAreRaised: a stored review is taken for good as long as the versions are the same that made
// it. So whoever changes what a stage makes of a ride must raise its version, and this test says when that
// was forgotten. RINGCRAFT_UPDATE=versions writes the digests down once a version was raised.
func TestVersionsAreRaised(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors round sums of products another way; the digests are of amd64")
	}
	file := filepath.Join("testdata", "versions.golden")
	was := readGolden(t, file)
	if os.Getenv("RINGCRAFT_UPDATE") == "ride" {
		makeGoldenRide(t)
		was = nil // another ride, other digests
	}
	now := goldenOf(t)
	raised, changed := false, false
	for i, n := range now {
		if i >= len(was) || was[i].stage != n.stage {
			changed = true
			continue
		}
		raised = raised || n.version > was[i].version
		if n.version < was[i].version {
			t.Errorf("the version of %s was lowered from %d to %d", n.stage, was[i].version, n.version)
		}
		changed = changed || n != was[i]
		if n.digest != was[i].digest && !raised {
			t.Errorf("%s makes something else of the ride, and neither its version (%d) nor one before it was raised: stored reviews would stay as they were. Raise it, then run with RINGCRAFT_UPDATE=versions", n.stage, n.version)
			return // what comes after it follows from it
		}
	}
	switch {
	case t.Failed() || !changed:
	case os.Getenv("RINGCRAFT_UPDATE") == "versions" || len(was) == 0:
		writeGolden(t, file, now)
	default:
		t.Errorf("versions or results are not those of %s: run with RINGCRAFT_UPDATE=versions", file)
	}
}

// goldenOf runs the golden ride through the stages, in the order in which they follow from each other.
func goldenOf(t *testing.T) []golden {
	t.Helper()
	res, err := ReviewRide(context.Background(), ReviewInput{
		Sheet: Given{Name: "sheet", Data: []byte(goldenSheet)}, Recorder: "rtk", Simulated: true,
		Track: unzipped(t, "ride.csv.gz"), Motion: unzipped(t, "motion.csv.gz"),
		Commentary: &Given{Name: "talk", Data: []byte("WEBVTT\n\n00:20.000 --> 00:23.000\nthe circle is too small and he falls in\n\n01:10.000 --> 01:12.000\nuneven loops\n")},
		Marks:      &Given{Name: "marks", Data: []byte("movement,judge,mark,remark\n1,C,6.5,not straight\n2,C,6.0,circle too small\n3,C,5.5,\n4,C,6.5,\n5,C,6.0,uneven\n6,C,6.0,\n7,C,6.5,\n8,C,5.0,crooked\n9,C,7.0,\n")},
	})
	if err != nil || res.Ridden == nil || res.Ridden.Strides == nil || res.Placed == nil || res.Doc.Total == nil {
		t.Fatalf("the golden ride is not reviewed whole: %v, %v", err, res.Problems)
	}
	return []golden{
		{"rideplan", rideplan.Version, digest(res.Plan)},
		{"match", match.Version, digest([]any{res.Ridden.Samples, res.Ridden.Fixes, res.Ridden.Spans, res.Ridden.Placement, res.Ridden.Noise, res.Ridden.Departures})},
		{"strides", strides.Version, digest(res.Ridden.Strides)},
		{"measure", measure.Version, digest(res.Measures)},
		{"remarks", remarks.Version, digest(res.Placed)},
		{"diagnose", diagnose.Version, digest(res.Diagnosis)},
		{"review", reviewForm, digest(res.Doc)},
	}
}

// digest names a value by all that is in it, numbers to five digits.
func digest(v any) string {
	h := sha256.New()
	spell(h, reflect.ValueOf(v), 0)
	return fmt.Sprintf("%x", h.Sum(nil)[:8])
}

func spell(w io.Writer, v reflect.Value, deep int) {
	if deep > 24 {
		panic("a value within itself")
	}
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		fmt.Fprintf(w, "%.5g ", v.Float())
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			fmt.Fprint(w, "nil ")
			return
		}
		spell(w, v.Elem(), deep+1)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fmt.Fprint(w, v.Type().Field(i).Name, "=")
				spell(w, v.Field(i), deep+1)
			}
		}
	case reflect.Slice, reflect.Array:
		fmt.Fprint(w, v.Len(), ":")
		for i := range v.Len() {
			spell(w, v.Index(i), deep+1)
		}
	case reflect.Map, reflect.Func, reflect.Chan: // none of them is a result
	default:
		fmt.Fprintf(w, "%v ", v)
	}
}

func readGolden(t *testing.T, file string) (out []golden) {
	t.Helper()
	text, err := os.ReadFile(file)
	if os.IsNotExist(err) && os.Getenv("RINGCRAFT_UPDATE") != "" {
		return nil
	}
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		var g golden
		if _, err := fmt.Sscanf(line, "%s %d %s", &g.stage, &g.version, &g.digest); err != nil {
			t.Fatalf("%s: %q: %v", file, line, err)
		}
		out = append(out, g)
	}
	return out
}

func writeGolden(t *testing.T, file string, list []golden) {
	t.Helper()
	var b strings.Builder
	for _, g := range list {
		fmt.Fprintf(&b, "%s %d %s\n", g.stage, g.version, g.digest)
	}
	if err := os.WriteFile(file, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

func unzipped(t *testing.T, name string) *Given {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return &Given{Name: strings.TrimSuffix(name, ".gz"), Data: data}
}

func makeGoldenRide(t *testing.T) {
	t.Helper()
	p := rideplan.CompileText("sheet", goldenSheet, rideplan.Options{})
	tr := sim.Ride(p, sim.Faults{CornerCut: 0.8, AngleSway: 2, Wobble: sim.Wobble{LineSD: 0.15, Speed: 0.03}, Speed: map[gait.Variety]float64{gait.MediumTrot: 0.93},
		Manner: sim.Manner{Own: true, Bends: 0.8, ChangeM: 4}}, 11)
	for name, data := range map[string][]byte{
		"ride.csv.gz":   sim.Record(tr, sim.Sensor{WhiteSD: 0.03, WanderSD: 0.05, WanderTau: 60, RateHz: 5, Heading: true, HeadingSDDeg: 1.5, GapEvery: 40, GapS: 1.5}, 11),
		"motion.csv.gz": sim.RecordMotion(tr, tr.Legs(p, sim.Going{}, 11), sim.MotionSensor{RateHz: 25, Gyro: true}, 11),
	} {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		if _, err := z.Write(data); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join("testdata", name), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
