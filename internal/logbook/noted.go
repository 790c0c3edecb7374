package logbook

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ringcraft/internal/gait"
)

// Standing returns the notes that were not taken back, in the order of the ride's clock. An
// undo takes back the note it names and nothing else; an undo can be taken back too. Corrections
// of remarks are not among them: they are about other notes.
func Standing(notes []Note) []Note {
	gone := map[string]bool{}
	// Later ones first, so that an undo that was itself taken back has no effect.
	ordered := slices.Clone(notes)
	slices.SortStableFunc(ordered, func(a, b Note) int { return cmp.Or(strings.Compare(a.Device, b.Device), cmp.Compare(b.Seq, a.Seq)) })
	for _, n := range ordered {
		if n.Kind == NoteUndo && !gone[n.ID] {
			gone[n.Undoes] = true
		}
	}
	out := []Note{}
	for _, n := range notes {
		if n.Kind != NoteUndo && n.Kind != NoteCorrect && n.Kind != NotePart && !gone[n.ID] {
			out = append(out, n)
		}
	}
	slices.SortStableFunc(out, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.AtS, b.AtS), strings.Compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq))
	})
	return out
}

// marksOf writes the marks and errors of course among the notes as a marks file; nil without
// any. The last mark of a judge for a movement counts: it is how a mark is corrected.
func marksOf(notes []Note) []byte {
	type key struct{ what, judge string }
	last := map[key]Note{}
	var order []key
	errors := 0
	for _, n := range Standing(notes) {
		k := key{fmt.Sprint(n.Movement), cmp.Or(n.Judge, "trainer")}
		switch {
		case n.Kind == NoteError:
			errors++
			k = key{"error", k.judge + fmt.Sprint(errors)}
		case n.Kind != NoteMark || n.Judge == JudgeUnseen:
			continue
		case n.Collective != "":
			k.what = "collective:" + n.Collective
		}
		if _, known := last[k]; !known {
			order = append(order, k)
		}
		last[k] = n
	}
	if len(order) == 0 {
		return nil
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write([]string{"movement", "judge", "mark", "remark"})
	for _, k := range order {
		n := last[k]
		w.Write([]string{k.what, cmp.Or(n.Judge, "trainer"), n.Mark, n.Text})
	}
	w.Flush() // into memory: cannot fail
	return b.Bytes()
}

// wordsOf writes the spoken-like notes (remarks and fault words) as WebVTT on the ride's clock;
// nil without any.
func wordsOf(notes []Note) []byte {
	var b bytes.Buffer
	for _, n := range Standing(notes) {
		if (n.Kind != NoteRemark && n.Kind != NoteFault) || strings.TrimSpace(n.Text) == "" {
			continue
		}
		if b.Len() == 0 {
			b.WriteString("WEBVTT\n")
		}
		text := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\r", " ", "\n", " ").Replace(n.Text)
		fmt.Fprintf(&b, "\n%s --> %s\n%s\n", vttTime(n.AtS), vttTime(n.AtS+1.5), text)
	}
	return b.Bytes()
}

func vttTime(s float64) string {
	ms := int64(math.Round(math.Max(s, 0) * 1000))
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3600000, ms/60000%60, ms/1000%60, ms%1000)
}

// tapsOf turns the taps of "this movement begins now" into the starts of movements on the ride's
// clock. The last tap of a movement counts.
func tapsOf(notes []Note) map[int]gait.Seconds {
	out := map[int]gait.Seconds{}
	for _, n := range Standing(notes) {
		if n.Kind == NoteNow && n.Movement > 0 {
			out[n.Movement] = gait.Seconds(n.AtS)
		}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// MaxNoteText is the most characters of one note, MaxNotes the most notes sent at once.
const (
	MaxNoteText = 2000
	MaxNotes    = 500
)

// checkNotes refuses notes that cannot be: better a clear answer to the phone than a row that
// nothing can read.
func checkNotes(rideID string, notes []Note) error {
	if len(notes) > MaxNotes {
		return Errorf(TooLarge, "at most %d notes at once; send the rest after these", MaxNotes)
	}
	for _, n := range notes {
		if err := checkNote(rideID, n); err != nil {
			return err
		}
	}
	return nil
}

func checkNote(rideID string, n Note) error {
	switch {
	case n.ID == "" || len(n.ID) > 80 || n.Device == "" || len(n.Device) > 80 || n.Seq < 1:
		return Errorf(Invalid, "a note has an id, a device and a number in its sequence")
	case n.RideID != rideID:
		return Errorf(Invalid, "note %s belongs to another ride", n.ID)
	case !slices.Contains(NoteKinds(), n.Kind):
		return Errorf(Invalid, "note %s is of kind %q; allowed: %v", n.ID, n.Kind, NoteKinds())
	case math.IsNaN(n.AtS) || n.AtS < -3600 || n.AtS > 24*3600:
		return Errorf(Invalid, "note %s is at %g s; a ride's clock runs from 0 to a day", n.ID, n.AtS)
	case n.Movement < 0 || n.Movement > 999:
		return Errorf(Invalid, "note %s is for movement %d", n.ID, n.Movement)
	case n.Kind == NoteMark && !validMark(n.Mark):
		return Errorf(Invalid, "note %s has the mark %q; marks go from 0 to 10", n.ID, n.Mark)
	case utf8.RuneCountInString(n.Text) > MaxNoteText || !utf8.ValidString(n.Text+n.Judge+n.Collective) || len(n.Judge)+len(n.Collective)+len(n.Clock) > 400:
		return Errorf(TooLarge, "note %s has more than %d characters or is not text", n.ID, MaxNoteText)
	}
	return nil
}

// validMark reports whether a mark is a number from 0 to 10; which steps are allowed is the rule
// set's to say, later.
func validMark(s string) bool {
	v := markValue(s)
	return v >= 0 && v <= 10
}

// markValue reads a mark as people type it; what is no number is below every mark.
func markValue(s string) float64 {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(s), ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) {
		return -1
	}
	return v
}
