package gait

import (
	"math"
	"testing"
)

// Speeds, strides and periods of the master table (Clayton 1994, 1995; Clayton and Hobbs
// 2021 for the speeds of trot; strides from memory): speed is stride times frequency, and the
// duration of a stride matches within rounding.
func TestMasterTable(t *testing.T) {
	tests := []struct {
		v                       Variety
		speed, stride, duration float64
	}{
		{CollectedWalk, 1.37, 1.57, 1.15}, {MediumWalk, 1.73, 1.87, 1.09}, {ExtendedWalk, 1.82, 1.93, 1.06},
		{CollectedTrot, 3.20, 2.50, 0.78}, {WorkingTrot, 3.61, 2.73, 0.76}, {MediumTrot, 4.47, 3.26, 0.73}, {ExtendedTrot, 4.93, 3.55, 0.72},
		{CollectedCant, 3.27, 2.00, 0.61}, {WorkingCant, 3.91, 2.35, 0.60}, {MediumCant, 4.90, 2.94, 0.60}, {ExtendedCant, 5.97, 3.47, 0.57},
	}
	for _, c := range tests {
		f, ok := Lookup(c.v)
		if !ok || float64(f.Speed) != c.speed || f.StrideM != c.stride {
			t.Errorf("%s: %v m/s %v m, want %v %v", c.v, f.Speed, f.StrideM, c.speed, c.stride)
		}
		if d := float64(f.Duration()); math.Abs(d-c.duration) > 0.02 {
			t.Errorf("%s: stride of %.3f s, want %.2f", c.v, d, c.duration)
		}
	}
	if f, _ := Lookup(Passage); f.Speed < 1.2 || f.Speed > 1.9 {
		t.Errorf("passage at %v m/s, outside 1.2-1.9 of three studies", f.Speed)
	}
}

// Ratios of the table: medium to working trot 1.24, canter 1.25; extended to collected trot
// 1.54, canter 1.83, walk 1.33; the frequency moves by at most 8 % within a pace.
func TestRatios(t *testing.T) {
	speed := func(v Variety) float64 { f, _ := Lookup(v); return float64(f.Speed) }
	for _, c := range []struct {
		a, b Variety
		want float64
	}{{MediumTrot, WorkingTrot, 1.24}, {MediumCant, WorkingCant, 1.25}, {ExtendedTrot, CollectedTrot, 1.54}, {ExtendedCant, CollectedCant, 1.83}, {ExtendedWalk, CollectedWalk, 1.33}} {
		if r := speed(c.a) / speed(c.b); math.Abs(r-c.want) > 0.01 {
			t.Errorf("%s to %s is %.3f, want %.2f", c.a, c.b, r, c.want)
		}
	}
	for _, p := range [][2]Variety{{CollectedTrot, ExtendedTrot}, {CollectedCant, ExtendedCant}, {CollectedWalk, ExtendedWalk}} {
		a, _ := Lookup(p[0])
		b, _ := Lookup(p[1])
		if r := float64(a.Duration() / b.Duration()); r < 1 || r > 1.09 {
			t.Errorf("frequency of %s to %s rises by %.0f %%", p[0], p[1], (r-1)*100)
		}
	}
}

// Within each pace the forms rise in speed and stride, and every entry names its source.
func TestTableIsOrdered(t *testing.T) {
	for _, l := range [][]Variety{{CollectedWalk, MediumWalk, ExtendedWalk}, {Piaffe, Passage, CollectedTrot, WorkingTrot, LengthenedTrot, MediumTrot, ExtendedTrot},
		{CollectedCant, WorkingCant, LengthenedCant, MediumCant, ExtendedCant}} {
		for i := 1; i < len(l); i++ {
			a, _ := Lookup(l[i-1])
			b, _ := Lookup(l[i])
			if b.Speed <= a.Speed || b.StrideM <= a.StrideM {
				t.Errorf("%s is not faster and longer than %s", l[i], l[i-1])
			}
		}
	}
	for _, v := range Varieties() {
		if f, _ := Lookup(v); f.Source == "" || v.PaceOf() == "" {
			t.Errorf("%s has no source or no pace", v)
		}
	}
}

func TestProfile(t *testing.T) {
	usual, _ := Profile{}.Figures(WorkingTrot)
	if table, _ := Lookup(WorkingTrot); usual != table {
		t.Errorf("an unknown horse has %v, want %v", usual, table)
	}
	pony, _ := Profile{HeightM: 0.42 * 4 * 0.81}.Figures(WorkingTrot) // 0.81 of the reference height
	if r := pony.StrideM / usual.StrideM; math.Abs(r-0.81) > 1e-9 {
		t.Errorf("stride scales by %.3f, want 0.81", r)
	}
	if r := float64(pony.Speed / usual.Speed); math.Abs(r-0.9) > 1e-9 {
		t.Errorf("speed scales by %.3f, want 0.9, the root of 0.81", r)
	}
	own, _ := Profile{Varieties: map[Variety]ProfileFigures{WorkingTrot: {StrideM: 3, TempoHz: 1.3}}}.Figures(WorkingTrot)
	if math.Abs(float64(own.Speed)-3.9) > 1e-9 {
		t.Errorf("own figures give %v m/s, want 3.9", own.Speed)
	}
	if _, ok := (Profile{}).Figures("gallop"); ok {
		t.Error("gallop is known")
	}
	z := 0.0
	if (Profile{InsetM: &z}).Inset() != 0 || (Profile{}).Inset() != DefaultInset {
		t.Error("inset of the profile is not kept")
	}
}
