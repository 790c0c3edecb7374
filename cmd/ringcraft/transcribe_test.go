package main

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
)

// TestTranscribeThroughOwnCommand: sound sent to the real server is handed to the command in
// settings.json, which writes WebVTT; what it wrote becomes the ride's commentary.
func TestTranscribeThroughOwnCommand(t *testing.T) {
	dir := t.TempDir()
	fillStore(t, dir)
	script := filepath.Join(t.TempDir(), "transcribe.sh")
	text := "#!/bin/sh\necho '50 %' >&2\nprintf 'WEBVTT\\n\\n00:00:03.000 --> 00:00:05.000\\nthe circle was %s bytes too large\\n' \"$(wc -c < \"$1\" | tr -d ' ')\"\n"
	if err := os.WriteFile(script, []byte(text), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, settingsName), []byte(fmt.Sprintf(`{"transcriber": ["/bin/sh", %q, "{audio}"], "backup_days": 0}`, script)), 0o600); err != nil {
		t.Fatal(err)
	}
	c := serveChild(t, dir, true)
	ctx := context.Background()
	for seq, body := range []string{"\x1aE\xdf\xa3 first piece", " second piece"} {
		if b, ok := post(ctx, http.DefaultClient, "PUT", fmt.Sprintf("%s/rides/ride/sound/%d?at_s=%d", c.url, seq+1, 4*seq), "audio/webm", []byte(body)); !ok {
			t.Fatalf("piece %d: %s", seq, b)
		}
	}
	resp, err := http.Post(c.url+"/rides/ride/transcribe", "", nil)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var words []byte
	c.logs.wait(t, `"msg":"job ended"`)
	ride, err := s.db.Ride(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	if f, ok := ride.File(logbook.RoleCommentary); ok {
		if words, err = s.rec.Read(ctx, f.Blob, 1<<20); err != nil {
			t.Fatal(err)
		}
	}
	if !strings.Contains(string(words), "the circle was 29 bytes too large") {
		t.Errorf("commentary %q\n%s", words, c.logs)
	}
}

// TestSettings says what is wrong with a settings file.
func TestSettings(t *testing.T) {
	dir := t.TempDir()
	for text, want := range map[string]string{
		`{"backup_days": 3}`:  "",
		`{"backup_days": -1}`: "0 (off) to 3650",
		`{"backupdays": 3}`:   "allowed are transcriber",
		`nonsense`:            "cannot be read",
		`{} {}`:               "something follows",
	} {
		if err := os.WriteFile(filepath.Join(dir, settingsName), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := readSettings(dir)
		if (want == "") != (err == nil) || (err != nil && !strings.Contains(err.Error(), want)) {
			t.Errorf("%s: %v", text, err)
		}
	}
}
