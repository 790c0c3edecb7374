package report

import (
	"testing"

	"ringcraft/internal/diagnose"
)

// 97 of 160 is 60.625 exactly: half up to two decimals is 60.63 (halves go up, as federations add up
// their sheets), and a rule set with three decimals keeps the third.
func TestPercentHalvesGoUp(t *testing.T) {
	if got := (&ReviewTotal{Percent: 60.625}).PercentWords(); got != "60.63" {
		t.Errorf("two decimals: %s", got)
	}
	if got := (&ReviewTotal{Percent: 60.625, PercentText: "60.625"}).PercentWords(); got != "60.625" {
		t.Errorf("three decimals: %s", got)
	}
}

// Nothing is called this horse's best while no mark of it is known.
func TestCeilingIsNotTheHorsesOwnUnlessKnown(t *testing.T) {
	doc := func(reason string) *ReviewDoc {
		return &ReviewDoc{Movements: []ReviewMovement{{Lost: []diagnose.Loss{{Reason: reason, Reach: diagnose.Ceiling, Marks: 2}}}}}
	}
	if got := ceilingWords(doc("usual best for such a movement, assumed for the level (no marks of this horse yet)")); got != "usual ceiling assumed for the level, not charged" {
		t.Error(got)
	}
	if got := ceilingWords(doc("this horse's usual best for such a movement")); got != "this horse's usual ceiling, not charged" {
		t.Error(got)
	}
}

// What is called not enough must look it.
func TestNeedsAndHasAgreeWithTheVerdict(t *testing.T) {
	for _, x := range []struct {
		needs, has float64
		want       string
	}{{2.44, 2.36, "needs 2.44\u00a0s, has 2.36\u00a0s"}, {2.4, 3.1, "needs 2.4\u00a0s, has 3.1\u00a0s"}, {3, 2, "needs 3.0\u00a0s, has 2.0\u00a0s"}, {2.4, 2.4, "needs 2.4\u00a0s, has 2.4\u00a0s"}} {
		if got := NeedsAndHas(x.needs, x.has); got != x.want {
			t.Errorf("%q, want %q", got, x.want)
		}
	}
}
