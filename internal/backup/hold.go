package backup

import (
	"fmt"
	"os"
	"path/filepath"

	"ringcraft/internal/logbook"
)

// holdName is the file a server holds locked in its store's folder. The lock goes with the
// process, however it ends; the file may stay.
const holdName = "serving.lock"

// Hold takes a store's folder for a server (or a restore): one at a time. The lock is the
// operating system's and is gone when the process is. Release gives it back.
func Hold(dir string) (release func() error, err error) {
	f, err := os.OpenFile(filepath.Join(dir, holdName), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("taking the store: %w", err)
	}
	ok, err := lockFile(f)
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("taking the store: %w", err)
	}
	if !ok {
		f.Close()
		return nil, logbook.Errorf(logbook.Busy, "another Ringcraft is serving the store in %s; stop it first", dir)
	}
	return f.Close, nil
}
