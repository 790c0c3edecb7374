//go:build linux

package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
	"ringcraft/internal/testkit"
)

// smallDisk mounts a disk of its own in memory, in the test's own world (see testkit.OwnWorld).
func smallDisk(t *testing.T, megabytes int) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%dm", megabytes)); err != nil {
		testkit.Missing(t, "mount", fmt.Sprintf("a small disk cannot be mounted here: %v", err))
	}
	t.Cleanup(func() { syscall.Unmount(dir, syscall.MNT_DETACH) })
	return dir
}

// try posts one note and returns the status and the answer.
func try(t *testing.T, url string, seq int) (int, string) {
	t.Helper()
	body, _ := json.Marshal(map[string]any{"notes": []logbook.Note{{ID: fmt.Sprint("n", seq), RideID: "ride", Device: "d", Seq: int64(seq),
		Kind: logbook.NoteRemark, Text: strings.Repeat("words ", 300)}}})
	resp, err := http.Post(url+"/rides/ride/notes", "application/json", strings.NewReader(string(body)))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(b)
}

// TestDiskFull fills the disk under a running server: notes are refused with a clear word, none is
// half there, and when there is room again work goes on.
func TestDiskFull(t *testing.T) {
	if !testkit.OwnWorld(t, "mount", false) {
		return
	}
	dir := filepath.Join(smallDisk(t, 24), "store")
	fillStore(t, dir)
	c := serveChild(t, dir, true)
	defer c.kill()
	if code, body := try(t, c.url, 1); code != http.StatusOK {
		t.Fatalf("before: %d %s", code, body)
	}
	ballast := filepath.Join(filepath.Dir(dir), "ballast")
	f, err := os.Create(ballast)
	if err != nil {
		t.Fatal(err)
	}
	io.Copy(f, zeros{}) // until the disk is full
	f.Close()
	acked := map[int]bool{1: true}
	refused := 0
	for seq := 2; seq <= 40; seq++ {
		code, body := try(t, c.url, seq)
		switch {
		case code == http.StatusOK:
			acked[seq] = true // there was a little room left in the store's own files
		case code == http.StatusServiceUnavailable && strings.Contains(body, "disk is full"):
			refused++
		default:
			t.Fatalf("note %d on a full disk: %d %s", seq, code, body)
		}
	}
	if refused == 0 {
		t.Fatal("the disk was not full")
	}
	if body, ok := post(context.Background(), http.DefaultClient, "PUT", c.url+"/rides/ride/sound/1?at_s=0", "audio/webm", make([]byte, 1<<20)); ok || !strings.Contains(string(body), "disk is full") {
		t.Errorf("sound on a full disk: %v %.200s", ok, body)
	}
	if body, ok := post(context.Background(), http.DefaultClient, "GET", c.url+"/health", "", nil); ok || !strings.Contains(string(body), "disk is full") {
		t.Errorf("health on a full disk: %v %s", ok, body)
	}
	os.Remove(ballast)
	for seq := 2; seq <= 45; seq++ {
		if code, body := try(t, c.url, seq); code != http.StatusOK {
			t.Fatalf("note %d with room again: %d %s", seq, code, body)
		}
	}
	c.cmd.Process.Signal(syscall.SIGTERM)
	if err := c.cmd.Wait(); err != nil {
		t.Fatalf("%v %s", err, c.logs)
	}
	s, err := openData(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	notes, _ := s.db.Notes(context.Background(), "ride")
	found, err := backup.Check(context.Background(), s.db, s.rec, s.db.Check)
	if err != nil || backup.Count(found) > 0 || len(notes) != 45 {
		t.Errorf("%d notes, check: %v %v", len(notes), err, found)
	}
	t.Logf("%d of 39 notes were refused while the disk was full; all 45 are in the book after it had room again", refused)
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { return len(p), nil }

// TestReadOnlyDisk: a server on a disk that cannot be written says so and ends with code 3.
func TestReadOnlyDisk(t *testing.T) {
	if !testkit.OwnWorld(t, "mount", false) {
		return
	}
	disk := smallDisk(t, 16)
	dir := filepath.Join(disk, "store")
	fillStore(t, dir)
	if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		testkit.Missing(t, "mount", fmt.Sprintf("the disk cannot be made read-only: %v", err))
	}
	for _, args := range [][]string{{"serve", "--data", dir, "--listen", "127.0.0.1:0"}, {"backup", "--data", dir, filepath.Join(disk, "b.tar")}} {
		out, err := exec.Command("ringcraft", args...).CombinedOutput()
		exit, ok := err.(*exec.ExitError)
		if !ok || exit.ExitCode() != exitIO {
			t.Errorf("%s: %v %s", args[0], err, out)
		}
		if !strings.Contains(string(out), "read-only") || strings.Contains(string(out), "goroutine") {
			t.Errorf("%s says: %s", args[0], out)
		}
	}
	if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT, ""); err != nil {
		t.Fatal(err)
	}
	c := serveChild(t, dir, true)
	defer c.kill()
	if code, body := try(t, c.url, 1); code != http.StatusOK {
		t.Errorf("writable again: %d %s", code, body)
	}
}

// TestOneServerAStore: a second server on the same store, and a restore under a running one, are
// refused in words; backup and check work beside it.
func TestOneServerAStore(t *testing.T) {
	dir := t.TempDir()
	fillStore(t, dir)
	c := serveChild(t, dir, true)
	defer c.kill()
	file := filepath.Join(t.TempDir(), "b.tar")
	for _, step := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"serve", "--data", dir, "--listen", "127.0.0.1:0"}, exitIO, "another Ringcraft is serving"},
		{[]string{"backup", "--data", dir, file}, exitDone, "proven by reading it back"},
		{[]string{"check", "--data", dir}, exitDone, "all is well"},
		{[]string{"restore", "--data", dir, file}, exitIO, "another Ringcraft is serving"},
		{[]string{"restore", "--data", dir + "-new", file}, exitDone, "restored the book"},
		{[]string{"check", "--data", dir + "-new"}, exitDone, "all is well"},
		{[]string{"backup", "--data", dir, file}, exitInput, "exists already"},
		{[]string{"serve", "--data", dir + "-new", "--listen", ":0"}, exitUsage, "--set-password"},
		{[]string{"serve", "--data", dir + "-new", "--listen", ":0", "--tls", "off"}, exitUsage, "needs TLS"},
		{[]string{"check", "--data", dir + "-none"}, exitInput, "there is no store"},
	} {
		out, err := exec.Command("ringcraft", step.args...).CombinedOutput()
		code := 0
		if exit, ok := err.(*exec.ExitError); ok {
			code = exit.ExitCode()
		}
		if code != step.code || !strings.Contains(string(out), step.says) {
			t.Errorf("%v: code %d, want %d: %s", step.args[0], code, step.code, out)
		}
	}
}
