package logbook

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/remarks"
)

// Wording is a remark as a rider reads it.
type Wording = remarks.Wording

// Correction is the trainer's word on one remark of a ride's commentary. The remark is found by its
// words, and by its time where the same words were said more than once, so that it is found again
// when the commentary is placed anew.
type Correction struct {
	Said     string   `json:"said"` // the remark's text, its first characters where it is long
	AtS      float64  `json:"at_s"`
	Movement *int     `json:"movement,omitempty"` // where it belongs; 0: to no movement. Nil: as placed
	Wording  *Wording `json:"wording,omitempty"`  // how the rider reads it. Nil: not said
	// Plain takes a kept wording back.
	Plain bool `json:"plain,omitempty"`
}

// MovedByTrainer is why a corrected remark belongs where it does.
const MovedByTrainer = "moved here by the trainer"

// deviceDesk is where corrections come from, keySaid how many characters name a remark.
const (
	deviceDesk = "desk"
	keySaid    = 200
)

// MaxWording is the most characters of each part of a wording.
const MaxWording = 300

// correctionsOf are a ride's corrections, oldest first.
func correctionsOf(notes []Note) []Correction {
	var out []Correction
	for _, n := range notes { // of one device, so by sequence
		var c Correction
		if n.Kind == NoteCorrect && json.Unmarshal([]byte(n.Text), &c) == nil {
			out = append(out, c)
		}
	}
	return out
}

// saidKey names a remark by its words.
func saidKey(text string) string {
	r := []rune(strings.Join(strings.Fields(text), " "))
	return string(r[:min(len(r), keySaid)])
}

// theRemark finds the remark a correction is about: the same words, nearest in time.
func (c Correction) theRemark(rs []Remark) int {
	best, far := -1, math.Inf(1)
	for i, r := range rs {
		if d := math.Abs(r.AtS - c.AtS); saidKey(r.Text) == c.Said && d < far {
			best, far = i, d
		}
	}
	return best
}

// correct applies the trainer's corrections to the placed remarks. A correction whose remark is no
// longer said is left alone: it is about another commentary.
func (r *reviewer) correct() {
	p := r.out.Placed
	if p == nil || len(r.in.Corrections) == 0 {
		return
	}
	all := append(slices.Clone(p.Remarks), p.Elsewhere...)
	placed := make([]bool, len(all))
	for i := range p.Remarks {
		placed[i] = true
	}
	for _, c := range r.in.Corrections {
		i := c.theRemark(all)
		if i < 0 || c.Movement == nil {
			continue
		}
		box := r.out.Plan.MovementByNumber(*c.Movement)
		if box == nil && *c.Movement != 0 {
			continue // the sheet has no such movement any more
		}
		k := &all[i]
		k.Movement, k.Also, k.Confidence, k.Doubtful, k.Why = *c.Movement, 0, 1, false, MovedByTrainer
		placed[i] = box != nil
		if box != nil {
			k.Faults = remarks.FaultsIn(k.Text, box.Kinds())
		}
	}
	p.Remarks, p.Elsewhere = nil, nil
	for i, k := range all {
		if placed[i] {
			p.Remarks = append(p.Remarks, k)
		} else {
			p.Elsewhere = append(p.Elsewhere, k)
		}
	}
	byTime := func(a, b Remark) int { return cmp.Compare(a.AtS, b.AtS) }
	slices.SortStableFunc(p.Remarks, byTime)
	slices.SortStableFunc(p.Elsewhere, byTime)
}

// Spoken is a remark of a ride as its page shows it.
type Spoken struct {
	Remark
	Index     int     // among all remarks of the ride, by time
	Movement  int     // 0 for none
	Moved     bool    // by the trainer
	Suggested Wording // from the vocabulary
	Wording   Wording // as the rider reads it: kept, or suggested
	Kept      bool    // the trainer looked at the wording and kept it
}

