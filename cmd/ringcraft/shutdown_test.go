//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
)

// stuckTranscriber writes settings with a transcriber that says that it began, then waits for a
// file that nobody makes; a second one writes its words at once.
func stuckTranscriber(t *testing.T, dir string, stuck bool) {
	t.Helper()
	script := "printf 'WEBVTT\\n\\n00:01.000 --> 00:02.000\\nmore bend\\n'"
	if stuck {
		pipe := filepath.Join(t.TempDir(), "never")
		if err := syscall.Mkfifo(pipe, 0o600); err != nil {
			t.Fatal(err)
		}
		script = fmt.Sprintf("echo '10 %%' >&2; read line < %s", pipe)
	}
	set, err := json.Marshal(settings{Transcriber: []string{"/bin/sh", "-c", script}})
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, settingsName), set, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// TestCleanShutdownUnderWork stops the server while an upload is half way and a job is running:
// the upload is finished and acknowledged, the job is taken up by the next start and done, the
// store is whole.
func TestCleanShutdownUnderWork(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	fillStore(t, dir)
	stuckTranscriber(t, dir, true)
	c := serveChild(t, dir, true)
	if b, ok := post(ctx, http.DefaultClient, "PUT", c.url+"/rides/ride/sound/1?at_s=0", "audio/webm", []byte("\x1aE\xdf\xa3 first")); !ok {
		t.Fatalf("%s", b)
	}
	if resp, err := http.Post(c.url+"/rides/ride/transcribe", "", nil); err != nil || resp.StatusCode >= 400 {
		t.Fatal(resp, err)
	}
	c.logs.wait(t, `"msg":"job begun"`)

	conn, err := net.Dial("tcp", strings.TrimPrefix(c.url, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	body := strings.Repeat("second piece ", 30000)
	fmt.Fprintf(conn, "PUT /rides/ride/sound/2?at_s=4 HTTP/1.1\r\nHost: %s\r\nContent-Type: audio/webm\r\nContent-Length: %d\r\nExpect: 100-continue\r\n\r\n",
		strings.TrimPrefix(c.url, "http://"), len(body))
	answers := bufio.NewReader(conn)
	if line, err := answers.ReadString('\n'); err != nil || !strings.Contains(line, "100") { // the handler reads now
		t.Fatalf("%q %v", line, err)
	}
	answers.ReadString('\n')
	io.WriteString(conn, body[:len(body)/2])
	c.cmd.Process.Signal(syscall.SIGTERM)
	c.logs.wait(t, `"msg":"stopping"`)
	io.WriteString(conn, body[len(body)/2:])
	resp, err := http.ReadResponse(answers, nil)
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Errorf("the upload under way was cut off: %v %v\n%s", resp, err, c.logs)
	}
	if err := c.cmd.Wait(); err != nil {
		t.Errorf("%v\n%s", err, c.logs)
	}
	if _, err := net.Dial("tcp", strings.TrimPrefix(c.url, "http://")); err == nil {
		t.Error("something still listens")
	}

	stuckTranscriber(t, dir, false)
	c = serveChild(t, dir, true)
	c.logs.wait(t, `"msg":"job ended"`)
	c.cmd.Process.Signal(syscall.SIGTERM)
	if err := c.cmd.Wait(); err != nil {
		t.Errorf("%v\n%s", err, c.logs)
	}
	s, err := openData(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	ride, err := s.db.Ride(ctx, "ride")
	if err != nil {
		t.Fatal(err)
	}
	sound := ride.FilesOf(logbook.RoleAudio)
	words, said := ride.File(logbook.RoleCommentary)
	if len(sound) != 2 || sound[1].Size != int64(len(body)) || !said {
		t.Errorf("after the stop: %d pieces of sound, transcript %v %v", len(sound), said, words)
	}
	if found, err := backup.Check(ctx, s.db, s.rec, s.db.Check); err != nil || backup.Count(found) > 0 {
		t.Errorf("the store's own check: %v %v", err, found)
	}
}
