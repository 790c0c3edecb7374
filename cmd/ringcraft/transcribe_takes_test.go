package main

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"ringcraft/internal/logbook"
)

// TestTranscribeTakeByTake: each take is a file of its own to the transcriber, and what was said is
// put on the ride's clock. A take in which nothing was said costs nothing.
func TestTranscribeTakeByTake(t *testing.T) {
	dir := t.TempDir()
	fillStore(t, dir)
	script := filepath.Join(t.TempDir(), "transcribe.sh")
	text := "#!/bin/sh\nn=$(wc -c < \"$1\" | tr -d ' ')\n[ \"$n\" = 9 ] && exit 0\nprintf 'WEBVTT\\n\\n00:00:03.000 --> 00:00:05.000\\n%s bytes & more\\n' \"$n\"\n"
	if err := os.WriteFile(script, []byte(text), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, settingsName), []byte(fmt.Sprintf(`{"transcriber": ["/bin/sh", %q], "backup_days": 0}`, script)), 0o600); err != nil {
		t.Fatal(err)
	}
	c := serveChild(t, dir, true)
	ctx := context.Background()
	const webm = "\x1aE\xdf\xa3"
	for seq, p := range []struct {
		at   float64
		body string
	}{{2, webm + "first"}, {6, "goes on"}, {61.5, webm + "quiet"}, {130.25, webm + "second one"}} {
		if b, ok := post(ctx, http.DefaultClient, "PUT", fmt.Sprintf("%s/rides/ride/sound/%d?at_s=%g", c.url, seq+1, p.at), "audio/webm", []byte(p.body)); !ok {
			t.Fatalf("piece %d: %s", seq, b)
		}
	}
	resp, err := http.Post(c.url+"/rides/ride/transcribe", "", nil)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	c.logs.wait(t, `"msg":"job ended"`)
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	ride, err := s.db.Ride(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	var words []byte
	if f, ok := ride.File(logbook.RoleCommentary); ok {
		words, err = s.rec.Read(ctx, f.Blob, 1<<20)
	}
	want := "WEBVTT\n\n00:00:05.000 --> 00:00:07.000\n16 bytes &amp; more\n\n00:02:13.250 --> 00:02:15.250\n14 bytes &amp; more\n"
	if err != nil || string(words) != want {
		t.Errorf("commentary %q, want %q (%v)\n%s", words, want, err, c.logs)
	}
}
