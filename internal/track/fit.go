package track

import (
	"fmt"
	"io"
	"math"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
)

// fitReader takes the records of a FIT activity as they are decoded; no message is kept.
type fitReader struct {
	r       *reading
	records int // records with or without a position
	gyro    []Motion
	err     error
	last    float64
}

// readFIT reads position records and, where a device wrote them, calibrated accelerometer and
// gyroscope messages (FIT protocol; decoder: github.com/muktihari/fit). The file's checksums must
// be right: a truncated file is refused and says how far it was good.
func readFIT(r io.Reader) (rd *reading, err error) {
	f := &fitReader{r: &reading{format: "fit", frame: FrameGeo, unix: true}}
	defer func() { // the decoder is a guest here: a panic of it must not take the program along
		if p := recover(); p != nil {
			rd, err = nil, f.broken(fmt.Errorf("decoder failed: %v", p))
		}
	}()
	dec := decoder.New(r, decoder.WithMesgListener(f), decoder.WithBroadcastOnly())
	for first := true; first || dec.Next(); first = false {
		if _, err := dec.Decode(); err != nil {
			return nil, f.broken(err)
		}
		if f.err != nil {
			return nil, f.err
		}
	}
	return f.finish()
}

func (f *fitReader) broken(err error) error {
	if e, ok := err.(*Error); ok {
		return e
	}
	e := &Error{Message: "broken or truncated FIT file: " + clip(err.Error()), Allowed: "a whole file with right checksums", Cause: err, Line: f.records}
	if n := len(f.r.rows); n > 0 {
		e.Message += fmt.Sprintf("; %d positions came before", n)
		e.At = f.r.clock(f.last)
	}
	return e
}

// OnMesg takes one decoded message; it implements decoder.MesgListener.
func (f *fitReader) OnMesg(m proto.Message) {
	if f.err != nil {
		return
	}
	switch m.Num {
	case typedef.MesgNumRecord:
		f.record(&m)
	case typedef.MesgNumAccelerometerData:
		f.acceleration(&m)
	case typedef.MesgNumGyroscopeData:
		f.turn(&m)
	}
}

func (f *fitReader) record(m *proto.Message) {
	f.records++
	rec := mesgdef.NewRecord(m)
	lat, lon := rec.PositionLatDegrees(), rec.PositionLongDegrees()
	if math.IsNaN(lat) || math.IsNaN(lon) || rec.Timestamp.IsZero() {
		return
	}
	if math.Abs(lat) > 90 {
		f.err = &Error{Line: f.records, Column: "position_lat", Message: fmt.Sprintf("%g is not a latitude", lat), Allowed: "degrees from -90 to 90"}
		return
	}
	if len(f.r.rows) >= MaxFixes {
		f.err = tooMany("positions", MaxFixes)
		return
	}
	f.last = unixSeconds(rec.Timestamp)
	f.r.rows = append(f.r.rows, row{t: f.last, a: lat, b: lon, line: f.records})
}

// samples gives the times of the samples of one sensor message.
func (f *fitReader) samples(whole float64, ms uint16, offsets []uint16, n int) []float64 {
	if len(offsets) < n || len(f.r.motion)+n > MaxMotion || len(f.gyro)+n > MaxMotion {
		return nil
	}
	t := make([]float64, n)
	for i := range t {
		t[i] = whole + (float64(ms)+float64(offsets[i]))/1000
	}
	return t
}

func (f *fitReader) acceleration(m *proto.Message) {
	a := mesgdef.NewAccelerometerData(m)
	n := min(len(a.CalibratedAccelX), len(a.CalibratedAccelY), len(a.CalibratedAccelZ))
	if a.Timestamp.IsZero() {
		return
	}
	for i, t := range f.samples(unixSeconds(a.Timestamp), a.TimestampMs, a.SampleTimeOffset, n) {
		s := Motion{T: Seconds(t), AccX: float64(a.CalibratedAccelX[i]) * standardGravity,
			AccY: float64(a.CalibratedAccelY[i]) * standardGravity, AccZ: float64(a.CalibratedAccelZ[i]) * standardGravity}
		if finite(s.AccX + s.AccY + s.AccZ) {
			f.r.motion = append(f.r.motion, s)
		}
	}
}

func (f *fitReader) turn(m *proto.Message) {
	g := mesgdef.NewGyroscopeData(m)
	n := min(len(g.CalibratedGyroX), len(g.CalibratedGyroY), len(g.CalibratedGyroZ))
	if g.Timestamp.IsZero() {
		return
	}
	for i, t := range f.samples(unixSeconds(g.Timestamp), g.TimestampMs, g.SampleTimeOffset, n) {
		s := Motion{T: Seconds(t), GyrX: float64(g.CalibratedGyroX[i]) * degree,
			GyrY: float64(g.CalibratedGyroY[i]) * degree, GyrZ: float64(g.CalibratedGyroZ[i]) * degree}
		if finite(s.GyrX + s.GyrY + s.GyrZ) {
			f.gyro = append(f.gyro, s)
		}
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func (f *fitReader) finish() (*reading, error) {
	r := f.r
	if n := f.records - len(r.rows); n > 0 {
		r.leftOut(n, "record", "without a position")
	}
	if len(f.gyro) > 0 && len(r.motion) > 0 {
		f.joinGyro()
	}
	return r, nil
}

// joinGyro puts the nearest turn rate beside each acceleration when both run at the same pace.
func (f *fitReader) joinGyro() {
	j := 0
	for i := range f.r.motion {
		m := &f.r.motion[i]
		for j+1 < len(f.gyro) && math.Abs(float64(f.gyro[j+1].T-m.T)) <= math.Abs(float64(f.gyro[j].T-m.T)) {
			j++
		}
		m.GyrX, m.GyrY, m.GyrZ = f.gyro[j].GyrX, f.gyro[j].GyrY, f.gyro[j].GyrZ
	}
	f.r.hasGyro = true
}
