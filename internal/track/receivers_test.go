package track

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Real receivers of the shared folder against the classes a trainer would give them. A class's white
// error is what a file may show at most, within the class's doubt (receivers filter before they write,
// so most show far less). How far a standing receiver strays is a floor under place errors of its class:
// half a minute shows only a part of a wander of minutes.
func TestReceiversAgainstClasses(t *testing.T) {
	for _, c := range []struct {
		folder, file, class string
		standing            bool
	}{
		{"nmea-gpsd", "ublox-zed-f9p-nmea.log", ClassSport, true}, // without corrections: no RTK
		{"nmea-gpsd", "quectel-l76k-nmea.log", ClassSport, true},
		{"nmea-gpsd", "rst39.log", ClassSport, false},
		{"nmea-gpsd", "bundg_zeus_9.log", ClassPhone, false},
		{"nmea-gpsd", "haicom-305N.log", ClassPhone, false},
		{"fit-samples", "run-fenix2.fit", ClassPhone, false},
	} {
		tr, err := importShared(t, c.folder, c.file)
		if err != nil {
			t.Error(err)
			continue
		}
		class, _ := ClassByName(c.class)
		white, used := WhiteNoise(tr.Fixes)
		if used < 20 || white > class.WhiteSD*class.Doubt {
			t.Errorf("%s: white %.3f m, the class %s says %.2f m", c.file, white, c.class, class.WhiteSD)
		}
		line := ""
		if c.standing {
			strays := strayed(tr.Fixes)
			line = fmt.Sprintf("; strays by %.3f m per axis within %.0f s", strays, float64(tr.Fixes[len(tr.Fixes)-1].T))
			if strays > math.Hypot(class.WhiteSD, class.WanderSD) {
				t.Errorf("%s: stands and strays by %.2f m per axis, the class %s says %.2f m", c.file, strays, c.class, class.WanderSD)
			}
		}
		t.Logf("%-22s %-5s %4.1f Hz: white %.4f m, declared %.2f m%s", c.file, c.class, tr.RateHz(), white, class.WhiteSD, line)
	}
}

// strayed is the standard deviation per axis about the middle of all fixes.
func strayed(f []Fix) float64 {
	s := 0.0
	for _, v := range offMiddle(f) {
		s += (v.P.X*v.P.X + v.P.Y*v.P.Y) / (2 * float64(len(f)))
	}
	return math.Sqrt(s)
}

// A receiver that says itself that it had no fixed carrier phase is no RTK recorder, whatever it was
// bought as: of the 122 positions of nmea-rtk.log 104 are without, and stray by metres; the last 18, with
// the phase fixed, keep to millimetres.
func TestUnfixedIsNoRTK(t *testing.T) {
	tr, err := importShared(t, "nmea-gpsd", "nmea-rtk.log")
	if err != nil {
		t.Fatal(err)
	}
	rtk, _ := ClassByName(ClassRTK)
	sport, _ := ClassByName(ClassSport)
	if n := NoiseFor(ClassRTK, tr); n.Class != ClassSport || n.WanderSD != sport.WanderSD || !strings.Contains(strings.Join(n.Notes, "|"), "85 % of the positions") {
		t.Errorf("class %s, slow error %.2f m, notes %q", n.Class, n.WanderSD, n.Notes)
	}
	fixed := *tr
	fixed.Fixes, fixed.Unfixed = tr.Fixes[104:], 0
	if s := strayed(fixed.Fixes); s > rtk.WhiteSD {
		t.Errorf("with fixed phase it strays by %.4f m", s)
	} else {
		t.Logf("with fixed phase: %d fixes, %.4f m per axis", len(fixed.Fixes), s)
	}
	if n := NoiseFor(ClassRTK, &fixed); n.Class != ClassRTK {
		t.Errorf("with fixed phase: class %s", n.Class)
	}
}
