package track

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/muktihari/fit/encoder"
	"github.com/muktihari/fit/profile/mesgdef"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
)

// fitRide writes an activity of n records, a second apart, with the encoder's options.
func fitRide(t *testing.T, start time.Time, n int, sessions int, o ...encoder.Option) []byte {
	t.Helper()
	fit := &proto.FIT{Messages: []proto.Message{mesgdef.NewFileId(nil).SetType(typedef.FileActivity).SetTimeCreated(start).ToMesg(nil)}}
	for i := range n {
		now := start.Add(time.Duration(i) * time.Second)
		fit.Messages = append(fit.Messages, mesgdef.NewRecord(nil).SetTimestamp(now).SetPositionLatDegrees(52+float64(i)*1e-5).SetPositionLongDegrees(5).ToMesg(nil))
		if sessions > 0 && i%(n/sessions) == n/sessions-1 {
			fit.Messages = append(fit.Messages, mesgdef.NewSession(nil).SetTimestamp(now).SetStartTime(start).ToMesg(nil))
		}
	}
	var b bytes.Buffer
	if err := encoder.New(&b, o...).Encode(fit); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Forms of FIT: times in record headers, the other byte order, several sessions, files one behind the other.
func TestImportFITForms(t *testing.T) {
	at := time.Date(2026, 5, 2, 9, 30, 0, 0, time.UTC)
	join := func(a, b []byte) []byte { return append(append([]byte(nil), a...), b...) }
	for name, c := range map[string]struct {
		data  []byte
		fixes int
		end   Seconds
	}{
		"times in record headers": {fitRide(t, at, 100, 1, encoder.WithHeaderOption(encoder.HeaderOptionCompressedTimestamp, 0)), 100, 99},
		"big end first":           {fitRide(t, at, 100, 1, encoder.WithBigEndian()), 100, 99},
		"three sessions":          {fitRide(t, at, 99, 3), 99, 98},
		"two files on end":        {join(fitRide(t, at, 50, 1), fitRide(t, at.Add(60*time.Second), 50, 1)), 100, 109},
		"two days on end":         {join(fitRide(t, at, 50, 1), fitRide(t, at.Add(24*time.Hour), 60, 1)), 60, 59},
	} {
		tr, err := Import(bytes.NewReader(c.data), ImportOptions{File: "x.fit"})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if checkTrack(t, tr); len(tr.Fixes) != c.fixes || tr.Fixes[len(tr.Fixes)-1].T != c.end {
			t.Errorf("%s: %d fixes to %v s, want %d to %v", name, len(tr.Fixes), tr.Fixes[len(tr.Fixes)-1].T, c.fixes, c.end)
		}
	}
	whole := fitRide(t, at, 100, 1)
	for cut := 1; cut < len(whole); cut += 7 { // cut anywhere: refused, never a part of a ride
		if tr, err := Import(bytes.NewReader(whole[:len(whole)-cut]), ImportOptions{File: "x.fit"}); tr != nil || err == nil {
			t.Fatalf("cut by %d bytes: read", cut)
		}
	}
	for i := 14; i < len(whole); i += 11 { // a flipped bit anywhere behind the header
		bad := append([]byte(nil), whole...)
		bad[i] ^= 0x10
		if tr, err := Import(bytes.NewReader(bad), ImportOptions{File: "x.fit"}); tr != nil || err == nil {
			t.Fatalf("bit flipped in byte %d: read", i)
		}
	}
	if _, err := Import(bytes.NewReader(join(whole, []byte("trailing rubbish"))), ImportOptions{File: "x.fit"}); err == nil || !strings.Contains(err.Error(), "FIT") {
		t.Errorf("rubbish behind a file: %v", err)
	}
	back := join(fitRide(t, at.Add(time.Hour/4), 50, 1), fitRide(t, at, 50, 1))
	if _, err := Import(bytes.NewReader(back), ImportOptions{File: "x.fit"}); err == nil || !strings.Contains(err.Error(), "time runs backwards") {
		t.Errorf("the later file first: %v", err)
	}
}
