package logbook

import (
	"context"
	"slices"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/judging"
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
	About                  AboutTrack
	// Tell, when set, hears what was noticed about files that could be read: warnings and notes.
	Tell func([]Problem)
	// Consent is what was said when the rider was asked about the recording; nil when it was noted
	// before.
	Consent *GivenConsent
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
	n.About.keepWith(n.Files)
	if !n.Consent.said() { // asked before a large recording is read
		if err := b.askConsent(ctx, b.Store, pair.RiderID, n.Files, nil); err != nil {
			return Ride{}, err
		}
	}
	in := given{ride: r, pair: pair, sheet: sh, files: n.Files}
	if err := b.readable(ctx, in, n.Tell); err != nil {
		return Ride{}, err
	}
	return b.keepRide(ctx, r, pair.RiderID, n)
}

// keepRide stores the files, then the ride that names them. Files of a ride that is not kept
// after all are taken away again.
func (b *Book) keepRide(ctx context.Context, r Ride, riderID string, n NewRide) (Ride, error) {
	kept, err := b.putFiles(ctx, n.Files, r.Made)
	if err != nil {
		return Ride{}, err
	}
	r.Files = sortedFiles(kept)
	err = b.Atomically(ctx, func(s Store) error {
		if err := b.askConsent(ctx, s, riderID, n.Files, n.Consent); err != nil {
			return err
		}
		return s.PutRide(ctx, r)
	})
	return r, b.orSweep(ctx, err, kept)
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
	if err := n.About.check(); err != nil {
		return err
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
func (b *Book) readable(ctx context.Context, in given, tell func([]Problem)) error {
	res, err := ReviewRide(ctx, in.input(nil))
	if err != nil {
		return err
	}
	if err := inputError("what was given", res.Problems); err != nil || tell == nil {
		return err
	}
	tell(res.Problems)
	return nil
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
