package logbook

import (
	"context"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"ringcraft/internal/diagnose"
)

// JudgeUnseen is the name under which marks given again from a recording, in shuffled order and
// without knowing the ride, are noted. They never enter a ride's own score.
const JudgeUnseen = "unseen"

// deviceUnseen is where such notes come from.
const deviceUnseen = "unseen"

// Clip is one movement of one of two rides, to be marked without knowing which.
type Clip struct {
	RideID   string
	Movement int
}

// UnseenOrder is the order in which the movements of two compared rides are marked again: always
// the same for the same two rides, so that one can stop and go on.
func (b *Book) UnseenOrder(c *Compared) []Clip {
	h := fnv.New64a()
	fmt.Fprint(h, c.Before.Ride.ID, " ", c.After.Ride.ID)
	rides := []*Review{c.Before, c.After}
	facts := []diagnose.RideFacts{onlyRecorded(c.Before), onlyRecorded(c.After)}
	var out []Clip
	for _, k := range diagnose.BlindOrder(facts, h.Sum64()) {
		out = append(out, Clip{rides[k.Ride].Ride.ID, k.Movement})
	}
	return out
}

// onlyRecorded keeps the movements that a recording shows: others cannot be marked from it.
func onlyRecorded(rev *Review) diagnose.RideFacts {
	f := rev.Facts()
	shown := map[int]bool{}
	for _, p := range rev.Line {
		shown[p.Movement] = true
	}
	f.Movements = slices.DeleteFunc(slices.Clone(f.Movements), func(m diagnose.MovementFacts) bool { return !shown[m.Number] })
	return f
}

// MarkUnseen keeps marks given unseen, by clip. A later mark of a clip replaces an earlier one; no
// mark that was given is forgotten.
func (b *Book) MarkUnseen(ctx context.Context, marks map[Clip]string) error {
	clips := make([]Clip, 0, len(marks))
	for k, m := range marks {
		if !validMark(m) {
			return Errorf(Invalid, "%q is no mark; marks go from 0 to 10", m)
		}
		clips = append(clips, k)
	}
	slices.SortFunc(clips, func(a, c Clip) int {
		return strings.Compare(fmt.Sprintf("%s %05d", a.RideID, a.Movement), fmt.Sprintf("%s %05d", c.RideID, c.Movement))
	})
	return b.Atomically(ctx, func(s Store) error {
		for _, k := range clips {
			if err := b.noteUnseen(ctx, s, k, marks[k]); err != nil {
				return err
			}
		}
		return nil
	})
}

func (b *Book) noteUnseen(ctx context.Context, s Store, k Clip, mark string) error {
	notes, err := s.Notes(ctx, k.RideID)
	if err != nil {
		return err
	}
	var last int64
	for _, n := range notes {
		if n.Device == deviceUnseen {
			last = max(last, n.Seq)
		}
	}
	if unseenMarks(notes)[k.Movement] == mark {
		return nil // as it was
	}
	_, err = s.AddNotes(ctx, []Note{{ID: fmt.Sprintf("unseen-%s-%d", k.RideID, last+1), RideID: k.RideID, Device: deviceUnseen, Seq: last + 1,
		Kind: NoteMark, Movement: k.Movement, Judge: JudgeUnseen, Mark: mark, Received: b.Now()}})
	return err
}

// unseenMarks are the marks given unseen that count, by movement.
func unseenMarks(notes []Note) map[int]string {
	out := map[int]string{}
	for _, n := range notes { // by device, then sequence: the last one counts
		if n.Device == deviceUnseen && n.Kind == NoteMark {
			out[n.Movement] = n.Mark
		}
	}
	return out
}

// UnseenMarks are the marks given unseen of a ride, by movement.
func (b *Book) UnseenMarks(ctx context.Context, rideID string) (map[int]string, error) {
	notes, err := b.Notes(ctx, rideID)
	return unseenMarks(notes), err
}

// CompareUnseen compares two rides by the marks given unseen; nil while fewer than three
// movements were marked unseen in both.
func (b *Book) CompareUnseen(ctx context.Context, c *Compared) (*diagnose.Comparison, error) {
	before, n, err := b.unseenFacts(ctx, c.Before)
	if err != nil {
		return nil, err
	}
	after, m, err := b.unseenFacts(ctx, c.After)
	if err != nil || min(n, m) < 3 {
		return nil, err
	}
	out, err := diagnose.Compare(before, after)
	if err != nil {
		return nil, Wrap(Invalid, err, "these two rides cannot be compared: %s", err.Error())
	}
	return &out, nil
}

// unseenFacts are a ride's facts with the marks given unseen in place of its own.
func (b *Book) unseenFacts(ctx context.Context, rev *Review) (diagnose.RideFacts, int, error) {
	marks, err := b.UnseenMarks(ctx, rev.Ride.ID)
	if err != nil {
		return diagnose.RideFacts{}, 0, err
	}
	f := rev.Facts()
	f.Blind, f.Percent, f.Taught = true, nil, nil
	f.Movements = slices.Clone(f.Movements)
	for i := range f.Movements {
		m := &f.Movements[i]
		m.Marks = nil
		if mark, ok := marks[m.Number]; ok {
			m.Marks = []diagnose.JudgeMark{{Judge: JudgeUnseen, Mark: markValue(mark)}}
		}
	}
	return f, len(marks), nil
}
