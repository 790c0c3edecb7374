package report

import "testing"

// TestDeparturesInOneLine: movements left out one after another for one reason are one line; others stay apart.
func TestDeparturesInOneLine(t *testing.T) {
	out := func(n int, why string) ReviewDeparture {
		return ReviewDeparture{Kind: "left out", Movement: n, StartS: 180, EndS: 180, Reason: "movement " + string(rune('0'+n)) + " was not ridden: " + why}
	}
	rows := DepartureRows([]ReviewDeparture{{Kind: "stopped", Movement: 2, Reason: "stood for 8 s"}, out(3, "the ride goes on at F"),
		out(5, "the ride ends before the test does"), out(6, "the ride ends before the test does"), out(7, "the ride ends before the test does"), out(8, "not recorded")})
	want := []string{"stopped: stood for 8 s", "left out: movement 3 was not ridden: the ride goes on at F",
		"left out: movements 5 to 7 were not ridden: the ride ends before the test does", "left out: movement 8 was not ridden: not recorded"}
	if len(rows) != len(want) {
		t.Fatalf("%d rows: %+v", len(rows), rows)
	}
	for i, r := range rows {
		if r.Words() != want[i] {
			t.Errorf("%q, want %q", r.Words(), want[i])
		}
	}
}
