package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"ringcraft/internal/logbook"
)

// Opened is a store opened to be proven.
type Opened struct {
	Store      logbook.Store
	Recordings logbook.Recordings
	Integrity  Integrity
	Close      func() error
}

// Place is how a store lies in its folder; the command wires it.
type Place struct {
	Database   string // file name of the database in the folder
	Recordings func(dir string) (logbook.Recordings, error)
	// Open opens the store in a folder, migrating it; a store newer than the program is an error.
	Open func(ctx context.Context, dir string) (*Opened, error)
	// Carry names what belongs to the machine, not to the records: these files and folders are
	// copied from the old store into the restored one.
	Carry []string
}

// Restored says what a restore did.
type Restored struct {
	Manifest *Manifest
	Kept     string    // folder that holds what was there before, "" when nothing was
	Findings []Finding // of the restored store; notes and warnings only
}

// Restore puts the store in a backup file into dir. First it proves the backup: every checksum, the
// database's own check, every reference, all in a folder beside dir. Only then it moves what was in
// dir aside (it stays, under the name it returns) and the new store in. Whenever it fails, dir is
// what it was.
func Restore(ctx context.Context, file, dir string, p Place, now time.Time) (*Restored, error) {
	dir = filepath.Clean(dir)
	if err := os.MkdirAll(filepath.Dir(dir), 0o700); err != nil {
		return nil, fmt.Errorf("restore: %w", err)
	}
	release, err := holdExisting(dir)
	if err != nil {
		return nil, err
	}
	defer release()
	staged, err := os.MkdirTemp(filepath.Dir(dir), "."+filepath.Base(dir)+"-restoring-*")
	if err != nil {
		return nil, fmt.Errorf("restore: %w", err)
	}
	defer os.RemoveAll(staged) // gone already when all went well
	m, err := stage(ctx, file, staged, p)
	if err != nil {
		return nil, err
	}
	found, err := proveStaged(ctx, staged, m, p)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := carry(dir, staged, p.Carry); err != nil {
		return nil, err
	}
	if runtime.GOOS == "windows" {
		release() // no folder is moved there with an open file in it
	}
	kept, err := swap(staged, dir, now)
	if err != nil {
		return nil, err
	}
	return &Restored{Manifest: m, Kept: kept, Findings: found}, nil
}

// holdExisting takes the folder, when there is one; release may be called twice.
func holdExisting(dir string) (func(), error) {
	st, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return func() {}, nil
	}
	if err != nil {
		return nil, err
	}
	if !st.IsDir() {
		return nil, logbook.Errorf(logbook.Invalid, "%s is a file, not the folder of a store", dir)
	}
	free, err := Hold(dir)
	if err != nil {
		return nil, err
	}
	return func() { _ = free() }, nil // closing a lock file twice does no harm
}

// stage lays the files of the backup out as a store.
func stage(ctx context.Context, file, staged string, p Place) (*Manifest, error) {
	rec, err := p.Recordings(staged)
	if err != nil {
		return nil, err
	}
	return Verify(ctx, file, func(it Item, r io.Reader) error {
		if it.Path == databaseName {
			return writeWhole(filepath.Join(staged, p.Database), r)
		}
		b, err := rec.Put(ctx, r, it.Size)
		if err != nil {
			return err
		}
		if b.SHA256 != it.SHA256 {
			return refuse("%s was altered: its checksum is not the one in the manifest", it.Path)
		}
		return nil
	})
}

// proveStaged opens the staged store and checks all of it. Recordings that the backup itself says
// it lacks are told, not refused.
func proveStaged(ctx context.Context, staged string, m *Manifest, p Place) ([]Finding, error) {
	o, err := p.Open(ctx, staged)
	if err != nil {
		return nil, err
	}
	found, err := Check(ctx, o.Store, o.Recordings, o.Integrity)
	if err = errors.Join(err, o.Close()); err != nil {
		return nil, err
	}
	known := map[string]bool{}
	for _, a := range m.Absent {
		known[a.SHA256] = true
	}
	for _, f := range found {
		if f.Severity == SeverityError && !known[f.SHA256] {
			return nil, refuse("%s", f.Message)
		}
	}
	return found, nil
}

// swap moves the old folder aside and the new one in; when the second move fails the first is undone.
func swap(staged, dir string, now time.Time) (kept string, err error) {
	if _, err := os.Stat(dir); err == nil {
		kept = freeName(dir + ".before-restore-" + now.Format("2006-01-02-150405"))
		if err := os.Rename(dir, kept); err != nil {
			return "", fmt.Errorf("moving the old store aside: %w", err)
		}
	}
	if err := os.Rename(staged, dir); err != nil {
		if kept != "" {
			err = errors.Join(err, os.Rename(kept, dir))
		}
		return "", fmt.Errorf("moving the restored store in: %w", err)
	}
	return kept, syncFolder(filepath.Dir(dir))
}

// carry copies what belongs to the machine from the old store.
func carry(dir, staged string, names []string) error {
	for _, name := range names {
		from := filepath.Join(dir, name)
		st, err := os.Stat(from)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("carrying %s over: %w", name, err)
		}
		to := filepath.Join(staged, name)
		if !st.IsDir() {
			if err := carryFile(from, to); err != nil {
				return fmt.Errorf("carrying %s over: %w", name, err)
			}
			continue
		}
		if err := os.CopyFS(to, os.DirFS(from)); err != nil {
			return fmt.Errorf("carrying %s over: %w", name, err)
		}
		if err := os.Chmod(to, 0o700); err != nil {
			return err
		}
		err = filepath.WalkDir(to, func(path string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() {
				return err
			}
			return os.Chmod(path, 0o600) // CopyFS opens them to the group
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func carryFile(from, to string) error {
	f, err := os.Open(from)
	if err != nil {
		return err
	}
	defer f.Close()
	return writeWhole(to, f)
}

func freeName(name string) string {
	try := name
	for i := 2; ; i++ {
		if _, err := os.Lstat(try); errors.Is(err, fs.ErrNotExist) {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, i)
	}
}
