package sqlite

import (
	"fmt"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/booktest"
)

func benchStore(b *testing.B) *Store {
	s := fresh(b)
	booktest.Seed(b, s)
	if err := s.PutRide(ctx, logbook.Ride{ID: "a", CombinationID: "c1", SheetID: "s1", SheetVersion: 1, Date: "2026-05-01", Kind: logbook.Training}); err != nil {
		b.Fatal(err)
	}
	return s
}

// BenchmarkOneNote is one note in a transaction of its own, on disk when it returns.
func BenchmarkOneNote(b *testing.B) {
	s := benchStore(b)
	i := int64(0)
	for b.Loop() {
		i++
		if _, err := s.AddNotes(ctx, []logbook.Note{{ID: fmt.Sprint(i), RideID: "a", Device: "d", Seq: i, Kind: logbook.NoteNow}}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBareInsert is the least SQLite can do for one durable row with the same settings: the
// peer of BenchmarkOneNote.
func BenchmarkBareInsert(b *testing.B) {
	s := benchStore(b)
	if _, err := s.db.Exec("CREATE TABLE bare (id TEXT PRIMARY KEY, text TEXT NOT NULL) STRICT"); err != nil {
		b.Fatal(err)
	}
	i := 0
	for b.Loop() {
		i++
		if _, err := s.db.Exec("INSERT INTO bare VALUES (?, ?)", fmt.Sprint(i), "now"); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkHundredNotes is one batch of a phone that was without a signal.
func BenchmarkHundredNotes(b *testing.B) {
	s := benchStore(b)
	i := int64(0)
	for b.Loop() {
		var batch []logbook.Note
		for range 100 {
			i++
			batch = append(batch, logbook.Note{ID: fmt.Sprint(i), RideID: "a", Device: "d", Seq: i, Kind: logbook.NoteNow})
		}
		if _, err := s.AddNotes(ctx, batch); err != nil {
			b.Fatal(err)
		}
	}
}
