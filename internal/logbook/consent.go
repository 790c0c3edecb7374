package logbook

import (
	"context"
	"strings"
)

// What a person can agree to having recorded.
const (
	ConsentVoice = "voice" // sound beside a ride
	ConsentRide  = "ride"  // position and motion
)

// GivenConsent is what somebody said when they were asked: who agreed, and whether as the guardian
// of a minor.
type GivenConsent struct {
	By       string
	Guardian bool
}

func (c *GivenConsent) said() bool { return c != nil && strings.TrimSpace(c.By) != "" }

// Agreed reports whether a rider's consent to a kind of recording stands. For a minor only a
// guardian's counts.
func (b *Book) Agreed(ctx context.Context, riderID, what string) (bool, error) {
	return agreed(ctx, b.Store, riderID, what)
}

func agreed(ctx context.Context, s Store, riderID, what string) (bool, error) {
	all, err := s.Consents(ctx, riderID)
	if err != nil || len(all) == 0 {
		return false, err
	}
	rider, err := s.Rider(ctx, riderID)
	if err != nil {
		return false, err
	}
	for _, c := range all {
		if c.What == what && c.Withdrawn.IsZero() && (c.Guardian || !rider.Minor) {
			return true, nil
		}
	}
	return false, nil
}

// mustAgree refuses to keep a recording that nobody agreed to, and says how consent is noted.
func mustAgree(ctx context.Context, s Store, riderID, what string) error {
	stands, err := agreed(ctx, s, riderID, what)
	if err != nil || stands {
		return err
	}
	rider, err := s.Rider(ctx, riderID)
	if err != nil {
		return err
	}
	return Errorf(Refused, "%s; nothing was kept. Ask, and say who agreed where the recording is given, on the rider's page under People, or with: ringcraft consent --rider %q --what %s --given-by NAME%s",
		notAgreed(rider, what), rider.Name, what, map[bool]string{true: " --guardian"}[rider.Minor])
}

func notAgreed(rider Rider, what string) string {
	words := map[string]string{ConsentVoice: "sound", ConsentRide: "position and motion"}[what]
	if rider.Minor {
		return "nobody has noted that a guardian of " + rider.Name + ", a minor, agreed to " + words + " being recorded"
	}
	return "nobody has noted that " + rider.Name + " agreed to " + words + " being recorded"
}

// NoteConsent notes that a rider, or the guardian of a minor, agreed. It is asked once: a consent
// that stands is left as it is.
func (b *Book) NoteConsent(ctx context.Context, c Consent) error {
	return b.noteConsent(ctx, b.Store, c)
}

func (b *Book) noteConsent(ctx context.Context, s Store, c Consent) error {
	rider, err := s.Rider(ctx, c.RiderID)
	if err != nil {
		return err
	}
	if c.What != ConsentVoice && c.What != ConsentRide {
		return Errorf(Invalid, "consent to %q: allowed are voice and ride", c.What)
	}
	if c.GivenBy, err = cleanName("who agreed", c.GivenBy); err != nil {
		return err
	}
	switch {
	case rider.Minor && !c.Guardian:
		return Errorf(Refused, "%s is a minor: a guardian must agree", rider.Name)
	case rider.Minor && strings.EqualFold(c.GivenBy, rider.Name):
		return Errorf(Refused, "%s is a minor and cannot agree alone: write the guardian's name", rider.Name)
	}
	stands, err := agreed(ctx, s, c.RiderID, c.What)
	if err != nil || stands {
		return err
	}
	if strings.TrimSpace(c.ID) == "" || len(c.ID) > 80 {
		c.ID = b.NewID()
	}
	c.Given = b.Now()
	return s.PutConsent(ctx, c)
}

// askConsent holds files of a ride to what its rider agreed to: a recording of position or motion
// needs consent, noted before or given now. It is called where the ride is written, so that a
// consent withdrawn meanwhile counts.
func (b *Book) askConsent(ctx context.Context, s Store, riderID string, files []GivenFile, now *GivenConsent) error {
	for _, f := range files {
		if !rolesUnder(ConsentRide)[f.Role] || f.Role == RoleArena {
			continue
		}
		if now.said() {
			if err := b.noteConsent(ctx, s, Consent{RiderID: riderID, What: ConsentRide, GivenBy: now.By, Guardian: now.Guardian}); err != nil {
				return err
			}
		}
		return mustAgree(ctx, s, riderID, ConsentRide)
	}
	return nil
}

