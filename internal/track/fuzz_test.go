package track

import (
	"bytes"
	"strings"
	"testing"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
	"time"
)

// checkTrack holds of every track that Import returns.
func checkTrack(t testing.TB, tr *Track) {
	t.Helper()
	if len(tr.Fixes) < MinFixes && len(tr.Motion) < MinMotion {
		t.Fatalf("track of %d fixes and %d samples", len(tr.Fixes), len(tr.Motion))
	}
	for i, f := range tr.Fixes {
		if !finite(f.P.X) || !finite(f.P.Y) || !finite(float64(f.T)) || !finite(f.Heading) {
			t.Fatalf("fix %d is not finite: %+v", i, f)
		}
		if i > 0 && f.T < tr.Fixes[i-1].T {
			t.Fatalf("fix %d runs backwards", i)
		}
	}
	for i, m := range tr.Motion {
		if !finite(m.AccX+m.AccY+m.AccZ+m.GyrX+m.GyrY+m.GyrZ) || i > 0 && m.T < tr.Motion[i-1].T {
			t.Fatalf("motion %d: %+v", i, m)
		}
	}
	for _, n := range tr.Notes {
		if n == "" || len(n) > 2000 || strings.ContainsAny(n, "\n\x00") {
			t.Fatalf("note %q", n)
		}
	}
}

// fuzzImport runs one importer on bytes through the front door.
func fuzzImport(f *testing.F, seeds ...string) {
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		tr, err := Import(bytes.NewReader(b), ImportOptions{File: "fuzz"})
		if (tr == nil) == (err == nil) {
			t.Fatalf("track %v and error %v", tr, err)
		}
		if err != nil {
			if s := err.Error(); strings.ContainsAny(s, "\n\x00") || !strings.HasPrefix(s, "fuzz") {
				t.Fatalf("message %q", s)
			}
			return
		}
		checkTrack(t, tr)
		again, err := Import(bytes.NewReader(b), ImportOptions{File: "fuzz"})
		if err != nil || len(again.Fixes) != len(tr.Fixes) || len(again.Motion) != len(tr.Motion) {
			t.Fatalf("second reading differs: %v", err)
		}
		if len(tr.Fixes) >= MinFixes && tr.Fixes[len(tr.Fixes)-1].T > tr.Fixes[0].T {
			if s, err := Smooth(tr, NoiseFor(ClassUnknown, tr), SmoothOptions{}); err == nil {
				for i, st := range s.States {
					if !finite(st.P.X) || !finite(st.PosSD) {
						t.Fatalf("state %d is not finite: %+v", i, st)
					}
				}
			}
		}
	})
}

func FuzzGPX(f *testing.F) {
	fuzzImport(f, gpxText(gpxPoints(12)), gpxText("")+"<", `<gpx><trk><trkseg><trkpt lat="1" lon="2"><time/></trkpt></trkseg></trk></gpx>`)
}

func FuzzNMEA(f *testing.F) {
	line := "$GPGGA,%s,4134.4982,N,09345.0335,W,2,09,1.0,278.0,M,-31.4,M,7.6,0133"
	var b strings.Builder
	for i := range 12 {
		b.WriteString(withSum(strings.Replace(line, "%s", "13282"+string(rune('0'+i%10))+"."+string(rune('0'+i/10)), 1)) + "\r\n")
	}
	fuzzImport(f, b.String(), withSum("$GPHDT,12.5,T")+"\n"+withSum("$GPRMC,132820.60,A,4134.4982,N,09345.0335,W,3.2,92.3,180320,11.5,E,D")+"\n"+b.String())
}

func withSum(s string) string {
	var sum byte
	for _, c := range []byte(s[1:]) {
		sum ^= c
	}
	const hex = "0123456789ABCDEF"
	return s + "*" + string(hex[sum>>4]) + string(hex[sum&15])
}

func FuzzCSV(f *testing.F) {
	pick := func(n int) func(i int) []any { return func(i int) []any { return []any{i, i % n} } }
	fuzzImport(f, strings.Join(arenaRows(15), "\n"),
		rows("time;lat;lon;heading", "2026-05-02T09:30:%02dZ;52,0000%d;5,1;90", 15, pick(10)),
		rows("id;x;y;z;time", "a;%d;2%d;0;2026-05-02 09:30:01", 15, pick(3)),
		rows("", "%d000000,0.1,9.%d,0", 120, pick(9)),
		rows("t,ax,ay,az,gx,gy,gz", "%d,0,1,0,0,%d,0", 120, pick(9)))
}

// fitBytes writes a small FIT activity with positions and an accelerometer message.
func fitBytes(t testing.TB, n int) []byte {
	t.Helper()
	at := time.Date(2026, 5, 2, 9, 30, 0, 0, time.UTC)
	fit := &proto.FIT{Messages: []proto.Message{mesgdef.NewFileId(nil).SetType(typedef.FileActivity).SetTimeCreated(at).ToMesg(nil)}}
	for i := range n {
		now := at.Add(time.Duration(i) * time.Second)
		fit.Messages = append(fit.Messages, mesgdef.NewRecord(nil).SetTimestamp(now).SetPositionLatDegrees(52+float64(i)*1e-5).SetPositionLongDegrees(5).ToMesg(nil))
		off := make([]uint16, 25)
		x, y, z := make([]float32, 25), make([]float32, 25), make([]float32, 25)
		for k := range off {
			off[k], z[k] = uint16(40*k), 1
		}
		fit.Messages = append(fit.Messages,
			mesgdef.NewAccelerometerData(nil).SetTimestamp(now).SetTimestampMs(0).SetSampleTimeOffset(off).SetCalibratedAccelX(x).SetCalibratedAccelY(y).SetCalibratedAccelZ(z).ToMesg(nil),
			mesgdef.NewGyroscopeData(nil).SetTimestamp(now).SetTimestampMs(0).SetSampleTimeOffset(off).SetCalibratedGyroX(z).SetCalibratedGyroY(y).SetCalibratedGyroZ(x).ToMesg(nil))
	}
	var b bytes.Buffer
	if err := encoder.New(&b).Encode(fit); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A file of our own writing, with motion beside the positions.
func TestImportFIT(t *testing.T) {
	tr, err := Import(bytes.NewReader(fitBytes(t, 20)), ImportOptions{File: "x.fit"})
	if err != nil {
		t.Fatal(err)
	}
	checkTrack(t, tr)
	if len(tr.Fixes) != 20 || len(tr.Motion) != 500 || !tr.HasGyro || tr.Start != "2026-05-02T09:30:00Z" {
		t.Fatalf("%d fixes, %d samples, gyro %v, start %s", len(tr.Fixes), len(tr.Motion), tr.HasGyro, tr.Start)
	}
	m := tr.Motion[26]
	if m.T != 1.04 || m.AccZ != standardGravity || m.GyrX < 0.01745 || m.GyrX > 0.01746 {
		t.Errorf("sample %+v", m)
	}
	if y := tr.Fixes[19].P.Y; y < 21.1 || y > 21.2 {
		t.Errorf("19e-5 degrees north are %.3f m", y)
	}
	broken := fitBytes(t, 20)
	broken[len(broken)/2] ^= 0x40
	if tr, err := Import(bytes.NewReader(broken), ImportOptions{File: "x.fit"}); tr != nil || err == nil {
		t.Error("a flipped bit was not noticed")
	}
}

func FuzzFIT(f *testing.F) { fuzzImport(f, string(fitBytes(f, 12))) }
