package logbook

import (
	"bytes"
	"context"
	"errors"
	"path"
	"slices"
	"strings"
	"time"

	"ringcraft/internal/track"
)

// AddedFiles are files given with a ride after it was added.
type AddedFiles struct {
	Files []GivenFile
	// Recorder and About go with a recording among them, as in NewRide; a Recorder of "" leaves what was said.
	Recorder string
	About    AboutTrack
	Consent  *GivenConsent // as in NewRide
}

// AddFileTo gives a ride one more file, as AddFilesTo.
func (b *Book) AddFileTo(ctx context.Context, rideID string, g GivenFile) error {
	return b.AddFilesTo(ctx, rideID, AddedFiles{Files: []GivenFile{g}})
}

// AddFilesTo gives a ride what came later (a judge's sheet after the show, a commentary), all or
// none, after the whole was found readable with it. A role that has a file already is a Conflict; a
// recording that nobody agreed to is Refused.
func (b *Book) AddFilesTo(ctx context.Context, rideID string, a AddedFiles) error {
	in, err := b.gather(ctx, rideID)
	if err != nil {
		return err
	}
	if err := addable(in.ride, a); err != nil {
		return err
	}
	a.About.keepWith(a.Files)
	if !a.Consent.said() { // asked before a large recording is read
		if err := b.askConsent(ctx, b.Store, in.pair.RiderID, a.Files, nil); err != nil {
			return err
		}
	}
	if a.Recorder != "" {
		in.ride.Recorder = a.Recorder
	}
	in.files = append(in.files, a.Files...)
	if err := b.readable(ctx, in, nil); err != nil {
		return err
	}
	kept, err := b.putFiles(ctx, a.Files, b.Now())
	if err != nil {
		return err
	}
	err = b.Atomically(ctx, func(s Store) error {
		if err := b.askConsent(ctx, s, in.pair.RiderID, a.Files, a.Consent); err != nil {
			return err
		}
		return addFiles(ctx, s, rideID, a.Recorder, kept)
	})
	return b.orSweep(ctx, err, kept)
}

func addFiles(ctx context.Context, s Store, rideID, recorder string, kept []File) error {
	for _, f := range kept {
		if err := s.AddFile(ctx, rideID, f); err != nil {
			return err
		}
	}
	if recorder == "" {
		return nil
	}
	r, err := s.Ride(ctx, rideID)
	if err != nil {
		return err
	}
	r.Recorder = recorder
	return s.PutRide(ctx, r)
}

// putFiles stores the bytes of files.
func (b *Book) putFiles(ctx context.Context, files []GivenFile, added time.Time) ([]File, error) {
	var out []File
	for _, g := range files {
		blob, err := b.Recordings.Put(ctx, bytes.NewReader(g.Data), limitOf(g.Role))
		if err != nil {
			return nil, b.orSweep(ctx, err, out)
		}
		out = append(out, File{Role: g.Role, Blob: blob.SHA256, Name: cleanFile(g.Name), Media: g.Media, Size: blob.Size, Added: added})
	}
	return out, nil
}

// orSweep takes away what was stored for nothing when err says so.
func (b *Book) orSweep(ctx context.Context, err error, kept []File) error {
	if err == nil {
		return nil
	}
	var blobs []string
	for _, f := range kept {
		blobs = append(blobs, f.Blob)
	}
	return errors.Join(err, b.sweep(context.WithoutCancel(ctx), blobs)) // also what was cancelled leaves nothing
}

// addable checks what can be said of files without reading them.
func addable(r Ride, a AddedFiles) error {
	var roles []Role
	if a.Recorder != "" {
		if _, err := track.ClassByName(a.Recorder); err != nil {
			return Wrap(Invalid, err, "the recorder %q is not known", a.Recorder)
		}
	}
	if err := a.About.check(); err != nil {
		return err
	}
	for _, g := range a.Files {
		if _, taken := r.File(g.Role); taken {
			return Errorf(Conflict, "the ride has a %s already", g.Role)
		}
		if slices.Contains(roles, g.Role) {
			return Errorf(Invalid, "two files as %s; give one", g.Role)
		}
		if int64(len(g.Data)) > limitOf(g.Role) {
			return Errorf(TooLarge, "%s is larger than %d MB", cleanFile(g.Name), limitOf(g.Role)>>20)
		}
		roles = append(roles, g.Role)
	}
	return nil
}

func limitOf(role Role) int64 {
	switch role {
	case RoleTrack, RoleMotion:
		return MaxTrack
	case RoleAudio:
		return MaxAudio
	}
	return MaxText
}

// cleanFile keeps the last part of a name that another machine gave; it is shown, never opened.
func cleanFile(name string) string {
	name = strings.ToValidUTF8(path.Base(strings.ReplaceAll(name, "\\", "/")), "")
	name = strings.Map(func(r rune) rune {
		if r < 0x20 || r == 0x7f {
			return -1
		}
		return r
	}, name)
	if r := []rune(name); len(r) > 100 {
		name = string(r[:100])
	}
	if name == "" || name == "." || name == "/" {
		return "unnamed"
	}
	return name
}
