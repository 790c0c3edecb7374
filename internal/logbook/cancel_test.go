package logbook

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"testing"
	"time"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// cancelSheet is a small sheet without faults.
const cancelSheet = `name: Reed Hollow 1
arena: 20 x 40
rules: club

1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m
4    FXH    Change the rein
5    A      Down the centre line
     X      Halt, salute
`

// recorded is a ride of that sheet: positions on the earth, which have to be placed by the ride, and motion.
func recorded(t *testing.T) (positions, motion []byte) {
	t.Helper()
	p := rideplan.CompileText("sheet", cancelSheet, rideplan.Options{})
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.15, Speed: 0.03}}, 11)
	r := csv.NewReader(bytes.NewReader(sim.Record(tr, sim.Sensor{WhiteSD: 0.03, WanderSD: 0.05, WanderTau: 60, RateHz: 5}, 11)))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	b.WriteString("time,lat,lon\n")
	for _, row := range rows[1:] {
		x, err1 := strconv.ParseFloat(row[1], 64)
		y, err2 := strconv.ParseFloat(row[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(row)
		}
		fmt.Fprintf(&b, "%s,%.9f,%.9f\n", row[0], 50+y/111229, 8+x/71696)
	}
	return b.Bytes(), sim.RecordMotion(tr, tr.Legs(p, sim.Going{}, 11), sim.MotionSensor{RateHz: 25, Gyro: true}, 11)
}

// memoryRecordings is a store of recordings in memory.
type memoryRecordings struct{ there map[string][]byte }

func (n *memoryRecordings) Put(ctx context.Context, r io.Reader, limit int64) (Blob, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return Blob{}, err
	}
	sum := fmt.Sprint(len(data))
	n.there[sum] = data
	return Blob{SHA256: sum, Size: int64(len(data))}, ctx.Err()
}

func (n *memoryRecordings) Open(context.Context, string) (io.ReadSeekCloser, error) {
	return nil, errors.New("not asked for here")
}

func (n *memoryRecordings) Read(_ context.Context, sum string, _ int64) ([]byte, error) {
	return n.there[sum], nil
}

func (n *memoryRecordings) Remove(_ context.Context, sum string) error {
	delete(n.there, sum)
	return nil
}

func (n *memoryRecordings) Each(context.Context, func(Blob) error) error { return nil }

// memoryBook is a book with one pair and that sheet.
func memoryBook(t *testing.T) *Book {
	t.Helper()
	b := &Book{Store: NewMemory(), Recordings: &memoryRecordings{there: map[string][]byte{}}, Now: func() time.Time { return time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC) }, NewID: func() string { return "ride" }}
	ctx := context.Background()
	for _, err := range []error{
		b.PutRider(ctx, Rider{ID: "r", Name: "Ada"}), b.PutHorse(ctx, Horse{ID: "h", Name: "Bo"}),
		b.PutCombination(ctx, Combination{ID: "c", RiderID: "r", HorseID: "h"}),
		b.PutSheet(ctx, Sheet{ID: "s", Name: "S", Version: 1, Text: cancelSheet, Saved: b.Now()}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return b
}

// stages are all that a long recording with motion, placed by the ride itself, goes through.
var stages = []string{"reading the recording", "reading the motion", "bringing the clocks together", "taking out the jitter",
	"finding how it lies in the arena", "finding the movements", "counting strides", "measuring the movements"}

// TestCancelledAtAnyStage cancels the keeping of a ride at the first, second, fourth ... word of every stage: the
// work ends before it says another word, and neither the ride nor a file of it is there.
func TestCancelledAtAnyStage(t *testing.T) {
	positions, motion := recorded(t)
	heard := map[string]int{}
	keep := func(cancelAt string, nth int) (after int, b *Book, err error) {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		b = memoryBook(t)
		said, last := map[string]int{}, 0.0
		told := WithProgress(ctx, func(stage string, share float64) {
			if ctx.Err() != nil {
				after++
			}
			if share < last-1e-9 || share > 1 {
				t.Errorf("%s: %.3f after %.3f", stage, share, last)
			}
			last = share
			if said[stage]++; stage == cancelAt && said[stage] == nth {
				cancel()
			}
			heard[stage] = max(heard[stage], said[stage])
		})
		_, err = b.AddRide(told, NewRide{CombinationID: "c", SheetID: "s", Date: "2026-05-30", Kind: Training, Recorder: "rtk", Consent: &GivenConsent{By: "Ada"},
			Files: []GivenFile{{Role: RoleTrack, Name: "ride.csv", Data: positions}, {Role: RoleMotion, Name: "motion.csv", Data: motion}}})
		return after, b, err
	}
	if _, b, err := keep("", 0); err != nil || len(b.Recordings.(*memoryRecordings).there) != 2 {
		t.Fatalf("not cancelled, it is not kept: %v %v", err, ProblemsOf(err))
	}
	all := heard
	heard = map[string]int{}
	for _, stage := range stages {
		if all[stage] == 0 {
			t.Errorf("%s: never heard of it; heard %v", stage, all)
		}
		for nth := 1; nth <= all[stage]; nth *= 2 {
			after, b, err := keep(stage, nth)
			rides, e := b.Rides(context.Background(), RideFilter{})
			if !errors.Is(err, context.Canceled) || e != nil || len(rides) != 0 || len(b.Recordings.(*memoryRecordings).there) != 0 {
				t.Errorf("%s, word %d: %v; %d rides, %d files", stage, nth, err, len(rides), len(b.Recordings.(*memoryRecordings).there))
			}
			if after > 0 {
				t.Errorf("%s, word %d: %d more words after it was cancelled", stage, nth, after)
			}
		}
	}
	for stage := range all {
		if !slices.Contains(stages, stage) {
			t.Errorf("%s is a stage of which this test does not know", stage)
		}
	}
}
