package track

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// The sentence that NMEA tutorials and receivers' manuals print as their example: 48 degrees 07.038
// minutes north, 11 degrees 31 minutes east, 12:35:19, checksum 47.
func TestSentenceVector(t *testing.T) {
	const published = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
	f, ok := sentence([]byte(published))
	if !ok || len(f) != 15 {
		t.Fatalf("checksum %v, %d fields", ok, len(f))
	}
	lat, err1 := arcMinutes(f[2], 90, f[3], "N", "S")
	lon, err2 := arcMinutes(f[4], 180, f[5], "E", "W")
	tod, ok := timeOfDay(string(f[1]))
	if err1 != nil || err2 != nil || !ok || math.Abs(lat-48.1173) > 1e-9 || math.Abs(lon-11.516666667) > 1e-9 || tod != 12*3600+35*60+19 {
		t.Errorf("%.9f %.9f at %g s", lat, lon, tod)
	}
	for _, bad := range []string{"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*48", "$GPGGA,123519", "$*00", "$GPGGA,1*G7", "GPGGA,1*00"} {
		if _, ok := sentence([]byte(bad)); ok {
			t.Errorf("%q is taken", bad)
		}
	}
}

// A log across midnight: date from RMC, positions from GGA, true headings from HDT, a broken sentence,
// a row without a fix, and text before the sentences.
func TestImportNMEA(t *testing.T) {
	var b strings.Builder
	b.WriteString("# a comment with $GPGGA in it\n")
	for i := range 20 {
		sec := 86390 + i
		hms := fmt.Sprintf("%02d%02d%02d.00", sec/3600%24, sec/60%60, sec%60)
		day := "010526"
		if sec >= 86400 {
			day = "020526"
		}
		b.WriteString(withSum("$GPHDT,90.0,T") + "\r\n")
		fmt.Fprintf(&b, "log> %s\r\n", withSum(fmt.Sprintf("$GPGGA,%s,52%07.4f,N,00500.0000,E,4,10,0.8,3.0,M,45.0,M,1.0,0000", hms, 0.001*float64(i))))
		b.WriteString(withSum("$GPRMC,"+hms+",A,5200.0000,N,00500.0000,E,3.0,90.0,"+day+",,,A") + "\r\n")
	}
	b.WriteString("$GPGGA,000010.00,5200.0000,N,00500.0000,E,4,10*00\r\n")
	b.WriteString(withSum("$GPGGA,000011.00,,,,,0,00,,,M,,M,,") + "\r\n")
	b.WriteString("$GPGGA,000012.00,5200.00")
	tr := importText(t, b.String())
	last := tr.Fixes[len(tr.Fixes)-1]
	if tr.Format != "nmea" || len(tr.Fixes) != 20 || tr.Start != "2026-05-01T23:59:50Z" || last.T != 19 {
		t.Fatalf("%s, %d fixes, start %s, last at %v", tr.Format, len(tr.Fixes), tr.Start, last.T)
	}
	if math.Abs(last.P.Y-19*0.001/60*111267) > 0.01 { // metres in a degree of latitude at 52 north
		t.Errorf("19 thousandths of a minute north are %.3f m", last.P.Y)
	}
	if !last.HasHeading || math.Abs(last.Heading) > 1e-12 {
		t.Errorf("heading east is %v %g", last.HasHeading, last.Heading)
	}
	notes := strings.Join(tr.Notes, "|")
	for _, want := range []string{"2 sentences with a wrong or missing checksum", "1 sentence without a position", "20 positions with fixed carrier phase"} {
		if !strings.Contains(notes, want) {
			t.Errorf("notes %q lack %q", notes, want)
		}
	}
}
