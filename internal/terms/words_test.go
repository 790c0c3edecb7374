package terms

import (
	"slices"
	"testing"
)

func TestVocabulary(t *testing.T) {
	v := Words()
	if len(v.Faults) < 80 || len(v.Praise) < 10 || len(v.Aids) < 10 || len(v.Causes) < 8 {
		t.Fatalf("%d faults, %d praise, %d aids, %d causes", len(v.Faults), len(v.Praise), len(v.Aids), len(v.Causes))
	}
	known := append(Kinds(), AnyKind)
	for _, list := range [][]Word{v.Faults, v.Praise, v.Aids, v.Causes} {
		seen := map[Fault]bool{}
		for _, w := range list {
			if seen[w.ID] {
				t.Errorf("%q twice", w.ID)
			}
			seen[w.ID] = true
			if len(w.Say)+len(w.Here) == 0 {
				t.Errorf("%q is never said", w.ID)
			}
			if v.Sources[w.Source] == "" {
				t.Errorf("%q: source %q is not listed", w.ID, w.Source)
			}
			for _, k := range append(slices.Clone(w.Kinds), w.NotKinds...) {
				if !slices.Contains(known, k) {
					t.Errorf("%q: no kind %q", w.ID, k)
				}
			}
		}
	}
	for _, w := range v.Faults {
		for _, c := range w.Covers {
			if _, ok := FaultByID(c); !ok {
				t.Errorf("%q covers no fault %q", w.ID, c)
			}
		}
		if w.Fix == "" || w.Scale == "" {
			t.Errorf("%q: what to do %q, scale %q", w.ID, w.Fix, w.Scale)
		}
	}
}

func TestProneAndRisksNameFaults(t *testing.T) {
	for k, fs := range Words().Prone {
		if !slices.Contains(Kinds(), k) {
			t.Errorf("prone: no kind %q", k)
		}
		for _, f := range fs {
			w, ok := FaultByID(f)
			if !ok {
				t.Errorf("prone %q: no fault %q", k, f)
			} else if !w.At([]Kind{k}) {
				t.Errorf("prone %q: %q does not belong there", k, f)
			}
		}
	}
	for _, r := range Words().Risks {
		if r.Rescue == "" || r.Mark == "" || r.Source == "" {
			t.Errorf("risk %q is half said", r.ID)
		}
		for _, f := range r.Faults {
			if _, ok := FaultByID(f); !ok {
				t.Errorf("risk %q: no fault %q", r.ID, f)
			}
		}
	}
	for _, k := range Words().Movements.Kinds {
		if !slices.Contains(Kinds(), k.Kind) {
			t.Errorf("movements: no kind %q", k.Kind)
		}
		for a := range k.Also {
			if !slices.Contains(Kinds(), a) {
				t.Errorf("movements: %q also %q is no kind", k.Kind, a)
			}
		}
	}
	for _, k := range Kinds() {
		if k != ShoulderOut && len(ProneTo(k)) == 0 {
			t.Errorf("no prone faults for %q", k)
		}
	}
}

// The faults of the fault list that the sources name, each by its id.
func TestFaultsOfTheSources(t *testing.T) {
	for _, f := range []Fault{"not square", "late at the letter", "circle too large", "above the bit", "drifted on the centre line",
		"hind leg left back", "lateral walk", "jogging", "no over-track", "no stretch", "running", "frame not lengthened",
		"medium and extended alike", "early return", "wide behind", "circle not round", "uneven loops", "bend not changed", "corner cut",
		"too much bend", "shoulders leading", "quarters trailing", "no crossing", "neck bend only", "quarters pushed out", "angle varies",
		"too much angle", "quarters leading", "bend lost sideways", "impulsion lost sideways", "stuck", "stepped back or out", "turn too large",
		"beat lost in the turn", "counter-flexed turn", "hind legs together", "spun round", "changed leg", "trot steps in the change",
		"late behind", "change swinging", "croup high", "change not forward", "anticipated", "too few steps back", "dragging back",
		"not diagonal", "rein-back crooked", "rein-back hurried", "rein-back resisting", "stepped forward first"} {
		if _, ok := FaultByID(f); !ok {
			t.Errorf("no fault %q", f)
		}
	}
	if got := ProneTo(Halt, Salute)[0]; got != "not square" {
		t.Errorf("first fault of a halt: %q", got)
	}
}
