package logbook

import (
	"bytes"
	"context"
	"io"
	"path"
	"slices"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/judging"
	"ringcraft/internal/remarks"
	"ringcraft/internal/sheet"
	"ringcraft/internal/track"
)

// Limits of what is given with a ride, in bytes. A day at 25 Hz as GPX has some 60 MB.
const (
	MaxTrack = 64 << 20
	MaxText  = 4 << 20 // arena, commentary, marks
	MaxAudio = 4 << 20 // one piece of sound of a few seconds
)

// GivenFile is a file given with a ride, not yet stored.
type GivenFile struct {
	Role        Role
	Name, Media string
	Data        []byte
}

// NewRide is what is given when a ride is added.
type NewRide struct {
	ID                     string // "" for one of the book's own making
	CombinationID, SheetID string
	Date                   Date
	Kind                   RideKind
	Place, Recorder, Rules string
	MarkedBy               string
	Taught                 bool
	Simulated              bool
	Files                  []GivenFile
	Watch                  bool // open it now, to be watched and noted
}

// AddRide reads everything given and keeps it, or, when something cannot be read, keeps nothing
// and says all that is wrong.
func (b *Book) AddRide(ctx context.Context, n NewRide) (Ride, error) {
	if err := checkRide(&n); err != nil {
		return Ride{}, err
	}
	sh, err := b.Sheet(ctx, n.SheetID)
	if err != nil {
		return Ride{}, err
	}
	pair, err := b.PairOf(ctx, n.CombinationID)
	if err != nil {
		return Ride{}, err
	}
	if n.ID == "" {
		n.ID = b.NewID()
	}
	r := Ride{ID: n.ID, CombinationID: n.CombinationID, SheetID: n.SheetID, SheetVersion: sh.Version, Date: n.Date, Kind: n.Kind,
		Place: n.Place, Recorder: n.Recorder, Rules: n.Rules, MarkedBy: n.MarkedBy, Taught: n.Taught, Simulated: n.Simulated, Made: b.Now()}
	if n.Watch {
		r.Opened = b.Now()
	}
	in := given{ride: r, pair: pair, sheet: sh, files: n.Files}
	if err := b.readable(ctx, in); err != nil {
		return Ride{}, err
	}
	return b.keepRide(ctx, r, n.Files)
}

// keepRide stores the files, then the ride that names them. Files of a ride that is not kept
// after all are in nobody's way: they are named by what they hold.
func (b *Book) keepRide(ctx context.Context, r Ride, files []GivenFile) (Ride, error) {
	for _, g := range files {
		blob, err := b.Recordings.Put(ctx, bytes.NewReader(g.Data), limitOf(g.Role))
		if err != nil {
			return Ride{}, err
		}
		r.Files = append(r.Files, File{Role: g.Role, Blob: blob.SHA256, Name: cleanFile(g.Name), Media: g.Media, Size: blob.Size, Added: r.Made})
	}
	r.Files = sortedFiles(r.Files)
	return r, b.PutRide(ctx, r)
}

