package recordings

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
)

// Files is the little of a file system that the store needs. It is an interface so that a test
// can drop what was not synced, as a power cut does.
type Files interface {
	Mkdir(name string) error
	// Create makes a new file for writing; it fails when the name is taken.
	Create(name string) (Writable, error)
	Open(name string) (Readable, error)
	Stat(name string) (fs.FileInfo, error)
	Rename(from, to string) error
	Remove(name string) error
	List(dir string) ([]fs.DirEntry, error) // by name
	// SyncDir makes the names in a folder durable.
	SyncDir(dir string) error
}

// Writable is a file being written.
type Writable interface {
	io.WriteCloser
	Sync() error
}

// Readable is a file being read.
type Readable interface {
	io.ReadSeekCloser
	Stat() (fs.FileInfo, error)
}

// rooted is Files inside one folder of the disk: no name, however made, leads out of it.
type rooted struct{ root *os.Root }

func (r rooted) Mkdir(name string) error {
	err := r.root.Mkdir(name, 0o700)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	return err
}

func (r rooted) Create(name string) (Writable, error) {
	return r.root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
}

func (r rooted) Open(name string) (Readable, error)    { return r.root.Open(name) }
func (r rooted) Stat(name string) (fs.FileInfo, error) { return r.root.Stat(name) }
func (r rooted) Rename(from, to string) error          { return r.root.Rename(from, to) }
func (r rooted) Remove(name string) error              { return r.root.Remove(name) }

func (r rooted) List(dir string) ([]fs.DirEntry, error) {
	return fs.ReadDir(r.root.FS(), path.Clean(dir))
}

func (r rooted) SyncDir(dir string) error {
	d, err := r.root.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return syncDir(d)
}
