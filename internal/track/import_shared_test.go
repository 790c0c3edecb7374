package track

import (
	"bytes"
	"os"
	"testing"

	"ringcraft/internal/testkit"
)

func TestLookShared(t *testing.T) {
	if os.Getenv("LOOK") == "" {
		t.Skip("look")
	}
	for _, d := range [][]string{{"fit-samples"}, {"gpx-samples"}, {"nmea-gpsd"}, {"uwb-walk"}, {"mower-plaza1"}, {"pocket-steps"}} {
		dir := testkit.Shared(t, "data", d[0])
		es, _ := os.ReadDir(dir)
		for _, e := range es {
			b, _ := os.ReadFile(dir + "/" + e.Name())
			tr, err := Import(bytes.NewReader(b), ImportOptions{File: e.Name()})
			if err != nil {
				t.Logf("%s: ERR %v", e.Name(), err)
				continue
			}
			n := len(tr.Fixes)
			t.Logf("%s: %s %s fixes %d motion %d start %s notes %q", e.Name(), tr.Format, tr.Frame, n, len(tr.Motion), tr.Start, tr.Notes)
			if n > 0 {
				t.Logf("   first %+v last %+v", tr.Fixes[0], tr.Fixes[n-1])
			}
		}
	}
}
