package remarks

import (
	"testing"

	"ringcraft/internal/terms"
)

func TestVocabularyCompiles(t *testing.T) {
	l := lexiconOnce()
	if len(terms.Words().Faults) < 80 {
		t.Fatalf("%d faults", len(terms.Words().Faults))
	}
	src := terms.Words().Sources
	for _, e := range l.entries {
		if src[e.Source] == "" {
			t.Errorf("%s: source %q is not listed", e.ID, e.Source)
		}
	}
}

func TestFindWords(t *testing.T) {
	at := func(ks ...terms.Kind) []terms.Kind { return ks }
	cases := []struct {
		text   string
		placed []terms.Kind
		faults []terms.Fault
	}{
		{"that was not late", nil, nil},
		{"a bit late there", nil, []terms.Fault{"late at the letter"}},
		{"bit big that circle", at(terms.Circle), []terms.Fault{"circle too large"}},
		{"too big", at(terms.Volte), []terms.Fault{"circle too large"}},
		{"too big", at(terms.TurnOnHaunches), []terms.Fault{"turn too large"}},
		{"not quite square, left hind out behind", at(terms.Halt), []terms.Fault{"not square", "hind leg left back"}},
		{"he wasn't above the bit this time", nil, nil},
		{"she's gone above the bit", nil, []terms.Fault{"above the bit"}},
		{"No, too big", at(terms.Circle), []terms.Fault{"circle too large"}},
		{"late behind in the change", at(terms.FlyingChange), []terms.Fault{"late behind"}},
		{"quarters out a bit", at(terms.ShoulderIn), []terms.Fault{"quarters pushed out"}},
		{"quarters trailing in the half paths", at(terms.HalfPass), []terms.Fault{"quarters trailing"}},
		{"lovely, straight and square", at(terms.Halt), nil},
	}
	for _, c := range cases {
		f, _, _, _ := ids(findWords(listen(c.text), context{placed: c.placed}))
		if len(f) != len(c.faults) {
			t.Errorf("%q: got %v, want %v", c.text, f, c.faults)
			continue
		}
		for i := range f {
			if f[i] != c.faults[i] {
				t.Errorf("%q: got %v, want %v", c.text, f, c.faults)
			}
		}
	}
}

// Any text can be heard; what is found lies inside it.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"that was not late", "half paths left, quarters trailing", "at see", "no, too big. circle", "\xff \u200e"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n := len(listen(s))
		point(s)
		for _, w := range findWords(listen(s), context{loose: true}) {
			if w.from < 0 || w.to > n || w.to <= w.from {
				t.Fatalf("%q at %d to %d of %d", w.ID, w.from, w.to, n)
			}
		}
	})
}

// Short sayings with the faults they name, half praise and half complaint: tuning material
// for the vocabulary (invented, common speech of the trade). The misses that remain are
// counted, not hidden.
func TestSayings(t *testing.T) {
	rows := readRows(t, "testdata/sayings.csv")
	var a tally
	for _, r := range rows {
		a.faultsOf(label0{text: r[0], faults: faultList(t, r[2])}, Remark{Text: r[0], Faults: FaultsIn(r[0], []terms.Kind{terms.Kind(r[1])})}, r[1], t.Logf)
	}
	t.Log(a)
	if p, r := pct(a.tp, a.tp+a.fp), pct(a.tp, a.tp+a.fn); p < 90 || r < 90 {
		t.Errorf("precision %.1f recall %.1f", p, r)
	}
}
