package backup

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"ringcraft/internal/logbook"
)

// Source is the store that a backup is made of.
type Source struct {
	// Snapshot writes one consistent copy of the database, as one file, while the store is in use.
	Snapshot   func(ctx context.Context, path string) error
	Recordings logbook.Recordings
	// Link makes the stored file of a recording appear at path without copying it where the file
	// system can, and copies it where it cannot; nil always copies. Daily backups use it.
	Link      func(ctx context.Context, sha256, path string) error
	Program   string // version of the program
	Schema    int64
	PhoneName string
}

// workPrefix begins the name of the folder that a backup is made in, beside its file.
const workPrefix = ".backup-"

// Progress is told how far long work is: bytes done of all. It may be nil.
type Progress func(done, all int64)

// Write makes the backup file out of a store in use. The file appears under its name only when it
// is complete, synced and was read back. It returns what the file holds; recordings that could not
// be read are listed as absent, not silently left out.
func Write(ctx context.Context, out string, src Source, now time.Time, progress Progress) (*Manifest, error) {
	return write(ctx, out, "", src, now, progress)
}

// write with a folder beside puts recordings there, once for all backups that share it.
func write(ctx context.Context, out, beside string, src Source, now time.Time, progress Progress) (*Manifest, error) {
	if _, err := os.Lstat(out); err == nil {
		return nil, logbook.Errorf(logbook.Conflict, "%s exists already; choose another name or move it away", out)
	}
	work, err := os.MkdirTemp(filepath.Dir(out), workPrefix+"*")
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	defer os.RemoveAll(work)
	db := filepath.Join(work, databaseName)
	if err := src.Snapshot(ctx, db); err != nil {
		return nil, err
	}
	m, err := list(ctx, db, beside, src, now)
	if err != nil {
		return nil, err
	}
	part := filepath.Join(work, "part")
	if err := writeArchive(ctx, part, db, m, src, progress); err != nil {
		return nil, err
	}
	if _, err := verify(ctx, part, beside, nil); err != nil {
		return nil, fmt.Errorf("the backup was written but does not read back: %w", err)
	}
	if err := os.Rename(part, out); err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	return m, syncFolder(filepath.Dir(out))
}

// list makes the manifest: the database and every recording that reads back as what it should be.
func list(ctx context.Context, db, beside string, src Source, now time.Time) (*Manifest, error) {
	m := &Manifest{Format: formatName, Version: formatVersion, About: aboutText, Made: now.UTC().Truncate(time.Second),
		Program: src.Program, Schema: src.Schema, PhoneName: src.PhoneName}
	size, sum, err := sumFile(db)
	if err != nil {
		return nil, err
	}
	m.Files = append(m.Files, Item{Path: databaseName, Size: size, SHA256: sum})
	err = src.Recordings.Each(ctx, func(b logbook.Blob) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		if why := unreadable(ctx, src.Recordings, b.SHA256); why != "" {
			m.Absent = append(m.Absent, Absent{SHA256: b.SHA256, Why: why})
			return nil
		}
		if beside != "" {
			if err := putBeside(ctx, beside, b.SHA256, src); err != nil {
				return err
			}
		}
		m.Files = append(m.Files, Item{Path: recordingsDir + b.SHA256, Size: b.Size, SHA256: b.SHA256, Beside: beside != ""})
		return nil
	})
	return m, err
}

// unreadable reads a recording through and says what is wrong with it, "" when nothing is.
func unreadable(ctx context.Context, rec logbook.Recordings, sum string) string {
	r, err := rec.Open(ctx, sum)
	if err != nil {
		return logbook.MessageOf(err)
	}
	defer r.Close()
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return logbook.MessageOf(err)
	}
	if hex.EncodeToString(h.Sum(nil)) != sum {
		return "its bytes are not what was stored"
	}
	return ""
}

func putBeside(ctx context.Context, dir, sum string, src Source) error {
	to := filepath.Join(dir, sum)
	if _, err := os.Stat(to); err == nil {
		return nil
	}
	if src.Link != nil {
		return src.Link(ctx, sum, to)
	}
	r, err := src.Recordings.Open(ctx, sum)
	if err != nil {
		return err
	}
	defer r.Close()
	return writeWhole(to, r)
}

func writeArchive(ctx context.Context, part, db string, m *Manifest, src Source, progress Progress) error {
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	w := &archive{ctx: ctx, t: tar.NewWriter(f), made: m.Made, progress: progress}
	for _, it := range m.Files {
		if !it.Beside {
			w.all += it.Size
		}
	}
	err = w.fill(db, m, src)
	if err == nil {
		err = w.t.Close()
	}
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("writing the backup: %w", err)
	}
	return nil
}

// archive is a tar file being written.
type archive struct {
	ctx       context.Context
	t         *tar.Writer
	made      time.Time
	progress  Progress
	done, all int64
}

func (w *archive) fill(db string, m *Manifest, src Source) error {
	text, err := m.encode()
	if err != nil {
		return err
	}
	if err := w.bytes(manifestName, text); err != nil {
		return err
	}
	if err := w.bytes(sumsName, m.sums()); err != nil {
		return err
	}
	for _, it := range m.Files {
		if it.Beside {
			continue
		}
		if err := w.item(it, db, src); err != nil {
			return err
		}
	}
	sum := sha256.Sum256(text)
	return w.bytes(endName, []byte(hex.EncodeToString(sum[:])+"\n"))
}

func (w *archive) item(it Item, db string, src Source) error {
	if err := w.ctx.Err(); err != nil {
		return err
	}
	var r io.ReadCloser
	var err error
	if it.Path == databaseName {
		r, err = os.Open(db)
	} else {
		r, err = src.Recordings.Open(w.ctx, it.SHA256)
	}
	if err != nil {
		return err
	}
	defer r.Close()
	return w.stream(it.Path, it.Size, r)
}

func (w *archive) bytes(name string, b []byte) error {
	return w.stream(name, int64(len(b)), bytes.NewReader(b))
}

func (w *archive) stream(name string, size int64, r io.Reader) error {
	h := &tar.Header{Typeflag: tar.TypeReg, Name: name, Size: size, Mode: 0o600, ModTime: w.made}
	if err := w.t.WriteHeader(h); err != nil {
		return err
	}
	n, err := io.Copy(w.t, r)
	if err != nil {
		return err
	}
	if n != size {
		return fmt.Errorf("%s has %d bytes, %d were expected", name, n, size)
	}
	if w.done += n; w.progress != nil {
		w.progress(min(w.done, w.all), w.all)
	}
	return nil
}
