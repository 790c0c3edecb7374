package measure

import (
	"strings"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
)

// kindSheets hold every kind of figure that the compiler gives. Invented.
var kindSheets = []string{smallSheet, longSheet, loopsSheet, advancedSheet, turnsSheet, figuresSheet, `name: Bracken 7
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track left
     S      Volte 8 m
3    A      Turn down the quarter line
     C      Track left
4    HK     Renvers
5    FM     Shoulder-out
6    E      Turn left
     B      Track left
7    HXF    Change the rein in medium trot
     F      Collected trot
8    KXM    Change the rein in extended trot
     M      Collected trot
9    B      Circle left 20 m, let the horse stretch
10   A      Collected walk
     K      Medium walk
11   FE     Change the rein in extended walk
     E      Collected walk
     H      Half pirouette right
     E      Collected trot
12   K      Passage
     A      Collected trot
     P      Piaffe 10 steps
     B      Collected trot
     M      Collected canter left
13   FXH    Change the rein with a flying change at X
14   C      Circle right 20 m, give and retake the reins
15   MXK    Change the rein, 3 flying changes every third stride
     A      Collected canter
16   B      Simple change
     H      Collected trot
17   A      Half circle left 10 m
     K      Working trot
18   B      Figure of eight 10 m
19   A      Down the centre line
     X      Halt, salute
`, `name: Bracken 8
arena: 20 x 60
1    A      Enter in collected canter left
     C      Track left
2    FXH    Change the rein
     HM     Counter-canter
     C      Collected trot
3    A      Down the centre line
     D      Collected canter right
     X      Pirouette right
     C      Track right
     A      Collected trot
     A      Down the centre line
     X      Halt, salute
`, `name: Bracken 9
arena: 20 x 40
1    A      Enter in working trot
     C      Track left
2    E      Half circle left 10 m to X
     X      Half circle right 10 m to B
3    MXK    Change the rein in lengthened strides
     K      Working trot
4    FM     One loop 5 m
5    C      Medium walk
     HXF    Change the rein, free walk on a long rein
     F      Medium walk
     A      Working trot
6    E      Circle right 20 m, spiral in to 10 m
7    C      Collected walk
     MXK    Change the rein, collected walk
8    A      Medium walk
     FXH    Change the rein, medium walk
     C      Collected trot
9    MXK    Change the rein in passage
     K      Collected trot
10   A      Straight on to F
11   A      Down the centre line
     X      Halt, salute
`}

// measuredBy says which measure speaks of a kind of figure; kinds that stand in other figures
// (a corner, the halves of a figure of eight) are spoken of by those. "*" is the movement's speed.
var measuredBy = map[terms.Kind]string{
	terms.Entry: "centre line offset", terms.CentreLine: "centre line offset", terms.Halt: "halt place", terms.Salute: "halt duration",
	terms.Track: "corner depth", terms.Corner: "corner depth", terms.TurnAcross: "line offset", terms.Straight: "line offset", terms.Diagonal: "line offset",
	terms.Circle: "circle diameter", terms.Volte: "circle diameter", terms.HalfCircle: "circle diameter", terms.FigureEight: "circle diameter",
	terms.Serpentine: "loop size", terms.Loop: "loop size", terms.ChangeInCircle: "circle change place",
	terms.LegYield: "arrival", terms.ShoulderIn: "angle", terms.ShoulderOut: "angle", terms.Travers: "angle", terms.Renvers: "angle", terms.HalfPass: "angle",
	terms.ZigZag: "turning point", terms.TurnOnHaunches: "turn size", terms.TurnOnForehand: "turn size", terms.WalkPirouette: "turn size", terms.CanterPirouette: "turn size",
	terms.ReinBack: "rein-back length", terms.Transition: "transition place", terms.SimpleChange: "changes of leg", terms.FlyingChange: "changes of leg", terms.ChangeSeries: "changes of leg",
	terms.Lengthened: "gain", terms.MediumPace: "gain", terms.ExtendedPace: "gain",
	terms.CollectedWalk: "speed", terms.MediumWalk: "speed", terms.FreeWalk: "speed", terms.ExtendedWalk: "speed", terms.Passage: "speed", terms.Pace: "speed", terms.Piaffe: "piaffe travel",
}

