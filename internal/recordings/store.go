package recordings

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"ringcraft/internal/logbook"
)

// tempDir holds files being written; what is old in it at Open is left over from a crash.
const tempDir = "unfinished"

// Store keeps blobs in one folder. It may be used from many goroutines.
type Store struct {
	files  Files
	close  func() error
	temp   atomic.Int64
	opened int64 // when, in nanoseconds: part of the names of unfinished files

	mu       sync.Mutex
	verified map[string]seen // blobs whose bytes were checked since the program began
}

// seen is how a file looked when it was checked; a change of either means checking again.
type seen struct {
	size  int64
	mtime time.Time
}

var _ logbook.Recordings = (*Store)(nil)

// Open opens the folder, making it when there is none.
func Open(dir string) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, trouble(err, "the recordings folder cannot be made")
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, trouble(err, "the recordings folder cannot be opened")
	}
	s, err := On(rooted{root})
	if err != nil {
		root.Close()
		return nil, err
	}
	s.close = root.Close
	return s, nil
}

// On opens a store on any Files.
func On(files Files) (*Store, error) {
	s := &Store{files: files, opened: time.Now().UnixNano(), verified: map[string]seen{}, close: func() error { return nil }}
	if err := files.Mkdir(tempDir); err != nil {
		return nil, trouble(err, "the recordings folder cannot be written")
	}
	left, err := files.List(tempDir)
	if err != nil {
		return nil, trouble(err, "the recordings folder cannot be read")
	}
	for _, e := range left {
		if young(e) {
			continue // another program may be writing it: a server beside a command
		}
		if err := files.Remove(path.Join(tempDir, e.Name())); err != nil {
			return nil, trouble(err, "an unfinished recording cannot be cleared away")
		}
	}
	return s, nil
}

// leftover is the age at which an unfinished file cannot be under way any more: uploads end
// after minutes.
const leftover = time.Hour

func young(e fs.DirEntry) bool {
	st, err := e.Info()
	return err == nil && time.Since(st.ModTime()) < leftover
}

// Close lets go of the folder.
func (s *Store) Close() error { return s.close() }

// place is where a blob lies: two levels, so that no folder grows without bound. A name that is
// not a SHA-256 has no place.
func place(sum string) (dir, file string, err error) {
	b, err := hex.DecodeString(sum)
	if err != nil || len(b) != sha256.Size || strings.ToLower(sum) != sum {
		return "", "", logbook.Errorf(logbook.NotFound, "there is no recording of that name")
	}
	return sum[:2], path.Join(sum[:2], sum[2:]), nil
}

// Put stores what r gives, at most limit bytes.
func (s *Store) Put(ctx context.Context, r io.Reader, limit int64) (logbook.Blob, error) {
	temp := path.Join(tempDir, fmt.Sprintf("%d-%d-%d", os.Getpid(), s.opened, s.temp.Add(1)))
	w, err := s.files.Create(temp)
	if err != nil {
		return logbook.Blob{}, trouble(err, "the recording cannot be stored")
	}
	blob, err := fillFile(ctx, w, r, limit)
	if err == nil {
		err = s.settle(temp, blob.SHA256)
	}
	if err != nil {
		s.files.Remove(temp) // best effort: the next Open clears it away otherwise
		return logbook.Blob{}, err
	}
	return blob, nil
}

// fillFile copies, hashes, syncs and closes.
func fillFile(ctx context.Context, w Writable, r io.Reader, limit int64) (logbook.Blob, error) {
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(w, sum), io.LimitReader(withContext{ctx, r}, limit+1))
	if err == nil {
		err = w.Sync()
	}
	if e := w.Close(); err == nil {
		err = e
	}
	switch {
	case err == nil && n > limit:
		return logbook.Blob{}, logbook.Errorf(logbook.TooLarge, "the file is larger than %s; nothing was stored", bytesInWords(limit))
	case err != nil && ctx.Err() != nil:
		return logbook.Blob{}, ctx.Err()
	case err != nil:
		return logbook.Blob{}, trouble(err, "the recording cannot be stored")
	}
	return logbook.Blob{SHA256: hex.EncodeToString(sum.Sum(nil)), Size: n}, nil
}

// settle gives a finished file its final name, durably. A blob that is there already and whole
// is kept; one that was damaged is healed by the new bytes.
func (s *Store) settle(temp, sum string) error {
	dir, file, err := place(sum)
	if err != nil {
		return err
	}
	steps := []func() error{
		func() error { return s.files.Mkdir(dir) },
		func() error { return s.files.Rename(temp, file) },
		func() error { return s.files.SyncDir(dir) },
		func() error { return s.files.SyncDir(".") },
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return trouble(err, "the recording cannot be stored")
		}
	}
	return nil
}

