package logbook

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
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

// Take is one unbroken recording of a ride: what lies between Record and its end. Each take is a
// sound file of its own, whose clock begins at 0.
type Take struct {
	AtS    float64 // where it begins on the ride's clock
	pieces []File
}

// Takes are the takes of a ride in their sequence. A take begins with the piece that carries a
// file's header.
func (b *Book) Takes(ctx context.Context, rideID string) ([]Take, error) {
	r, err := b.Ride(ctx, rideID)
	if err != nil {
		return nil, err
	}
	var out []Take
	for _, f := range r.FilesOf(RoleAudio) {
		begins, err := b.beginsTake(ctx, f)
		if err != nil {
			return nil, err
		}
		if begins || len(out) == 0 {
			out = append(out, Take{AtS: f.AtS})
		}
		last := &out[len(out)-1]
		last.pieces = append(last.pieces, f)
	}
	if len(out) == 0 {
		return nil, Errorf(NotFound, "this ride has no sound")
	}
	return out, nil
}

// OpenTake opens a take as one stream.
func (b *Book) OpenTake(ctx context.Context, t Take) io.ReadCloser {
	return &pieced{ctx: ctx, from: b.Recordings, left: t.pieces}
}

// beginsTake reports whether a piece begins with the header of a sound file: Matroska and WebM
// (RFC 8794, 8.1), Ogg's first page (RFC 3533, 6), ISO base media ("ftyp"), RIFF, or an MP3 tag.
// A piece of a few bytes that holds none goes on with the take before.
func (b *Book) beginsTake(ctx context.Context, f File) (bool, error) {
	in, err := b.Recordings.Open(ctx, f.Blob)
	if err != nil {
		return false, err
	}
	defer in.Close()
	head := make([]byte, 12)
	n, err := io.ReadFull(in, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return false, err
	}
	head = head[:n]
	at := func(i int, mark string) bool { return len(head) >= i+len(mark) && string(head[i:i+len(mark)]) == mark }
	firstPage := at(0, "OggS") && len(head) > 5 && head[5]&2 != 0
	return at(0, "\x1aE\xdf\xa3") || firstPage || at(4, "ftyp") || at(0, "RIFF") || at(0, "ID3"), nil
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

// TakeWords is what a transcriber wrote of a take.
type TakeWords struct {
	Take  Take
	Words []byte // WebVTT, or SRT, on the take's own clock
}

// JoinTranscripts puts what was said in each take on the ride's clock, as one WebVTT file. A take
// in which nothing was said may be empty.
func JoinTranscripts(takes []TakeWords) ([]byte, error) {
	var cues []remarks.Cue
	for i, t := range takes {
		if len(bytes.TrimSpace(t.Words)) == 0 {
			continue
		}
		cs, ps := remarks.Read(fmt.Sprintf("take %d of %d", i+1, len(takes)), t.Words)
		if sheet.HasErrors(ps) {
			return nil, inputError("the transcript", ps)
		}
		for _, c := range cs {
			c.StartS, c.EndS = c.StartS+t.Take.AtS, c.EndS+t.Take.AtS
			cues = append(cues, c)
		}
	}
	slices.SortStableFunc(cues, func(a, b remarks.Cue) int { return cmp.Compare(a.StartS, b.StartS) })
	return remarks.WriteVTT(cues), nil
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
