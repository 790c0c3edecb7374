package recordings

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ringcraft/internal/logbook"
)

var ctx = context.Background()

func open(t testing.TB, dir string) *Store {
	t.Helper()
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func put(t testing.TB, s *Store, data string) logbook.Blob {
	t.Helper()
	b, err := s.Put(ctx, strings.NewReader(data), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func wantCode(t *testing.T, err error, want logbook.Code) {
	t.Helper()
	if got := logbook.CodeOf(err); got != want {
		t.Errorf("error %v has code %q, want %q", err, got, want)
	}
}

// TestKnownName checks the name against the published vector for "abc" (FIPS 180-4 examples).
func TestKnownName(t *testing.T) {
	b := put(t, open(t, t.TempDir()), "abc")
	if b.SHA256 != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" || b.Size != 3 {
		t.Errorf("got %+v", b)
	}
}

func TestRoundTrip(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	for _, data := range []string{"", "x", strings.Repeat("0123456789", 1000)} {
		b := put(t, s, data)
		if again := put(t, s, data); again != b {
			t.Errorf("stored twice: %+v and %+v", b, again)
		}
		got, err := s.Read(ctx, b.SHA256, 1<<20)
		if err != nil || string(got) != data {
			t.Errorf("%d bytes in, %d out (%v)", len(data), len(got), err)
		}
		f, err := s.Open(ctx, b.SHA256)
		if err != nil {
			t.Fatal(err)
		}
		f.Seek(int64(len(data)/2), io.SeekStart)
		half, err := io.ReadAll(f)
		f.Close()
		if err != nil || string(half) != data[len(data)/2:] {
			t.Errorf("after seeking: %q, %v", half, err)
		}
	}
	var names []string
	if err := open(t, dir).Each(ctx, func(b logbook.Blob) error { names = append(names, b.SHA256); return nil }); err != nil {
		t.Fatal(err)
	}
	if len(names) != 3 || names[0] > names[1] || names[1] > names[2] {
		t.Errorf("blobs %v", names)
	}
}

func TestLimit(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	if _, err := s.Put(ctx, strings.NewReader("12345"), 5); err != nil {
		t.Error(err)
	}
	_, err := s.Put(ctx, strings.NewReader("123456"), 5)
	wantCode(t, err, logbook.TooLarge)
	b := put(t, s, "123456")
	_, err = s.Read(ctx, b.SHA256, 5)
	wantCode(t, err, logbook.TooLarge)
	noneUnfinished(t, dir)
}

func noneUnfinished(t *testing.T, dir string) {
	t.Helper()
	left, err := os.ReadDir(filepath.Join(dir, tempDir))
	if err != nil || len(left) > 0 {
		t.Errorf("unfinished: %v %v", left, err)
	}
}

func TestDamageIsNoticed(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	b := put(t, s, "what was stored")
	file := filepath.Join(dir, b.SHA256[:2], b.SHA256[2:])
	if f, err := s.Open(ctx, b.SHA256); err != nil {
		t.Fatal(err)
	} else {
		f.Close()
	}
	if err := os.WriteFile(file, []byte("what was st0red"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(file, statTime(t, file).AddDate(0, 0, 1), statTime(t, file).AddDate(0, 0, 1)); err != nil {
		t.Fatal(err)
	}
	_, err := s.Read(ctx, b.SHA256, 1<<20)
	wantCode(t, err, logbook.Damaged)
	_, err = s.Open(ctx, b.SHA256)
	wantCode(t, err, logbook.Damaged)
	wantCode(t, s.Verify(ctx, b.SHA256), logbook.Damaged)
	put(t, s, "what was stored") // storing it again heals it
	if err := s.Verify(ctx, b.SHA256); err != nil {
		t.Error(err)
	}
	if err := s.Remove(ctx, b.SHA256); err != nil {
		t.Error(err)
	}
	if err := s.Remove(ctx, b.SHA256); err != nil {
		t.Errorf("removed twice: %v", err)
	}
	_, err = s.Open(ctx, b.SHA256)
	wantCode(t, err, logbook.NotFound)
}

func statTime(t *testing.T, file string) (mtime timeOf) {
	st, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	return st.ModTime()
}

func TestNamesThatAreNone(t *testing.T) {
	dir := t.TempDir()
	s := open(t, filepath.Join(dir, "in"))
	if err := os.WriteFile(filepath.Join(dir, "secret"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	upper := strings.ToUpper("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")
	for _, name := range []string{"", "..", "../secret", "../../etc/passwd", "ab", strings.Repeat("g", 64), strings.Repeat("a", 63), upper} {
		_, err := s.Open(ctx, name)
		wantCode(t, err, logbook.NotFound)
		_, err = s.Read(ctx, name, 10)
		wantCode(t, err, logbook.NotFound)
		wantCode(t, s.Remove(ctx, name), logbook.NotFound)
	}
}

func TestUnfinishedFilesAreClearedAway(t *testing.T) {
	dir := t.TempDir()
	open(t, dir)
	if err := os.WriteFile(filepath.Join(dir, tempDir, "1"), []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	old := time.Now().Add(-2 * leftover)
	if err := os.Chtimes(filepath.Join(dir, tempDir, "1"), old, old); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, tempDir, "another-program"), []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	put(t, open(t, dir), "whole")
	left, err := os.ReadDir(filepath.Join(dir, tempDir))
	if err != nil || len(left) != 1 || left[0].Name() != "another-program" {
		t.Errorf("unfinished: %v %v; want the old one gone and another program's kept", left, err)
	}
}

type failing struct{ after int }

func (f *failing) Read(p []byte) (int, error) {
	if f.after <= 0 {
		return 0, io.ErrUnexpectedEOF
	}
	n := min(len(p), f.after)
	f.after -= n
	return n, nil
}

func TestBrokenUploadLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	_, err := s.Put(ctx, &failing{100000}, 1<<20)
	wantCode(t, err, logbook.Invalid)
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := s.Put(stopped, strings.NewReader("x"), 10); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	noneUnfinished(t, dir)
	n := 0
	s.Each(ctx, func(logbook.Blob) error { n++; return nil })
	if n != 0 {
		t.Errorf("%d blobs of failed uploads", n)
	}
}

func TestManyAtOnce(t *testing.T) {
	s := open(t, t.TempDir())
	var wg sync.WaitGroup
	for i := range 16 {
		wg.Go(func() {
			data := bytes.Repeat([]byte(fmt.Sprint(i%4)), 5000)
			b, err := s.Put(ctx, bytes.NewReader(data), 1<<20)
			if err != nil {
				t.Error(err)
				return
			}
			if got, err := s.Read(ctx, b.SHA256, 1<<20); err != nil || !bytes.Equal(got, data) {
				t.Errorf("blob %d: %v", i, err)
			}
		})
	}
	wg.Wait()
}

// TestPowerCut stops after every step of a write and drops what was not synced, then asks that
// the store is either without the blob or has it whole, and has it when Put said so.
func TestPowerCut(t *testing.T) {
	const data = "acknowledged means on disk"
	sum := sha256.Sum256([]byte(data))
	name := hex.EncodeToString(sum[:])
	acknowledged := 0
	for step := range 24 {
		stop, namesFirst := step/2, step%2 == 1
		d := newDisk()
		s, err := On(d)
		if err != nil {
			t.Fatal(err)
		}
		d.left = stop
		_, putErr := s.Put(ctx, strings.NewReader(data), 100)
		d.cut(namesFirst)
		after, err := On(d)
		if err != nil {
			t.Fatal(err)
		}
		got, err := after.Read(ctx, name, 100)
		switch {
		case putErr == nil && (err != nil || string(got) != data):
			t.Errorf("cut after step %d (names first %v): acknowledged and lost (%v)", stop, namesFirst, err)
		case putErr != nil && err != nil && logbook.CodeOf(err) != logbook.NotFound:
			t.Errorf("cut after step %d (names first %v): half a blob: %v", stop, namesFirst, err)
		}
		if putErr == nil {
			acknowledged++
		}
	}
	if acknowledged == 0 || acknowledged == 24 {
		t.Errorf("%d of 24 were acknowledged: the test cuts at the wrong places", acknowledged)
	}
}

// TestFullDiskSaysSo fills the disk at every step of a write: the word is clear, nothing half is
// there, and with room again the same bytes are stored. Needs no rights and no disk of its own.
func TestFullDiskSaysSo(t *testing.T) {
	for _, fault := range []struct {
		err  error
		says string
	}{{syscall.ENOSPC, "the disk is full"}, {syscall.EROFS, "read-only"}} {
		refused := 0
		for stop := range 12 {
			d := newDisk()
			s, err := On(d)
			if err != nil {
				t.Fatal(err)
			}
			d.left, d.fault = stop, fault.err
			b, err := s.Put(ctx, strings.NewReader("a piece of sound"), 100)
			if err != nil {
				refused++
				if logbook.CodeOf(err) != logbook.Busy || !strings.Contains(logbook.MessageOf(err), fault.says) {
					t.Errorf("step %d: %v", stop, err)
				}
			}
			d.left = -1
			if b, err = s.Put(ctx, strings.NewReader("a piece of sound"), 100); err != nil {
				t.Errorf("step %d: work does not go on: %v", stop, err)
			}
			if got, err := s.Read(ctx, b.SHA256, 100); err != nil || string(got) != "a piece of sound" {
				t.Errorf("step %d: %q %v", stop, got, err)
			}
		}
		if refused == 0 {
			t.Error("the disk was never full")
		}
	}
}

var _ fs.FileInfo = info{}