func limitOf(role Role) int64 {
	switch role {
	case RoleTrack:
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

// checkRide checks what needs no other record, and tidies words.
func checkRide(n *NewRide) error {
	if _, err := ParseDate(string(n.Date)); err != nil {
		return err
	}
	if n.Kind != Training && n.Kind != Show {
		return Errorf(Invalid, "a ride is %q or %q, not %q", Training, Show, n.Kind)
	}
	if n.Recorder != "" {
		if _, err := track.ClassByName(n.Recorder); err != nil {
			return Wrap(Invalid, err, "the recorder %q is not known", n.Recorder)
		}
	}
	if n.Rules != "" {
		if _, err := judging.RulesByID(n.Rules); err != nil {
			return Wrap(Invalid, err, "the rule set %q is not known", n.Rules)
		}
	}
	for _, s := range []*string{&n.Place, &n.MarkedBy} {
		*s = strings.Join(strings.Fields(*s), " ")
		if utf8.RuneCountInString(*s) > MaxName || !utf8.ValidString(*s) {
			return Errorf(Invalid, "place and name have at most %d characters of text", MaxName)
		}
	}
	var roles []Role
	for _, f := range n.Files {
		if int64(len(f.Data)) > limitOf(f.Role) {
			return Errorf(TooLarge, "%s is larger than %d MB", cleanFile(f.Name), limitOf(f.Role)>>20)
		}
		if slices.Contains(roles, f.Role) {
			return Errorf(Invalid, "two files as %s; give one", f.Role)
		}
		roles = append(roles, f.Role)
	}
	return nil
}

// readable reviews what is given and turns what cannot be read into an error.
func (b *Book) readable(ctx context.Context, in given) error {
	res, err := ReviewRide(ctx, in.input(nil))
	if err != nil {
		return err
	}
	return inputError("what was given", res.Problems)
}

// AddFileTo gives a ride one more file (a judge's sheet after the show, a commentary), after the
// whole was found readable with it. A role that has a file already is a Conflict.
func (b *Book) AddFileTo(ctx context.Context, rideID string, g GivenFile) error {
	in, err := b.gather(ctx, rideID)
	if err != nil {
		return err
	}
	if _, taken := in.ride.File(g.Role); taken {
		return Errorf(Conflict, "the ride has a %s already", g.Role)
	}
	if int64(len(g.Data)) > limitOf(g.Role) {
		return Errorf(TooLarge, "%s is larger than %d MB", cleanFile(g.Name), limitOf(g.Role)>>20)
	}
	in.files = append(in.files, g)
	if err := b.readable(ctx, in); err != nil {
		return err
	}
	blob, err := b.Recordings.Put(ctx, bytes.NewReader(g.Data), limitOf(g.Role))
	if err != nil {
		return err
	}
	return b.AddFile(ctx, rideID, File{Role: g.Role, Blob: blob.SHA256, Name: cleanFile(g.Name), Media: g.Media, Size: blob.Size, Added: b.Now()})
}

// TakeNotes adds notes sent from a phone, once each. It is acknowledged when they are on disk.
func (b *Book) TakeNotes(ctx context.Context, rideID string, notes []Note) (added int, err error) {
	if err := checkNotes(rideID, notes); err != nil {
		return 0, err
	}
	now := b.Now()
	for i := range notes {
		notes[i].Received = now
	}
	return b.AddNotes(ctx, notes)
}

// AddSound keeps one piece of a ride's sound; the same piece sent again changes nothing.
func (b *Book) AddSound(ctx context.Context, rideID string, seq int, atS float64, media string, r io.Reader) (File, error) {
	if seq < 0 || seq > 100000 {
		return File{}, Errorf(Invalid, "a piece of sound has a number from 0")
	}
	if _, err := b.Ride(ctx, rideID); err != nil {
		return File{}, err
	}
	blob, err := b.Recordings.Put(ctx, r, MaxAudio)
	if err != nil {
		return File{}, err
	}
	f := File{Role: RoleAudio, Seq: seq, Blob: blob.SHA256, Name: "sound", Media: cleanMedia(media), Size: blob.Size, AtS: atS, Added: b.Now()}
	return f, b.AddFile(ctx, rideID, f)
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

// AddTranscript keeps what a transcriber wrote of a ride's sound, when it can be read.
func (b *Book) AddTranscript(ctx context.Context, rideID, name string, words []byte) error {
	if _, ps := remarks.Read(name, words); sheet.HasErrors(ps) {
		return inputError("the transcript", ps)
	}
	return b.AddFileTo(ctx, rideID, GivenFile{Role: RoleCommentary, Name: name, Media: "text/vtt", Data: words})
}

// CloseRide ends the time in which notes are taken; closing twice changes nothing.
func (b *Book) CloseRide(ctx context.Context, rideID string) error {
	return b.Atomically(ctx, func(s Store) error {
		r, err := s.Ride(ctx, rideID)
		if err != nil || !r.Riding() {
			return err
		}
		r.Closed = b.Now()
		return s.PutRide(ctx, r)
	})
}