// WithdrawConsent ends a consent and removes what was recorded under it: for voice the sound and
// its transcript of all rides of the rider, for ride their tracks and motion. Reviews are computed anew.
func (b *Book) WithdrawConsent(ctx context.Context, riderID, what string) (removed int, err error) {
	if what != ConsentVoice && what != ConsentRide {
		return 0, Errorf(Invalid, "consent to %q: allowed are voice and ride", what)
	}
	var blobs []string
	err = b.Atomically(ctx, func(s Store) error {
		blobs = nil
		all, err := s.Consents(ctx, riderID)
		if err != nil {
			return err
		}
		for _, c := range all {
			if c.What != what || !c.Withdrawn.IsZero() {
				continue
			}
			c.Withdrawn = b.Now()
			if err := s.PutConsent(ctx, c); err != nil {
				return err
			}
		}
		blobs, err = dropFiles(ctx, s, riderID, rolesUnder(what))
		return err
	})
	if err != nil {
		return 0, err
	}
	return len(blobs), b.sweep(ctx, blobs)
}

func rolesUnder(what string) map[Role]bool {
	if what == ConsentVoice {
		return map[Role]bool{RoleAudio: true, RoleCommentary: true}
	}
	return map[Role]bool{RoleTrack: true, RoleMotion: true, RoleArena: true}
}

// dropFiles takes files of some roles off all rides of a rider and returns what they held.
func dropFiles(ctx context.Context, s Store, riderID string, roles map[Role]bool) ([]string, error) {
	rides, err := ridesWhere(ctx, s, func(c Combination) bool { return c.RiderID == riderID })
	if err != nil {
		return nil, err
	}
	var blobs []string
	for _, r := range rides {
		var keep []File
		for _, f := range r.Files {
			if roles[f.Role] {
				blobs = append(blobs, f.Blob)
			} else {
				keep = append(keep, f)
			}
		}
		if len(keep) == len(r.Files) {
			continue
		}
		r.Files = keep
		if err := s.PutRide(ctx, r); err != nil {
			return nil, err
		}
		if err := s.RemoveComputed(ctx, r.ID); err != nil {
			return nil, err
		}
	}
	return blobs, nil
}

// ridesWhere lists the rides of combinations that fit.
func ridesWhere(ctx context.Context, s Store, fits func(Combination) bool) ([]Ride, error) {
	combos, err := s.Combinations(ctx)
	if err != nil {
		return nil, err
	}
	var out []Ride
	for _, c := range combos {
		if !fits(c) {
			continue
		}
		rides, err := s.Rides(ctx, RideFilter{CombinationID: c.ID})
		if err != nil {
			return nil, err
		}
		out = append(out, rides...)
	}
	return out, nil
}

// ForgetRider removes a rider with all that belongs to them, recordings included.
func (b *Book) ForgetRider(ctx context.Context, id string) error {
	return b.forget(ctx, func(c Combination) bool { return c.RiderID == id }, func(s Store) error { return s.RemoveRider(ctx, id) })
}

// ForgetHorse removes a horse with all that belongs to it, recordings included.
func (b *Book) ForgetHorse(ctx context.Context, id string) error {
	return b.forget(ctx, func(c Combination) bool { return c.HorseID == id }, func(s Store) error { return s.RemoveHorse(ctx, id) })
}

// ForgetRide removes a ride with its notes and recordings.
func (b *Book) ForgetRide(ctx context.Context, id string) error {
	r, err := b.Ride(ctx, id)
	if err != nil {
		return err
	}
	var blobs []string
	for _, f := range r.Files {
		blobs = append(blobs, f.Blob)
	}
	if err := b.RemoveRide(ctx, id); err != nil {
		return err
	}
	return b.sweep(ctx, blobs)
}

// forget removes records first, then the recordings that no other ride names: a crash between
// leaves recordings that belong to no ride, which the check tells of, never a ride without one.
func (b *Book) forget(ctx context.Context, fits func(Combination) bool, remove func(Store) error) error {
	var blobs []string
	err := b.Atomically(ctx, func(s Store) error {
		blobs = nil
		rides, err := ridesWhere(ctx, s, fits)
		if err != nil {
			return err
		}
		for _, r := range rides {
			for _, f := range r.Files {
				blobs = append(blobs, f.Blob)
			}
			if err := s.RemoveComputed(ctx, r.ID); err != nil {
				return err
			}
		}
		return remove(s)
	})
	if err != nil {
		return err
	}
	return b.sweep(ctx, blobs)
}

// sweep removes those recordings that no ride names any more.
func (b *Book) sweep(ctx context.Context, blobs []string) error {
	if len(blobs) == 0 {
		return nil
	}
	rides, err := b.Rides(ctx, RideFilter{})
	if err != nil {
		return err
	}
	used := map[string]bool{}
	for _, r := range rides {
		for _, f := range r.Files {
			used[f.Blob] = true
		}
	}
	for _, sum := range blobs {
		if used[sum] {
			continue
		}
		used[sum] = true // once
		if err := b.Recordings.Remove(ctx, sum); err != nil {
			return err
		}
	}
	return nil
}
