package logbook_test

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/logbook"
	"ringcraft/internal/logbook/demo"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/sim"
	"ringcraft/internal/testkit"
)

func given(name, text string) *logbook.Given { return &logbook.Given{Name: name, Data: []byte(text)} }

// simulated records a ride of the demo sheet with a stated circle and halt, by survey-grade
// recorder, ten fixes a second.
func simulated(t testing.TB, f sim.Faults) []byte {
	t.Helper()
	plan := rideplan.CompileText("demo", demo.SheetText(), rideplan.Options{})
	sensor, err := sim.Profile("rtk")
	if err != nil {
		t.Fatal(err)
	}
	return sim.Record(sim.Ride(plan, f, 7), sensor, 7)
}

func review(t testing.TB, in logbook.ReviewInput) *logbook.ReviewResult {
	t.Helper()
	r, err := logbook.ReviewRide(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestReviewNeedsOnlyASheet: each voice works without the others.
func TestReviewNeedsOnlyASheet(t *testing.T) {
	r := review(t, logbook.ReviewInput{Sheet: *given("demo", demo.SheetText())})
	if len(r.Doc.Movements) != 20 || r.Doc.Total != nil || r.Doc.Recording != nil {
		t.Fatalf("got %d movements, total %v, recording %v", len(r.Doc.Movements), r.Doc.Total, r.Doc.Recording)
	}
	if m := r.Doc.Movements[0]; m.StartS == nil || m.SpanSource != "nominal" {
		t.Errorf("movement 1 has no nominal span: %+v", m)
	}
	for _, m := range r.Doc.Movements {
		if len(m.Lost) > 0 {
			t.Errorf("movement %d lost %v without marks or measures: no data, no claim", m.Number, m.Lost)
		}
	}
	if len(r.Doc.Notes) == 0 {
		t.Error("nothing says what cannot be said")
	}
}

// TestReviewGoesOnPastBadParts: what cannot be read is said with its file; the rest is reviewed.
func TestReviewGoesOnPastBadParts(t *testing.T) {
	r := review(t, logbook.ReviewInput{
		Sheet:      *given("demo", demo.SheetText()),
		Track:      given("t.csv", "t_s,x_m,y_m\n0,0,NaN\n1,0,1\n"),
		Commentary: given("c.vtt", "WEBVTT\n\n00:00:09.000 --> 00:00:04.000\nlate\n"),
		Marks:      given("m.csv", "movement,judge,mark,remark\n1,C,7.3,\n2,C,7.0,\n"),
		Horse:      given("h.json", `{"age_years": "old"}`),
	})
	for _, file := range []string{"t.csv", "c.vtt", "m.csv", "h.json"} {
		found := false
		for _, p := range r.Problems {
			found = found || p.File == file && p.Severity == sheet.Error
		}
		if !found {
			t.Errorf("no error names %s: %v", file, r.Problems)
		}
	}
	if len(r.Doc.Movements[1].Marks) != 1 {
		t.Errorf("the good mark beside the bad one was lost: %+v", r.Doc.Movements[1].Marks)
	}
}

// TestReviewHearsAllThree: a ride with a circle ridden 1.2 m too large and marks that add up.
func TestReviewHearsAllThree(t *testing.T) {
	marks := "movement,judge,mark,remark\n2,C,5.5,circle too large\n3,C,6.5,\n"
	r := review(t, logbook.ReviewInput{
		Sheet: *given("demo", demo.SheetText()), Recorder: "rtk", Simulated: true,
		Track: &logbook.Given{Name: "t.csv", Data: simulated(t, sim.Faults{})},
		Marks: given("m.csv", marks),
	})
	if sheet.HasErrors(r.Problems) {
		t.Fatal(r.Problems)
	}
	if !r.Doc.Simulated {
		t.Error("the label of a simulated recording was lost")
	}
	for _, m := range r.Doc.Movements {
		sum := 0.0
		for _, l := range m.Lost {
			sum += l.Marks
		}
		if len(m.Marks) == 1 && math.Abs(sum-(10-m.Marks[0].Mark)) > 1e-6 {
			t.Errorf("movement %d: lost shares sum to %.4f, the mark is %.1f", m.Number, sum, m.Marks[0].Mark)
		}
	}
}

// TestReviewWarnsOfVeryLowMarks: a mark of 2 is warned of.
func TestReviewWarnsOfVeryLowMarks(t *testing.T) {
	r := review(t, logbook.ReviewInput{Sheet: *given("demo", demo.SheetText()), Marks: given("m.csv", "movement,judge,mark,remark\n8,C,2.0,no halt\n9,C,7.0,\n")})
	words := strings.Join(r.Doc.Cautions, "\n")
	if !strings.Contains(words, "Movement 8 can come to a mark") || strings.Contains(words, "Movement 9") {
		t.Errorf("cautions: %s", words)
	}
}

// TestReviewOfTheWrongArena: a ride in 20 x 60 under a sheet for 20 x 40 is said at once.
func TestReviewOfTheWrongArena(t *testing.T) {
	small := "name: Small\narena: 20 x 40\n1 A Enter in working trot\n  C Track left\n2 E Circle left 20 m\n3 A Down the centre line\n  X Halt, salute\n"
	r := review(t, logbook.ReviewInput{Sheet: *given("small", small), Recorder: "rtk",
		Track: &logbook.Given{Name: "t.csv", Data: simulated(t, sim.Faults{})}})
	for _, p := range r.Problems {
		if p.File == "t.csv" && strings.Contains(p.Message, "outside the 20 x 40") {
			return
		}
	}
	t.Errorf("nothing warns of the wrong arena: %v", r.Problems)
}

// TestReviewSameBytes: the same input gives the same document.
func TestReviewSameBytes(t *testing.T) {
	in := logbook.ReviewInput{Sheet: *given("demo", demo.SheetText()), Recorder: "rtk",
		Track: &logbook.Given{Name: "t.csv", Data: simulated(t, sim.Faults{})},
		Marks: given("m.csv", "movement,judge,mark,remark\n2,C,5.5,circle too large\n")}
	var first string
	for range 3 {
		b, err := json.Marshal(review(t, in).Doc)
		if err != nil {
			t.Fatal(err)
		}
		if first == "" {
			first = string(b)
		} else if first != string(b) {
			t.Fatal("two reviews of the same input differ")
		}
	}
	if strings.Contains(first, "NaN") {
		t.Error("NaN in the document")
	}
}

// TestReviewStops: a cancelled review ends with the context's error.
func TestReviewStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := logbook.ReviewRide(ctx, logbook.ReviewInput{Sheet: *given("demo", demo.SheetText()),
		Track: &logbook.Given{Name: "t.csv", Data: simulated(t, sim.Faults{})}})
	if err == nil {
		t.Fatal("a cancelled review went on")
	}
}

// BenchmarkReview reviews one ride of the demo sheet (seven minutes at 10 Hz) from bytes to
// document.
func BenchmarkReview(b *testing.B) {
	in := logbook.ReviewInput{Sheet: *given("demo", demo.SheetText()), Recorder: "rtk",
		Track: &logbook.Given{Name: "t.csv", Data: simulated(b, sim.Faults{})},
		Marks: given("m.csv", "movement,judge,mark,remark\n2,C,5.5,circle too large\n")}
	cpu := testkit.CPUTime(b)
	for b.Loop() {
		review(b, in)
	}
	b.ReportMetric((testkit.CPUTime(b)-cpu).Seconds()*1000/float64(b.N), "cpu-ms/op")
}

// BenchmarkDay reviews sixty rides, a whole day of them.
func BenchmarkDay(b *testing.B) {
	in := logbook.ReviewInput{Sheet: *given("demo", demo.SheetText()), Recorder: "rtk",
		Track: &logbook.Given{Name: "t.csv", Data: simulated(b, sim.Faults{})}}
	cpu := testkit.CPUTime(b)
	for b.Loop() {
		for range 60 {
			review(b, in)
		}
	}
	b.ReportMetric((testkit.CPUTime(b)-cpu).Seconds()*1000/float64(b.N), "cpu-ms/op")
}