// SpokenOf lists a review's remarks by time, with the wording of each.
func (b *Book) SpokenOf(ctx context.Context, rev *Review) ([]Spoken, error) {
	notes, err := b.Notes(ctx, rev.Ride.ID)
	if err != nil {
		return nil, err
	}
	var out []Spoken
	add := func(r Remark, movement int) {
		r.Movement = movement
		w := remarks.ShortWording(r, rev.Plan)
		out = append(out, Spoken{Remark: r, Movement: movement, Moved: r.Why == MovedByTrainer, Suggested: w, Wording: w})
	}
	for _, m := range rev.Doc.Movements {
		for _, r := range m.Remarks {
			add(r, m.Number)
		}
	}
	for _, r := range rev.Doc.Elsewhere {
		add(r, 0)
	}
	slices.SortStableFunc(out, func(a, b Spoken) int { return cmp.Compare(a.AtS, b.AtS) })
	plain := make([]Remark, len(out))
	for i := range out {
		out[i].Index, plain[i] = i, out[i].Remark
	}
	for _, c := range correctionsOf(notes) {
		if i := c.theRemark(plain); i >= 0 && (c.Wording != nil || c.Plain) {
			out[i].Wording, out[i].Kept = out[i].Suggested, c.Wording != nil
			if c.Wording != nil {
				was := c.Wording.Movement
				out[i].Wording = *c.Wording
				if out[i].Wording.Movement = out[i].Movement; was != out[i].Movement {
					out[i].Wording.Where = out[i].Suggested.Where // moved since
				}
			}
		}
	}
	return out, nil
}

// CorrectRemark writes the trainer's word on a remark into the book.
func (b *Book) CorrectRemark(ctx context.Context, rideID string, c Correction) error {
	rev, err := b.ReviewOf(ctx, rideID)
	if err != nil {
		return err
	}
	c.Said = saidKey(c.Said)
	if err := checkCorrection(rev, c); err != nil {
		return err
	}
	tidyWording(&c)
	text, err := json.Marshal(c)
	if err != nil {
		return Wrap(Internal, err, "this correction cannot be kept")
	}
	n := Note{RideID: rideID, Device: deviceDesk, Kind: NoteCorrect, Text: string(text), AtS: c.AtS}
	if c.Movement != nil {
		n.Movement = *c.Movement
	}
	return b.addAtDesk(ctx, n)
}

func checkCorrection(rev *Review, c Correction) error {
	var all []Remark
	for _, m := range rev.Doc.Movements {
		all = append(all, m.Remarks...)
	}
	switch {
	case c.theRemark(append(all, rev.Doc.Elsewhere...)) < 0:
		return Errorf(Conflict, "this remark is not in the ride any more; look at the page again")
	case c.Movement != nil && *c.Movement != 0 && rev.Plan.MovementByNumber(*c.Movement) == nil:
		return Errorf(Invalid, "the sheet has no movement %d; allowed: %s", *c.Movement, movementsOf(rev.Plan))
	case c.Wording == nil:
		return nil
	case strings.TrimSpace(c.Wording.Seen) == "":
		return Errorf(Invalid, "say what was seen; to say nothing to the rider, take the wording back")
	}
	for _, part := range []string{c.Wording.Seen, c.Wording.Where, c.Wording.Do} {
		if utf8.RuneCountInString(part) > MaxWording || !utf8.ValidString(part) {
			return Errorf(Invalid, "each part of the wording has at most %d characters; shorter is read sooner", MaxWording)
		}
	}
	return nil
}

// tidyWording puts each part on one line.
func tidyWording(c *Correction) {
	if c.Wording == nil {
		return
	}
	w := *c.Wording
	for _, part := range []*string{&w.Seen, &w.Where, &w.Do} {
		*part = strings.Join(strings.Fields(*part), " ")
	}
	c.Wording = &w
}

// movementsOf says which movements there are.
func movementsOf(p *Plan) string {
	if len(p.Movements) == 0 {
		return "none"
	}
	return fmt.Sprintf("%d to %d", p.Movements[0].Number, p.Movements[len(p.Movements)-1].Number)
}
