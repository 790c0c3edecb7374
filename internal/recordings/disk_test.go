package recordings

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"path"
	"sort"
	"strings"
	"time"
)

type timeOf = time.Time

// disk is a file system in memory that forgets, at a power cut, every byte and every name that
// was not synced. Names are durable only after SyncDir of their folder; folders always are.
type disk struct {
	left    int   // steps until the power goes; -1 for never
	fault   error // what a step fails with when its time has come; nil: the power is cut
	dirs    map[string]bool
	names   map[string]*content // as programs see them
	durable map[string]*content // as the platter has them
}

type content struct{ now, synced []byte }

var errPower = errors.New("power cut")

func newDisk() *disk {
	return &disk{left: -1, dirs: map[string]bool{".": true}, names: map[string]*content{}, durable: map[string]*content{}}
}

func (d *disk) step() error {
	if d.left == 0 && d.fault != nil {
		return d.fault
	}
	if d.left == 0 {
		return errPower
	}
	if d.left > 0 {
		d.left--
	}
	return nil
}

// cut takes away what was not synced and brings the power back. A disk may also have written names
// that nobody asked it to sync, before the bytes behind them: namesFirst.
func (d *disk) cut(namesFirst bool) {
	d.left = -1
	kept := d.durable
	if namesFirst {
		kept = d.names
	}
	d.names = map[string]*content{}
	for n, c := range kept {
		d.names[n] = &content{now: c.synced, synced: c.synced}
	}
}

func (d *disk) Mkdir(name string) error {
	if err := d.step(); err != nil {
		return err
	}
	d.dirs[name] = true
	return nil
}

func (d *disk) Create(name string) (Writable, error) {
	if err := d.step(); err != nil {
		return nil, err
	}
	c := &content{}
	d.names[name] = c
	return &writing{d, c}, nil
}

type writing struct {
	d *disk
	c *content
}

func (w *writing) Write(p []byte) (int, error) {
	if err := w.d.step(); err != nil {
		return 0, err
	}
	w.c.now = append(w.c.now, p...)
	return len(p), nil
}

func (w *writing) Sync() error {
	if err := w.d.step(); err != nil {
		return err
	}
	w.c.synced = w.c.now
	return nil
}

func (w *writing) Close() error { return w.d.step() }

type reading struct {
	*bytes.Reader
	info
}

func (reading) Close() error                 { return nil }
func (r reading) Stat() (fs.FileInfo, error) { return r.info, nil }
func (r reading) Size() int64                { return r.info.Size() }

type info struct {
	name string
	size int64
	dir  bool
}

func (i info) Name() string               { return i.name }
func (i info) Size() int64                { return i.size }
func (i info) Mode() fs.FileMode          { return 0o600 }
func (i info) ModTime() time.Time         { return time.Time{} }
func (i info) IsDir() bool                { return i.dir }
func (i info) Sys() any                   { return nil }
func (i info) Type() fs.FileMode          { return 0 }
func (i info) Info() (fs.FileInfo, error) { return i, nil }

func (d *disk) Open(name string) (Readable, error) {
	c, ok := d.names[name]
	if !ok {
		return nil, fs.ErrNotExist
	}
	return reading{bytes.NewReader(c.now), info{name: path.Base(name), size: int64(len(c.now))}}, nil
}

func (d *disk) Stat(name string) (fs.FileInfo, error) {
	if d.dirs[name] {
		return info{name: name, dir: true}, nil
	}
	return nil, fs.ErrNotExist
}

func (d *disk) Rename(from, to string) error {
	if err := d.step(); err != nil {
		return err
	}
	d.names[to] = d.names[from]
	delete(d.names, from)
	return nil
}

func (d *disk) Remove(name string) error {
	if err := d.step(); err != nil {
		return err
	}
	delete(d.names, name)
	return nil
}

func (d *disk) List(dir string) ([]fs.DirEntry, error) {
	var out []fs.DirEntry
	for n := range d.dirs {
		if dir == "." && n != "." {
			out = append(out, info{name: n, dir: true})
		}
	}
	for n, c := range d.names {
		if path.Dir(n) == dir {
			out = append(out, info{name: path.Base(n), size: int64(len(c.now))})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name() < out[j].Name() })
	return out, nil
}

// SyncDir makes the folder's names as they are now the durable ones.
func (d *disk) SyncDir(dir string) error {
	if err := d.step(); err != nil {
		return err
	}
	for n := range d.durable {
		if strings.HasPrefix(n, dir+"/") {
			delete(d.durable, n)
		}
	}
	for n, c := range d.names {
		if path.Dir(n) == dir {
			d.durable[n] = c
		}
	}
	return nil
}

var _ io.ReadSeekCloser = reading{}
