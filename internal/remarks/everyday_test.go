package remarks

import (
	"slices"
	"testing"

	"ringcraft/internal/terms"
)

// TestEverydaySayings grades 1268 short everyday sayings, some nine for each fault and 127 that
// name none, written before the vocabulary was opened, and 174 more written after it. Every other
// row of the first file was used for tuning at once; the rest, and the second file, were each
// graded once before they were used too (docs/REMARKS.md has the figures of both times).
func TestEverydaySayings(t *testing.T) {
	for _, c := range []struct {
		file              string
		precision, recall float64 // floors, percent
	}{{"everyday.csv", 90, 87}, {"everyday2.csv", 90, 85}} {
		halves := gradeSayings(t, "testdata/"+c.file)
		for i, h := range halves {
			p, r := pct(h.tp, h.tp+h.fp), pct(h.tp, h.tp+h.fn)
			t.Logf("%s, half %d: precision %.1f recall %.1f", c.file, i+1, p, r)
			if p < c.precision || r < c.recall {
				t.Errorf("%s, half %d: precision %.1f recall %.1f", c.file, i+1, p, r)
			}
		}
	}
}

func gradeSayings(t *testing.T, name string) (halves [2]tally) {
	t.Helper()
	rows := readRows(t, name)
	for i, r := range rows {
		got := FaultsIn(r[0], []terms.Kind{terms.Kind(r[1])})
		halves[i%2].faultsOf(label0{text: r[0], faults: faultList(t, r[2])}, Remark{Text: r[0], Faults: got}, r[1], t.Logf)
	}
	return halves
}

// TestOrdersAndThePast: what an order forbids is what is seen; what used to be is not.
func TestOrdersAndThePast(t *testing.T) {
	for _, c := range []struct {
		text string
		kind terms.Kind
		want []terms.Fault
	}{
		{"don't hurry", terms.Circle, []terms.Fault{"hurried"}},
		{"good but don't lean forward", terms.Track, []terms.Fault{"rider tipping forward"}},
		{"you don't hurry any more", terms.Circle, nil},
		{"he isn't hurried", terms.Circle, nil},
		{"last week he was spooking", terms.Track, nil},
		{"if he spooks just carry on", terms.Track, nil},
		{"he spooked", terms.Track, []terms.Fault{"spooked"}},
	} {
		if got := FaultsIn(c.text, []terms.Kind{c.kind}); !slices.Equal(got, c.want) {
			t.Errorf("%q: got %q, want %q", c.text, got, c.want)
		}
	}
}