// Open returns verified bytes. The check reads the file once a program run; it is done again
// when the file's size or time of change is another.
func (s *Store) Open(ctx context.Context, sum string) (io.ReadSeekCloser, error) {
	f, st, err := s.open(sum)
	if err != nil {
		return nil, err
	}
	if err := s.verify(ctx, f, st, sum); err != nil {
		f.Close()
		return nil, err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		f.Close()
		return nil, trouble(err, "the recording cannot be read")
	}
	return f, nil
}

func (s *Store) open(sum string) (Readable, fs.FileInfo, error) {
	_, file, err := place(sum)
	if err != nil {
		return nil, nil, err
	}
	f, err := s.files.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, logbook.Errorf(logbook.NotFound, "the recording %s is not in its folder", sum[:12])
	}
	if err != nil {
		return nil, nil, trouble(err, "the recording cannot be read")
	}
	st, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, nil, trouble(err, "the recording cannot be read")
	}
	return f, st, nil
}

func (s *Store) verify(ctx context.Context, f io.Reader, st fs.FileInfo, sum string) error {
	now := seen{st.Size(), st.ModTime()}
	s.mu.Lock()
	was, known := s.verified[sum]
	s.mu.Unlock()
	if known && was == now {
		return nil
	}
	h := sha256.New()
	if _, err := io.Copy(h, withContext{ctx, f}); err != nil {
		return trouble(err, "the recording cannot be read")
	}
	if err := matches(h, sum); err != nil {
		return err
	}
	s.mu.Lock()
	s.verified[sum] = now
	s.mu.Unlock()
	return nil
}

func matches(h hash.Hash, sum string) error {
	if hex.EncodeToString(h.Sum(nil)) != sum {
		return logbook.Errorf(logbook.Damaged, "the recording %s is damaged: its bytes are not the ones stored; restore it from a backup", sum[:12])
	}
	return nil
}

// Read returns all bytes, checked as they are read.
func (s *Store) Read(ctx context.Context, sum string, limit int64) ([]byte, error) {
	f, st, err := s.open(sum)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if st.Size() > limit {
		return nil, logbook.Errorf(logbook.TooLarge, "the recording is larger than %s", bytesInWords(limit))
	}
	b, err := io.ReadAll(io.LimitReader(withContext{ctx, f}, limit+1))
	if err != nil {
		return nil, trouble(err, "the recording cannot be read")
	}
	h := sha256.New()
	h.Write(b)
	return b, matches(h, sum)
}

// Verify reads a blob whole and checks it, whatever was checked before.
func (s *Store) Verify(ctx context.Context, sum string) error {
	s.mu.Lock()
	delete(s.verified, sum)
	s.mu.Unlock()
	f, err := s.Open(ctx, sum)
	if err != nil {
		return err
	}
	return f.Close()
}

// Remove deletes a blob; one that is not there is no error.
func (s *Store) Remove(_ context.Context, sum string) error {
	dir, file, err := place(sum)
	if err != nil {
		return err
	}
	if err := s.files.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return trouble(err, "the recording cannot be removed")
	}
	if _, err := s.files.Stat(dir); err != nil {
		return nil
	}
	return trouble(s.files.SyncDir(dir), "the recording cannot be removed")
}

// Each calls f for every blob, by name.
func (s *Store) Each(ctx context.Context, f func(logbook.Blob) error) error {
	dirs, err := s.files.List(".")
	if err != nil {
		return trouble(err, "the recordings folder cannot be read")
	}
	for _, d := range dirs {
		if !d.IsDir() || len(d.Name()) != 2 {
			continue
		}
		entries, err := s.files.List(d.Name())
		if err != nil {
			return trouble(err, "the recordings folder cannot be read")
		}
		for _, e := range entries {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := visit(d.Name(), e, f); err != nil {
				return err
			}
		}
	}
	return nil
}

func visit(dir string, e fs.DirEntry, f func(logbook.Blob) error) error {
	sum := dir + e.Name()
	if _, _, err := place(sum); err != nil {
		return nil // not ours
	}
	st, err := e.Info()
	if errors.Is(err, fs.ErrNotExist) {
		return nil // removed meanwhile
	}
	if err != nil {
		return trouble(err, "the recordings folder cannot be read")
	}
	return f(logbook.Blob{SHA256: sum, Size: st.Size()})
}
