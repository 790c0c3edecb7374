package sqlite

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"ringcraft/internal/logbook"
)

// BenchmarkManyWriters lets 50 phones add notes at once, one a commit, as at a clinic.
func BenchmarkManyWriters(b *testing.B) {
	ctx := context.Background()
	s, err := Open(ctx, filepath.Join(b.TempDir(), "book.sqlite"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	for _, err := range []error{
		s.PutSheet(ctx, logbook.Sheet{ID: "s", Name: "s", Version: 1}), s.PutRider(ctx, logbook.Rider{ID: "r", Name: "r"}),
		s.PutHorse(ctx, logbook.Horse{ID: "h", Name: "h"}), s.PutCombination(ctx, logbook.Combination{ID: "c", RiderID: "r", HorseID: "h"}),
		s.PutRide(ctx, logbook.Ride{ID: "ride", CombinationID: "c", SheetID: "s", SheetVersion: 1, Date: "2026-06-01"}),
	} {
		if err != nil {
			b.Fatal(err)
		}
	}
	var mu sync.Mutex
	var took []time.Duration
	b.ResetTimer()
	for run := range b.N {
		var wg sync.WaitGroup
		for p := range 50 {
			wg.Go(func() {
				for k := range 20 {
					began := time.Now()
					n := logbook.Note{ID: fmt.Sprintf("%d-%d-%d", run, p, k), RideID: "ride", Device: fmt.Sprint(run, "-", p), Seq: int64(k + 1), Kind: logbook.NoteLater}
					if _, err := s.AddNotes(ctx, []logbook.Note{n}); err != nil {
						b.Error(err)
					}
					mu.Lock()
					took = append(took, time.Since(began))
					mu.Unlock()
				}
			})
		}
		wg.Wait()
	}
	slices.Sort(took)
	ms := func(q float64) float64 { return float64(took[int(q*float64(len(took)-1))].Microseconds()) / 1000 }
	b.ReportMetric(ms(0.5), "median-ms")
	b.ReportMetric(ms(0.99), "p99-ms")
	b.ReportMetric(ms(1), "worst-ms")
}
