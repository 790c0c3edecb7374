package logbook

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"strconv"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

// riddenTwice is a recording of two rides of the cancel sheet with two minutes at X between them; the second
// begins at the time returned.
func riddenTwice(t *testing.T) (data []byte, second float64) {
	t.Helper()
	p := rideplan.CompileText("sheet", cancelSheet, rideplan.Options{})
	var b bytes.Buffer
	b.WriteString("t_s,x_m,y_m\n")
	last := 0.0
	for seed := range uint64(2) {
		r := csv.NewReader(bytes.NewReader(sim.Record(sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.15, Speed: 0.03}}, seed), sim.Sensor{WhiteSD: 0.03, WanderSD: 0.05, WanderTau: 60, RateHz: 5}, seed)))
		r.Comment = '#'
		rows, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if seed == 1 {
			for range 120 * 5 {
				last += 0.2
				fmt.Fprintf(&b, "%.3f,0,20\n", last)
			}
			second = last
		}
		begun := last
		for _, row := range rows[1:] {
			at, err := strconv.ParseFloat(row[0], 64)
			if err != nil {
				t.Fatal(err)
			}
			last = begun + 0.2 + at
			fmt.Fprintf(&b, "%.3f,%s,%s\n", last, row[1], row[2])
		}
	}
	return b.Bytes(), second
}

// TestSetPart: of two rides in one recording the second counts until the first is chosen; the change is kept with
// what was said before, and a part in which nothing can be read changes nothing.
func TestSetPart(t *testing.T) {
	b, ctx := memoryBook(t), context.Background()
	data, second := riddenTwice(t)
	r, err := b.AddRide(ctx, NewRide{CombinationID: "c", SheetID: "s", Date: "2026-05-30", Kind: Training, Recorder: "rtk", Consent: &GivenConsent{By: "Ada"},
		Files: []GivenFile{{Role: RoleTrack, Name: "ride.csv", Data: data}}})
	if err != nil {
		t.Fatal(err, ProblemsOf(err))
	}
	begins := func() (float64, *Review) {
		rev, err := b.ReviewOf(ctx, r.ID)
		if err != nil || rev.Doc.Movements[0].StartS == nil {
			t.Fatalf("%v", err)
		}
		return *rev.Doc.Movements[0].StartS, rev
	}
	at, rev := begins()
	first, other, two := TwoRides(rev.Doc)
	if at < second-5 || !two {
		t.Fatalf("the first movement begins at %.0f s, the second ride at %.0f; %v", at, second, rev.Doc.Departures)
	}
	if err := b.SetPart(ctx, r.ID, first); err != nil {
		t.Fatal(err, ProblemsOf(err))
	}
	if at, _ = begins(); at > 10 {
		t.Errorf("the first was chosen; the first movement begins at %.0f s", at)
	}
	for _, bad := range []RidePart{{From: "9:00"}, {From: "1:00", To: "0:30"}, {From: "one"}} {
		if err := b.SetPart(ctx, r.ID, bad); CodeOf(err) != Invalid {
			t.Errorf("%+v: %v", bad, err)
		}
	}
	if said, err := b.PartsOf(ctx, r.ID); err != nil || len(said) != 2 || said[0] != (RidePart{}) || said[1] != first {
		t.Errorf("%v, %v", said, err)
	}
	if err := b.SetPart(ctx, r.ID, other); err != nil {
		t.Fatal(err)
	}
	if at, _ = begins(); at < second-5 {
		t.Errorf("the second was chosen; the first movement begins at %.0f s", at)
	}
	if err := b.SetPart(ctx, r.ID, RidePart{}); err != nil { // the whole again
		t.Fatal(err)
	}
	if _, rev = begins(); len(rev.Notes) != 0 {
		t.Errorf("what is said of the recording shows among the notes of the ride: %v", rev.Notes)
	}
}

// TestFirstRide is the same choice without a book.
func TestFirstRide(t *testing.T) {
	data, _ := riddenTwice(t)
	in := ReviewInput{Sheet: Given{Name: "sheet", Data: []byte(cancelSheet)}, Track: &Given{Name: "ride.csv", Data: data}, Recorder: "rtk"}
	in, err := FirstRide(context.Background(), in)
	if err != nil || in.About.To == "" {
		t.Fatalf("%v, %+v", err, in.About)
	}
	r, err := ReviewRide(context.Background(), in)
	if err != nil || r.Doc.Movements[0].StartS == nil || *r.Doc.Movements[0].StartS > 10 {
		t.Errorf("%v, %v", err, r.Doc.Movements[0].StartS)
	}
	if again, err := FirstRide(context.Background(), in); err != nil || again.About != in.About {
		t.Errorf("%v, %+v", err, again.About)
	}
}
