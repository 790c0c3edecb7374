package sim

import (
	"fmt"
	"strings"
	"time"
)

// RecordGPX writes the ride as GPX 1.1, with a remark that it is simulated.
func RecordGPX(tr Truth, s Sensor, g Ground, seed uint64) ([]byte, error) {
	start, err := time.Parse(time.RFC3339, g.StartTime)
	if err != nil {
		return nil, fmt.Errorf("start time of the ground: %w", err)
	}
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"ringcraft simulator\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n")
	b.WriteString(" <metadata><desc>simulated ride at an invented place, not a recording</desc></metadata>\n <trk><name>simulated ride</name><trkseg>\n")
	for _, f := range s.fixes(tr, seed) {
		q := g.LatLon(f.p)
		at := start.Add(time.Duration(f.t * float64(time.Second)))
		fmt.Fprintf(&b, "  <trkpt lat=\"%.9f\" lon=\"%.9f\"><time>%s</time></trkpt>\n", q.LatDeg, q.LonDeg, at.UTC().Format("2006-01-02T15:04:05.000Z"))
	}
	b.WriteString(" </trkseg></trk>\n</gpx>\n")
	return []byte(b.String()), nil
}
