package demo_test

import (
	"bytes"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
)

// TestReviewIsMadeAgainWhenAnInputChanges follows the stamp of a review: same inputs, same stamp;
// a note, another horse file or an earlier ride makes another.
func TestReviewIsMadeAgainWhenAnInputChanges(t *testing.T) {
	b := scratch(t)
	stamp := func() string {
		t.Helper()
		rev, err := b.ReviewOf(ctx, demo.ShowRide)
		if err != nil {
			t.Fatal(err)
		}
		return rev.Stamp
	}
	was := stamp()
	if again := stamp(); again != was {
		t.Error("the stamp changes by itself")
	}
	if _, err := b.TakeNotes(ctx, demo.BetterBefore, []logbook.Note{{ID: "n", RideID: demo.BetterBefore, Device: "d", Seq: 1, Kind: logbook.NoteRemark, Text: "hollow", AtS: 30}}); err != nil {
		t.Fatal(err)
	}
	now := stamp()
	if now == was {
		t.Error("a note on an earlier ride, which the review hears of, did not change it")
	}
	c, err := b.Combination(ctx, "demo-ilse-quillon")
	if err != nil {
		t.Fatal(err)
	}
	h, err := b.Horse(ctx, c.HorseID)
	if err != nil {
		t.Fatal(err)
	}
	h.Profile = strings.Replace(h.Profile, `"age_years": 11`, `"age_years": 12`, 1)
	if err := b.PutHorse(ctx, h); err != nil {
		t.Fatal(err)
	}
	if stamp() == now {
		t.Error("another horse file did not change the review")
	}
}

// TestStaleCacheIsNotTrusted plants results of another stamp and broken ones.
func TestStaleCacheIsNotTrusted(t *testing.T) {
	b := loaded(t)
	want, err := b.ReviewOf(ctx, demo.ShowRide)
	if err != nil {
		t.Fatal(err)
	}
	for _, plant := range []logbook.Computed{
		{Kind: "review", Subject: demo.ShowRide, Stamp: "of another version", Value: []byte(`{"doc":{"sheet":"stale"}}`)},
		{Kind: "review", Subject: demo.ShowRide, Stamp: want.Stamp, Value: []byte(`{"doc":`)},
		{Kind: "review", Subject: demo.ShowRide, Stamp: want.Stamp, Value: []byte(`null`)},
	} {
		fresh := &logbook.Book{Store: b.Store, Recordings: b.Recordings, Now: b.Now, NewID: b.NewID}
		if err := fresh.PutComputed(ctx, plant); err != nil {
			t.Fatal(err)
		}
		got, err := fresh.ReviewOf(ctx, demo.ShowRide)
		if err != nil || got.Doc.Sheet != want.Doc.Sheet || len(got.Doc.Movements) != len(want.Doc.Movements) {
			t.Errorf("a planted result was used: %v %+v", err, got.Doc.Sheet)
		}
	}
}

// TestTappedRide reviews a ride that was only watched and tapped: marks, remarks and starts come
// from the notes.
func TestTappedRide(t *testing.T) {
	b := scratch(t)
	r, err := b.AddRide(ctx, logbook.NewRide{ID: "tapped", CombinationID: "demo-tom-larkspur", SheetID: demo.SheetID, Date: today, Kind: logbook.Training, Watch: true})
	if err != nil || !r.Riding() {
		t.Fatalf("%v, riding %v", err, r.Riding())
	}
	note := func(seq int64, kind logbook.NoteKind, at float64, movement int, mark, text string) logbook.Note {
		return logbook.Note{ID: string(kind) + text + mark, RideID: "tapped", Device: "d", Seq: seq, Kind: kind, AtS: at, Movement: movement, Mark: mark, Text: text}
	}
	notes := []logbook.Note{
		note(1, logbook.NoteNow, 0, 1, "", "one"), note(2, logbook.NoteMark, 20, 1, "6.5", ""), note(3, logbook.NoteNow, 36, 2, "", "two"),
		note(4, logbook.NoteRemark, 48, 2, "", "circle too large"), note(5, logbook.NoteMark, 55, 2, "5.5", ""), note(6, logbook.NoteNow, 60, 3, "", "three"),
	}
	if _, err := b.TakeNotes(ctx, "tapped", notes); err != nil {
		t.Fatal(err)
	}
	rev, err := b.ReviewOf(ctx, "tapped")
	if err != nil {
		t.Fatal(err)
	}
	two := rev.Doc.Movements[1]
	if len(two.Marks) != 1 || two.Marks[0].Mark != 5.5 || two.StartS == nil || *two.StartS != 36 || two.SpanSource != "taps" {
		t.Errorf("movement 2: %+v", two)
	}
	if len(two.Remarks) != 1 || two.Remarks[0].Text != "circle too large" {
		t.Errorf("remarks of movement 2: %+v", two.Remarks)
	}
	if err := b.CloseRide(ctx, "tapped"); err != nil {
		t.Fatal(err)
	}
	if r, _ := b.Ride(ctx, "tapped"); r.Riding() {
		t.Error("closed, and still being ridden")
	}
}

// TestSoundComesBackInPieces stores three pieces, one of them twice, and reads them as one.
func TestSoundComesBackInPieces(t *testing.T) {
	b := scratch(t)
	for _, p := range []struct {
		seq  int
		data string
	}{{2, "cc"}, {0, "aa"}, {1, "bb"}, {1, "bb"}} {
		if _, err := b.AddSound(ctx, demo.ShowRide, p.seq, float64(p.seq), "audio/webm;codecs=opus", strings.NewReader(p.data)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.AddSound(ctx, demo.ShowRide, 1, 1, "audio/webm", strings.NewReader("other")); logbook.CodeOf(err) != logbook.Conflict {
		t.Errorf("another piece under the same number: %v", err)
	}
	if _, err := b.AddSound(ctx, demo.ShowRide, 9, 1, "audio/webm", bytes.NewReader(make([]byte, logbook.MaxAudio+1))); logbook.CodeOf(err) != logbook.TooLarge {
		t.Errorf("a piece that is too large: %v", err)
	}
	s, err := b.Sound(ctx, demo.ShowRide)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var got bytes.Buffer
	if _, err := got.ReadFrom(s); err != nil || got.String() != "aabbcc" {
		t.Errorf("got %q, %v", got.String(), err)
	}
	if err := b.AddTranscript(ctx, demo.ShowRide, "t.vtt", []byte("WEBVTT\n\n00:09.000 --> 00:05.000\nx\n")); logbook.CodeOf(err) != logbook.Invalid {
		t.Errorf("a transcript that cannot be read: %v", err)
	}
	if err := b.AddTranscript(ctx, demo.ShowRide, "t.vtt", []byte("WEBVTT\n\n00:35.000 --> 00:38.000\ncircle too large\n")); err != nil {
		t.Error(err)
	}
}
