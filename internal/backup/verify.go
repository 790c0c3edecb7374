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
)

// take receives one proven-by-size file of a backup; its sum is compared after it returns.
type take func(it Item, r io.Reader) error

// Verify reads a backup through and proves every file against its checksum. each, when not nil,
// is given every file on the way (from the archive or from beside it); what it made of them is only
// to be used when Verify returned nil.
func Verify(ctx context.Context, file string, each func(it Item, r io.Reader) error) (*Manifest, error) {
	return verify(ctx, file, filepath.Join(filepath.Dir(file), besideDir), each)
}

func verify(ctx context.Context, file, beside string, each take) (*Manifest, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("backup: %w", err)
	}
	defer f.Close()
	if each == nil {
		each = func(_ Item, r io.Reader) error { _, err := io.Copy(io.Discard, r); return err }
	}
	v := &verifier{ctx: ctx, t: tar.NewReader(f), each: each}
	if err := v.head(); err != nil {
		return nil, err
	}
	if err := v.files(); err != nil {
		return nil, err
	}
	if err := v.tail(f); err != nil {
		return nil, err
	}
	return v.m, v.beside(beside)
}

type verifier struct {
	ctx  context.Context
	t    *tar.Reader
	each take
	m    *Manifest
	text []byte
}

// next returns the next entry; cut archives and entries that are not plain files are refused.
func (v *verifier) next() (*tar.Header, error) {
	if err := v.ctx.Err(); err != nil {
		return nil, err
	}
	h, err := v.t.Next()
	switch {
	case errors.Is(err, io.EOF):
		return nil, refuse("it was cut: its end is missing")
	case err != nil:
		return nil, refuse("it is not a whole archive (%v)", err)
	case h.Typeflag != tar.TypeReg:
		return nil, refuse("%.80q is not a plain file", h.Name)
	}
	return h, nil
}

func (v *verifier) head() error {
	h, err := v.next()
	if err != nil {
		return err
	}
	if h.Name != manifestName || h.Size > mostManifest {
		return refuse("it does not begin with a manifest")
	}
	if v.text, err = io.ReadAll(v.t); err != nil {
		return refuse("its manifest was cut (%v)", err)
	}
	if v.m, err = readManifest(v.text); err != nil {
		return err
	}
	if h, err = v.next(); err != nil {
		return err
	}
	sums, err := io.ReadAll(io.LimitReader(v.t, mostManifest))
	if err != nil || h.Name != sumsName || !bytes.Equal(sums, v.m.sums()) {
		return refuse("its list of checksums does not agree with its manifest")
	}
	return nil
}

func (v *verifier) files() error {
	for _, it := range v.m.Files {
		if it.Beside {
			continue
		}
		h, err := v.next()
		if err != nil {
			return err
		}
		if h.Name != it.Path || h.Size != it.Size {
			return refuse("%.80q (%d bytes) stands where %q (%d bytes) should", h.Name, h.Size, it.Path, it.Size)
		}
		if err := v.prove(it, v.t); err != nil {
			return err
		}
	}
	return nil
}

// prove hands a file on and compares the bytes that went by with the checksum.
func (v *verifier) prove(it Item, r io.Reader) error {
	h := sha256.New()
	seen := &counted{r: io.TeeReader(r, h)}
	if err := v.each(it, seen); err != nil {
		if seen.err != nil {
			return refuse("%s was cut (%v)", it.Path, seen.err)
		}
		return err
	}
	if _, err := io.Copy(io.Discard, seen); err != nil {
		return refuse("%s was cut (%v)", it.Path, err)
	}
	if hex.EncodeToString(h.Sum(nil)) != it.SHA256 {
		return refuse("%s was altered: its checksum is not the one in the manifest", it.Path)
	}
	return nil
}

// counted remembers an error of the reader, to tell a cut backup from a full disk.
type counted struct {
	r   io.Reader
	err error
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		c.err = err
	}
	return n, err
}

func (v *verifier) tail(f io.Reader) error {
	h, err := v.next()
	if err != nil {
		return err
	}
	sum := sha256.Sum256(v.text)
	end, err := io.ReadAll(io.LimitReader(v.t, 128))
	if err != nil || h.Name != endName || string(end) != hex.EncodeToString(sum[:])+"\n" {
		return refuse("its end does not belong to its beginning")
	}
	if _, err := v.t.Next(); !errors.Is(err, io.EOF) {
		return refuse("something follows its end")
	}
	return onlyZeros(f)
}

func onlyZeros(r io.Reader) error {
	buf := make([]byte, 32<<10)
	for {
		n, err := r.Read(buf)
		for _, b := range buf[:n] {
			if b != 0 {
				return refuse("something follows its end")
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func (v *verifier) beside(dir string) error {
	for _, it := range v.m.Files {
		if !it.Beside {
			continue
		}
		if err := v.ctx.Err(); err != nil {
			return err
		}
		f, err := os.Open(filepath.Join(dir, it.SHA256))
		if err != nil {
			return refuse("recording %s should lie in %s and does not: a daily backup needs that folder", it.SHA256[:12], dir)
		}
		err = v.prove(it, f)
		f.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// ReadManifest reads a backup's manifest only, proving nothing else.
func ReadManifest(file string) (*Manifest, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	v := &verifier{ctx: context.Background(), t: tar.NewReader(f)}
	err = v.head()
	return v.m, err
}
