package remarks

import (
	"testing"

	"ringcraft/internal/terms"
)

// TestVoices grades what is heard in 300 invented sayings of five trainers who speak
// differently (old master, young coach, judge, a foreigner's English, one who only praises).
// They were labelled before any of them was run. Every other one is for tuning; the mistakes
// of the rest are counted and not looked at.
func TestVoices(t *testing.T) {
	rows := readRows(t, "testdata/voices.csv")
	var tune, check tally
	voices := map[string]*tally{}
	for i, r := range rows {
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
	if p, r := pct(check.tp, check.tp+check.fp), pct(check.tp, check.tp+check.fn); p < 80 || r < 78 {
		t.Errorf("check half: precision %.1f recall %.1f", p, r)
	}
}

// TestFreshSayings grades 80 more sayings, full of pictures ("like a caravan"), written and labelled
// after all other tuning and used for tuning after they were first graded (docs/REMARKS.md has both
// figures).
func TestFreshSayings(t *testing.T) {
	rows := readRows(t, "testdata/fresh.csv")
	var all tally
	for _, r := range rows {
		all.faultsOf(label0{text: r[1], faults: faultList(t, r[3])}, Remark{Text: r[1], Faults: FaultsIn(r[1], []terms.Kind{terms.Kind(r[2])})}, r[2], t.Logf)
	}
	t.Log("FRESH", all)
	if p, r := pct(all.tp, all.tp+all.fp), pct(all.tp, all.tp+all.fn); p < 90 || r < 90 {
		t.Errorf("precision %.1f recall %.1f", p, r)
	}
}
