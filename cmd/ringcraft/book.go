package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/google/uuid"

	"ringcraft/internal/backup"
	"ringcraft/internal/logbook"
	"ringcraft/internal/recordings"
	"ringcraft/internal/sqlite"
)

// How a store lies in its folder.
const (
	databaseFile   = "book.sqlite"
	recordingsName = "recordings"
	certsName      = "certs"
	backupsName    = "backups"
)

// version is the program's, set when a release is built.
var version = "dev"

func programVersion() string {
	if version != "dev" {
		return version
	}
	if i, ok := debug.ReadBuildInfo(); ok {
		for _, s := range i.Settings {
			if s.Key == "vcs.revision" && len(s.Value) >= 12 {
				return "dev " + s.Value[:12]
			}
		}
	}
	return version
}

// dataOption is the store's folder, for every command that uses one.
type dataOption struct {
	Data string `help:"Folder of the store; default: the user's data folder." placeholder:"DIR" env:"RINGCRAFT_DATA"`
}

// dir returns the folder as an absolute path.
func (o dataOption) dir() (string, error) {
	if o.Data != "" {
		if st, err := os.Stat(o.Data); err == nil && !st.IsDir() {
			return "", usageError{fmt.Sprintf("--data %s: this is a file; allowed: a folder, made when it is not there", o.Data)}
		}
		return filepath.Abs(o.Data)
	}
	if d := os.Getenv("XDG_DATA_HOME"); d != "" && filepath.IsAbs(d) {
		return filepath.Join(d, "ringcraft"), nil
	}
	if runtime.GOOS == "linux" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", err
		}
		return filepath.Join(home, ".local", "share", "ringcraft"), nil
	}
	base, err := os.UserConfigDir()
	return filepath.Join(base, "ringcraft"), err
}

// openStore is an open store: records and recordings.
type openStore struct {
	dir string
	db  *sqlite.Store
	rec *recordings.Store
}

// openData opens the store in a folder, making it when there is none and bringing an older one up
// to today's schema.
func openData(ctx context.Context, dir string) (*openStore, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, logbook.Wrap(logbook.Busy, err, "the store's folder cannot be made")
	}
	db, err := sqlite.Open(ctx, filepath.Join(dir, databaseFile))
	if err != nil {
		return nil, err
	}
	rec, err := recordings.Open(filepath.Join(dir, recordingsName))
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return &openStore{dir: dir, db: db, rec: rec}, nil
}

// openExisting is openData for commands that make no sense on an empty folder.
func openExisting(ctx context.Context, o dataOption) (*openStore, error) {
	dir, err := o.dir()
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(dir, databaseFile)); err != nil {
		return nil, logbook.Errorf(logbook.NotFound, "there is no store in %s; give its folder with --data", dir)
	}
	return openData(ctx, dir)
}

// Close lets go of the store.
func (s *openStore) Close() error { return errors.Join(s.db.Close(), s.rec.Close()) }

// book is the store with its use cases. jobs may be nil where none is started.
func (s *openStore) book(jobs logbook.Jobs) *logbook.Book {
	return &logbook.Book{Store: s.db, Recordings: s.rec, Jobs: jobs, Now: time.Now, NewID: newID}
}

// newID makes an id that sorts by time and was never used.
func newID() string {
	id, err := uuid.NewV7()
	if err != nil {
		panic(err) // the system has no randomness: nothing can be done safely
	}
	return id.String()
}

// source is what backups are made of.
func (s *openStore) source(phoneName string) backup.Source {
	return backup.Source{
		Snapshot:   s.db.CopyTo,
		Recordings: s.rec,
		Link: func(_ context.Context, sum, path string) error {
			return linkOrCopy(filepath.Join(s.dir, recordingsName, sum[:2], sum[2:]), path)
		},
		Program:   programVersion(),
		Schema:    sqlite.SchemaVersion(),
		PhoneName: phoneName,
	}
}

// place is how restores lay a store out and prove it.
func place() backup.Place {
	return backup.Place{
		Database: databaseFile,
		Carry:    []string{certsName, settingsName},
		Recordings: func(dir string) (logbook.Recordings, error) {
			return recordings.Open(filepath.Join(dir, recordingsName))
		},
		Open: func(ctx context.Context, dir string) (*backup.Opened, error) {
			s, err := openData(ctx, dir)
			if err != nil {
				return nil, err
			}
			return &backup.Opened{Store: s.db, Recordings: s.rec, Integrity: s.db.Check, Close: s.Close}, nil
		},
	}
}

// told prints an error that people caused or can mend, and gives it exit code 1; others pass.
func (c *console) told(err error) error {
	switch logbook.CodeOf(err) {
	case logbook.Invalid, logbook.NotFound, logbook.Conflict, logbook.Damaged, logbook.TooLarge, logbook.Newer, logbook.Refused:
		fmt.Fprintln(c.Err, "ringcraft:", err)
		for _, p := range logbook.ProblemsOf(err) {
			fmt.Fprintln(c.Err, p)
		}
		return errInput
	}
	return err
}
