package remarks

import (
	"slices"
	"testing"

	"ringcraft/internal/terms"
)

// What is said of a quality belongs to that quality: the one that follows, else the one before.
func TestScopeOfQuantifiers(t *testing.T) {
	cases := []struct {
		text   string
		kind   terms.Kind
		faults []terms.Fault
	}{
		{"shoulder-in lost angle, too much neck", terms.ShoulderIn, []terms.Fault{"angle varies", "neck bend only"}},
		{"shoulder-in lost angle too much neck", terms.ShoulderIn, []terms.Fault{"angle varies", "neck bend only"}},
		{"more bend less angle", terms.ShoulderIn, []terms.Fault{"not enough bend", "too much angle"}},
		{"good bend, not enough angle", terms.ShoulderIn, []terms.Fault{"not enough angle"}},
		{"lovely bend, could have more angle", terms.ShoulderIn, []terms.Fault{"not enough angle"}},
		{"no bend but plenty of angle", terms.ShoulderIn, []terms.Fault{"not enough bend"}},
		{"angle, too much", terms.ShoulderIn, []terms.Fault{"too much angle"}},
		{"too fast and no bend", terms.Circle, []terms.Fault{"hurried", "not enough bend"}},
		{"has more angle but less bend", terms.ShoulderIn, []terms.Fault{"not enough bend"}},
		{"rein back crooked and hurried", terms.ReinBack, []terms.Fault{"rein-back hurried", "rein-back crooked"}},
		{"lost rhythm and balance", terms.HalfPass, []terms.Fault{"rhythm not regular", "lost balance"}},
		{"circle too big and not round", terms.Circle, []terms.Fault{"circle too large", "circle not round"}},
		{"not late, just tense", terms.Transition, []terms.Fault{"tense"}},
	}
	for _, c := range cases {
		if got := FaultsIn(c.text, []terms.Kind{c.kind}); !slices.Equal(got, c.faults) {
			t.Errorf("%q: %v, want %v", c.text, got, c.faults)
		}
	}
}

// A quality and its direction tell a fault for which no phrase was written.
func TestFramesSayDirection(t *testing.T) {
	cases := []struct {
		text  string
		kind  terms.Kind
		fault terms.Fault // "" for none
	}{
		{"wants rather more elasticity", terms.Track, "stiff"},
		{"where's the elasticity", terms.Track, "stiff"},
		{"elasticity could be better", terms.Track, "stiff"},
		{"lovely elasticity", terms.Track, ""},
		{"plenty of elasticity", terms.Track, ""},
		{"a tad pliable", terms.Track, ""},
		{"not very pliable", terms.Track, "stiff"},
		{"needs to be more pliable", terms.Track, "stiff"},
		{"a shade smaller please", terms.Circle, "circle too large"},
		{"could be a touch bigger", terms.Circle, "circle too small"},
		{"not so hasty", terms.Track, "hurried"},
		{"not hasty", terms.Track, ""},
		{"more pliable than before", terms.Track, ""},
		{"couldn't be squarer", terms.Halt, ""},
		{"a fraction sooner next time", terms.Transition, "late at the letter"},
	}
	for _, c := range cases {
		var want []terms.Fault
		if c.fault != "" {
			want = []terms.Fault{c.fault}
		}
		if got := FaultsIn(c.text, []terms.Kind{c.kind}); !slices.Equal(got, want) {
			t.Errorf("%q at %s: %v, want %v", c.text, c.kind, got, want)
		}
	}
}