// TestEveryKindIsSpokenOf: whatever a sheet can ask for, the review of a ride measures it, or says
// in plain words why a recording cannot show it.
func TestEveryKindIsSpokenOf(t *testing.T) {
	spoken := map[terms.Kind]map[string]bool{}
	asked := map[terms.Kind]bool{}
	for _, text := range kindSheets {
		p := compiled(t, text)
		r := ridden(t, p, sim.Ride(p, sim.Faults{}, 1), sim.Sensor{WhiteSD: 0.02, RateHz: 4, Heading: true, HeadingSDDeg: 1}, "survey", 1)
		set := Ride(p, r, Options{})
		for _, mv := range p.Movements {
			for _, f := range mv.Figures {
				asked[f.Kind] = true
				for _, m := range set.Of(mv.Number) {
					if spoken[f.Kind] == nil {
						spoken[f.Kind] = map[string]bool{}
					}
					if m.Value != nil || m.Verdict == CannotTell && m.LimitedBy != "" {
						spoken[f.Kind][m.What] = true
					}
				}
			}
		}
	}
	for _, k := range terms.Kinds() {
		want, ok := measuredBy[k]
		for _, u := range unseenKinds {
			if u.Kind == k {
				want, ok = u.What, true
				if !hasPrefix(spoken[k], want) {
					t.Errorf("%s: nobody says %q", k, want)
				}
				want = measuredBy[k]
			}
		}
		if !ok {
			t.Errorf("%s: neither measured nor said why not", k)
		}
		if !asked[k] && k != terms.Corner {
			t.Errorf("%s: none of the sheets of this test asks for it", k)
		}
		if want != "" && k != terms.Corner && !hasPrefix(spoken[k], want) {
			t.Errorf("%s: no %q among %v", k, want, spoken[k])
		}
	}
}

func hasPrefix(set map[string]bool, what string) bool {
	for name := range set {
		if name == what || strings.HasPrefix(name, what+" ") {
			return true
		}
	}
	return false
}

// TestUnseenReasons: the reasons are of known kinds, in words, and no kind that is not in the list is
// given one.
func TestUnseenReasons(t *testing.T) {
	known := map[terms.Kind]bool{}
	for _, k := range terms.Kinds() {
		known[k] = true
	}
	for _, u := range unseenKinds {
		if !known[u.Kind] || u.What == "" || len(u.Why) < 20 {
			t.Errorf("%+v", u)
		}
		if _, ok := ToleranceOf(u.What); ok {
			t.Errorf("%s: %q is a measure", u.Kind, u.What)
		}
	}
}

// TestSpiralHasNoSize: a circle that is to change its size is not called too small for doing so.
func TestSpiralHasNoSize(t *testing.T) {
	p := compiled(t, kindSheets[len(kindSheets)-1])
	var f *rideplan.Figure
	mv := p.MovementByNumber(6)
	for i := range mv.Figures {
		if mv.Figures[i].Spiral {
			f = &mv.Figures[i]
		}
	}
	if f == nil {
		t.Fatal("no spiral in the plan")
	}
	tr := sim.Ride(p, sim.Faults{Circles: []sim.CircleFault{{Movement: 6, Scale: 0.7}}}, 1)
	r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.02}, "survey", 1)
	m := find(Ride(p, r, Options{}).Of(6), "circle diameter")
	if m == nil || m.Value != nil || m.Verdict != CannotTell || !strings.Contains(m.LimitedBy, "changes its size") {
		t.Errorf("%+v", m)
	}
}
