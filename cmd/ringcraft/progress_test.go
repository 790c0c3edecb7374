package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ringcraft/internal/logbook"
)

// TestStageLine: nothing is said of work of a second; after it one line is written over and over, and taken away.
func TestStageLine(t *testing.T) {
	var out bytes.Buffer
	now := time.Unix(0, 0)
	l := &stageLine{w: &out, now: func() time.Time { return now }, begun: now}
	l.tell("reading the recording", 0.05)
	if l.end(); out.Len() > 0 {
		t.Fatalf("%q", out.String())
	}
	now = now.Add(quietFor)
	l.tell("finding the movements", 0.5)
	l.tell("finding the movements", 0.501)
	l.tell("reading", 0.6)
	l.end()
	lines := strings.Split(out.String(), "\r")
	if len(lines) != 5 || lines[1] != " 50 %  finding the movements (Ctrl-C stops)" || len(lines[2]) != len(lines[1]) ||
		!strings.HasPrefix(lines[2], " 60 %  reading (Ctrl-C stops)  ") || strings.TrimSpace(lines[3]) != "" {
		t.Errorf("%q", lines)
	}
}

// TestInterruptedKeepsNothing: a command that is stopped says so in words and leaves no ride and no recording.
func TestInterruptedKeepsNothing(t *testing.T) {
	dir := t.TempDir()
	sheet, track := filepath.Join(dir, "a.sheet"), filepath.Join(dir, "a.csv")
	for name, text := range map[string]string{sheet: "name: Reed Hollow 1\narena: 20 x 40\n1 A Enter in working trot\n X Halt, salute\n", track: "t_s,x_m,y_m\n0,0,0\n1,0,3\n2,0,6\n3,0,9\n4,0,12\n5,0,15\n6,0,18\n7,0,20\n8,0,20\n9,0,20\n10,0,20\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{
		{"ride", "review", "--sheet", sheet, "--track", track, "-o", filepath.Join(dir, "out.html")},
		{"ride", "keep", "--data", filepath.Join(dir, "data"), "--rider", "Ada", "--horse", "Bo", "--sheet", sheet, "--track", track, "--given-by", "Ada"},
	} {
		for at := 1; at < 4; at++ {
			ctx, cancel := context.WithCancel(context.Background())
			said := 0
			ctx = logbook.WithProgress(ctx, func(string, float64) {
				if said++; said == at {
					cancel()
				}
			})
			var out, errw bytes.Buffer
			code := run(ctx, args, &out, &errw)
			cancel()
			if code != exitIO || !strings.Contains(errw.String(), "stopped; ") || out.Len() > 0 {
				t.Errorf("%v, word %d: exit %d, %q %q", args[:2], at, code, out.String(), errw.String())
			}
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "out.html")); err == nil {
		t.Error("a report was written")
	}
	s, err := openData(context.Background(), filepath.Join(dir, "data"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	rides, err := s.db.Rides(context.Background(), logbook.RideFilter{})
	files := 0
	if err == nil {
		err = s.rec.Each(context.Background(), func(logbook.Blob) error { files++; return nil })
	}
	if err != nil || len(rides) > 0 || files > 0 {
		t.Errorf("%v; %d rides, %d files", err, len(rides), files)
	}
}
