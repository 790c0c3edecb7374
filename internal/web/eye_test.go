package web

import (
	"fmt"
	"net/http"
	"testing"

	"ringcraft/internal/logbook"
)

// tapMarks notes the trainer's marks of a ride at the rail.
func tapMarks(t testing.TB, b *logbook.Book, ride string, marks ...string) {
	t.Helper()
	var notes []logbook.Note
	for i, m := range marks {
		notes = append(notes, logbook.Note{ID: fmt.Sprintf("%s-%d", ride, i), RideID: ride, Device: "phone", Seq: int64(i + 1), Kind: logbook.NoteMark, Movement: i + 1, Mark: m, AtS: float64(i)})
	}
	if _, err := b.TakeNotes(ctx, ride, notes); err != nil {
		t.Fatal(err)
	}
}

// TestWhoseEye compares tapped marks with two judges' sheets: nothing without both, few data said
// as few, and after a season a trainer who gives circles a whole mark more is told so.
func TestWhoseEye(t *testing.T) {
	b, r := shortRide(t)
	h := site(t, b)
	_, body := get(t, h, "/eye")
	clean(t, body)
	has(t, body, "No ride has both your marks and a judge")

	tapMarks(t, b, r.ID, "6.5", "7", "7.5")
	_, body = get(t, h, "/eye")
	has(t, body, "No ride has both your marks and a judge") // no judge yet
	post(t, h, "/rides/"+r.ID+"/marks", typed("-1", "", "C", "6", "7", "6", "6"))
	post(t, h, "/rides/"+r.ID+"/marks", typed("0", "", "E", "7", "7", "7", "6"))
	e, err := b.EyeOf(ctx)
	if err != nil || e.Pairs != 3 || len(e.Rides) != 1 {
		t.Fatalf("%+v %v", e, err)
	}
	// Trainer 6.5, 7, 7.5; judges' means 6.5, 7, 6.5.
	if line := e.Rides[0]; abs(line.Trainer-7) > 1e-9 || abs(line.Judging-20.0/3) > 1e-9 {
		t.Errorf("%+v", line)
	}
	_, body = get(t, h, "/eye")
	clean(t, body)
	has(t, body, "Few marks: 3 movements of 1 ride", "circle", "you 7.00, judges 6.67 over 3", "no lean can be told from chance", "Žofie &lt;b&gt;Ray&lt;/b&gt;")

	for day := 1; day <= 14; day++ {
		next, err := b.AddRide(ctx, logbook.NewRide{CombinationID: r.CombinationID, SheetID: r.SheetID, Date: logbook.Date(fmt.Sprintf("2026-04-%02d", day)), Kind: logbook.Show})
		if err != nil {
			t.Fatal(err)
		}
		tapMarks(t, b, next.ID, "6.5", "6.5", "7.5")
		if w := post(t, h, "/rides/"+next.ID+"/marks", typed("-1", "", "C", []string{"6", "7"}[day%2], "6.5", "6.5", "6")); w.Code != http.StatusSeeOther {
			t.Fatalf("status %d", w.Code)
		}
	}
	_, body = get(t, h, "/eye")
	has(t, body, "Where to look harder", "<b>circle</b>: more generous here than the judges. Look for: circle")
	if e, _ = b.EyeOf(ctx); e.Pairs != 45 {
		t.Errorf("%d pairs, want 45", e.Pairs)
	}
}

// TestEyeNearInTime: the demo's show stands beside the training ride of the same test twelve days
// before, as two rides and no pair; a training ride of a month before does not.
func TestEyeNearInTime(t *testing.T) {
	b := demoYard(t)
	e, err := b.EyeOf(ctx)
	if err != nil || e.Pairs != 0 || len(e.Near) != 1 {
		t.Fatalf("%d pairs, %d near (%v)", e.Pairs, len(e.Near), err)
	}
	n := e.Near[0]
	if n.Training.ID != "demo-quillon-2" || n.Show.ID != "demo-quillon-3" || n.Movements != 20 || n.SD < 0.2 {
		t.Errorf("%s beside %s, %d movements, SD %v", n.Training.ID, n.Show.ID, n.Movements, n.SD)
	}
	rows := 0
	for _, k := range n.Kinds {
		rows += k.Movements
	}
	if rows != n.Movements {
		t.Errorf("%d movements in the kinds of %d", rows, n.Movements)
	}
	_, page := get(t, site(t, b), "/eye")
	clean(t, page)
	has(t, page, "Near in time, not the same ride", "cannot tell your eye from the ride", "No ride has both your marks and a judge")
}
