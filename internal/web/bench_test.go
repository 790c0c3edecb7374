package web

import (
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/recordings"
	"ringcraft/internal/sqlite"
)

// storedYard is the demo yard on disk, its reviews made.
func storedYard(b *testing.B) *logbook.Book {
	b.Helper()
	dir := b.TempDir()
	st, err := sqlite.Open(ctx, filepath.Join(dir, "book.sqlite"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { st.Close() })
	rec, err := recordings.Open(filepath.Join(dir, "recordings"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { rec.Close() })
	book := testBook()
	book.Store, book.Recordings = st, rec
	if err := demo.Load(ctx, book, demoDay, nil); err != nil {
		b.Fatal(err)
	}
	return book
}

var benchPages = []string{"/", "/sheets/demo-sheet", "/combinations/demo-ilse-quillon", "/rides/demo-quillon-1", "/compare/demo-quillon-1/demo-quillon-2", "/day"}

func pageName(path string) string { return strings.ReplaceAll("page"+path, "/", "_") }

// BenchmarkPage is a page of a running server on SQLite: reviews and plans remembered.
func BenchmarkPage(b *testing.B) {
	h := site(b, storedYard(b))
	for _, path := range benchPages {
		get(b, h, path)
		b.Run(pageName(path), func(b *testing.B) {
			for b.Loop() {
				if status, _ := get(b, h, path); status != http.StatusOK {
					b.Fatal(status)
				}
			}
		})
	}
}

// BenchmarkFirstPage is the first page after a start: nothing remembered, reviews from the store.
func BenchmarkFirstPage(b *testing.B) {
	book := storedYard(b)
	get(b, site(b, book), "/rides/demo-quillon-1")
	for _, path := range benchPages {
		b.Run(pageName(path), func(b *testing.B) {
			for b.Loop() {
				fresh := &logbook.Book{Store: book.Store, Recordings: book.Recordings, Now: book.Now, NewID: book.NewID}
				if status, _ := get(b, site(b, fresh), path); status != http.StatusOK {
					b.Fatal(status)
				}
			}
		})
	}
}

// BenchmarkBusyYard is the yard, a combination's and a ride's page with 40 pairs of 50 rides each
// beside the demo: the pages should not notice.
func BenchmarkBusyYard(b *testing.B) {
	book := storedYard(b)
	err := book.Atomically(ctx, func(s logbook.Store) error {
		for i := range 40 {
			id := fmt.Sprintf("pair%02d", i)
			if err := fillPair(s, id); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	h := site(b, book)
	for _, path := range []string{"/", "/combinations/demo-ilse-quillon", "/rides/demo-quillon-1"} {
		get(b, h, path)
		b.Run(pageName(path), func(b *testing.B) {
			for b.Loop() {
				if status, _ := get(b, h, path); status != http.StatusOK {
					b.Fatal(status)
				}
			}
		})
	}
}

func fillPair(s logbook.Store, id string) error {
	steps := []error{
		s.PutRider(ctx, logbook.Rider{ID: id + "r", Name: "Rider " + id}),
		s.PutHorse(ctx, logbook.Horse{ID: id + "h", Name: "Horse " + id}),
		s.PutCombination(ctx, logbook.Combination{ID: id, RiderID: id + "r", HorseID: id + "h"}),
	}
	for k := range 50 {
		r := logbook.Ride{ID: fmt.Sprintf("%s-%02d", id, k), CombinationID: id, SheetID: demo.SheetID, SheetVersion: 1, Date: demoDay.Add(-7 * k), Kind: logbook.Training,
			Files: []logbook.File{{Role: logbook.RoleMarks, Blob: strings.Repeat("0", 64), Name: "m.csv"}, {Role: logbook.RoleTrack, Blob: strings.Repeat("1", 64), Name: "t.csv"}}}
		steps = append(steps, s.PutRide(ctx, r))
	}
	for _, err := range steps {
		if err != nil {
			return err
		}
	}
	return nil
}
