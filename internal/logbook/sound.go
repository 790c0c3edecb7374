package logbook

import (
	"context"
	"io"
	"slices"
	"strings"

	"ringcraft/internal/remarks"
	"ringcraft/internal/sheet"
)

// AddSound keeps one piece of a ride's sound; the same piece sent again changes nothing. Sound that
// nobody agreed to is Refused.
func (b *Book) AddSound(ctx context.Context, rideID string, seq int, atS float64, media string, r io.Reader) (File, error) {
	if seq < 0 || seq > 100000 {
		return File{}, Errorf(Invalid, "a piece of sound has a number from 0")
	}
	riderID, err := b.riderOf(ctx, rideID)
	if err != nil {
		return File{}, err
	}
	if err := mustAgree(ctx, b.Store, riderID, ConsentVoice); err != nil {
		return File{}, err
	}
	blob, err := b.Recordings.Put(ctx, r, MaxAudio)
	if err != nil {
		return File{}, err
	}
	f := File{Role: RoleAudio, Seq: seq, Blob: blob.SHA256, Name: "sound", Media: cleanMedia(media), Size: blob.Size, AtS: atS, Added: b.Now()}
	return f, b.Atomically(ctx, func(s Store) error {
		if err := mustAgree(ctx, s, riderID, ConsentVoice); err != nil {
			return err
		}
		return s.AddFile(ctx, rideID, f)
	})
}

func (b *Book) riderOf(ctx context.Context, rideID string) (string, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return "", err
	}
	c, err := b.Combination(ctx, r.CombinationID)
	return c.RiderID, err
}

// cleanMedia keeps a media type that a browser may be told again; anything else is plain bytes.
func cleanMedia(media string) string {
	base, _, _ := strings.Cut(media, ";")
	if base = strings.TrimSpace(base); slices.Contains([]string{"audio/webm", "audio/ogg", "audio/mp4", "audio/mpeg", "audio/wav"}, base) {
		return base
	}
	return "application/octet-stream"
}

// Sound opens a ride's pieces of sound as one stream, in their sequence.
func (b *Book) Sound(ctx context.Context, rideID string) (io.ReadCloser, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return nil, err
	}
	pieces := r.FilesOf(RoleAudio)
	if len(pieces) == 0 {
		return nil, Errorf(NotFound, "this ride has no sound")
	}
	return &pieced{ctx: ctx, from: b.Recordings, left: pieces}, nil
}

// pieced reads blobs one after another, opening each when its turn comes.
type pieced struct {
	ctx  context.Context
	from Recordings
	left []File
	now  io.ReadSeekCloser
}

func (p *pieced) Read(out []byte) (int, error) {
	for {
		if p.now == nil {
			if len(p.left) == 0 {
				return 0, io.EOF
			}
			f, err := p.from.Open(p.ctx, p.left[0].Blob)
			if err != nil {
				return 0, err
			}
			p.now, p.left = f, p.left[1:]
		}
		n, err := p.now.Read(out)
		if err == io.EOF {
			p.now.Close()
			p.now, err = nil, nil
		}
		if n > 0 || err != nil {
			return n, err
		}
	}
}

func (p *pieced) Close() error {
	if p.now != nil {
		return p.now.Close()
	}
	return nil
}

// AddTranscript keeps what a transcriber wrote of a ride's sound, when it can be read, unless the
// consent to that sound was withdrawn while it was at work.
func (b *Book) AddTranscript(ctx context.Context, rideID, name string, words []byte) error {
	riderID, err := b.riderOf(ctx, rideID)
	if err != nil {
		return err
	}
	if err := mustAgree(ctx, b.Store, riderID, ConsentVoice); err != nil {
		return err
	}
	if _, ps := remarks.Read(name, words); sheet.HasErrors(ps) {
		return inputError("the transcript", ps)
	}
	return b.AddFileTo(ctx, rideID, GivenFile{Role: RoleCommentary, Name: name, Media: "text/vtt", Data: words})
}
