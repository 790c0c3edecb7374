package rideplan

import (
	"strings"
	"testing"

	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// TestBoxesEndWithTheirFigures: a box that goes on along letters, or from the letter of a
// circle, begins when the figure of the box before is done (common practice, no source).
func TestBoxesEndWithTheirFigures(t *testing.T) {
	const head = "arena: 20 x 60\n1 A Enter in working trot\n  C Track left\n"
	for _, c := range []struct {
		sheet string
		kind  terms.Kind
	}{
		{head + "2 C Serpentine 3 loops\n3 HK Extended trot\n", terms.Serpentine},
		{head + "2 A Circle left 20 m\n3 Between A and F Medium walk\n", terms.Circle},
		{head + "2 E Circle left 20 m\n3 Between E and K Working canter left\n", terms.Circle},
	} {
		p := CompileText("boxes", c.sheet, Options{})
		if sheet.HasErrors(p.Problems) {
			t.Errorf("%q: %v", c.sheet, p.Problems)
			continue
		}
		box := p.Movements[1]
		for _, f := range box.Figures {
			if f.Kind == c.kind && f.EndM > box.EndM+0.01 {
				t.Errorf("%q: the %s ends at %.1f m, its box at %.1f m", c.sheet, c.kind, float64(f.EndM), float64(box.EndM))
			}
		}
	}
}

// TestNoChangeOfLead: the words say that the lead is kept; nothing is changed.
func TestNoChangeOfLead(t *testing.T) {
	for _, words := range []string{"no change of lead", "without change of leg", "keeping the same lead"} {
		p := CompileText("lead", "arena: 20 x 60\n1 A Enter in working trot\n  C Track right\n2 A Working canter right\n3 C Serpentine 3 loops, "+words+"\n", Options{})
		for _, f := range p.Movements[2].Figures {
			if f.Kind == terms.SimpleChange || f.Kind == terms.FlyingChange {
				t.Errorf("%s: read as a %s", words, f.Kind)
			}
		}
		if strings.Contains(p.Movements[2].Reading, "change") {
			t.Errorf("%s: %s", words, p.Movements[2].Reading)
		}
	}
}

// TestHandBeforeTheHaunches: the hand may stand inside the phrase.
func TestHandBeforeTheHaunches(t *testing.T) {
	p := CompileText("turn", "arena: 20 x 60\n1 A Enter in working trot\n  C Track left\n  C Medium walk\n2 E Turn left on the haunches\n", Options{})
	if sheet.HasErrors(p.Problems) {
		t.Fatal(p.Problems)
	}
	for _, f := range p.Movements[1].Figures {
		if f.Kind == terms.TurnOnHaunches && f.Hand == Left {
			return
		}
	}
	t.Errorf("read as %q", p.Movements[1].Reading)
}
