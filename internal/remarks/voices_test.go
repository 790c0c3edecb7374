package remarks

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"ringcraft/internal/terms"
)

// TestVoices grades what is heard in 300 invented sayings of five trainers who speak
// differently (old master, young coach, judge, a foreigner's English, one who only praises).
// They were labelled before any of them was run. Every other one is for tuning; the mistakes
// of the rest are counted and not looked at.
func TestVoices(t *testing.T) {
	f, err := os.Open("testdata/voices.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var tune, check tally
	voices := map[string]*tally{}
	for i, r := range recs[1:] {
		l := label0{text: r[1], faults: faultList(t, r[3])}
		got := Remark{Text: r[1], Faults: FaultsIn(r[1], []terms.Kind{terms.Kind(r[2])})}
		if i%2 == 0 {
			tune.faultsOf(l, got, r[0]+" "+r[2], t.Logf)
			continue
		}
		check.faultsOf(l, got, r[0], nil)
		if voices[r[0]] == nil {
			voices[r[0]] = &tally{}
		}
		voices[r[0]].faultsOf(l, got, r[0], nil)
	}
	t.Log("TUNING", tune)
	for _, v := range []string{"master", "coach", "judge", "foreign", "quiet"} {
		t.Log(v, voices[v])
	}
	t.Log("CHECK", check)
}

func faultList(t *testing.T, cell string) []terms.Fault {
	t.Helper()
	var out []terms.Fault
	for _, w := range strings.Split(cell, ";") {
		if w == "" {
			continue
		}
		if _, ok := terms.FaultByID(terms.Fault(w)); !ok {
			t.Fatalf("no fault %q", w)
		}
		out = append(out, terms.Fault(w))
	}
	return out
}
