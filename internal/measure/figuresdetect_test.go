package measure

import (
	"math"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
)

// clearFaults gives every zig-zag, change of circle and turn on the forehand faults of size times
// their tolerances, to one side or the other by turns.
func clearFaults(p *rideplan.Plan, size float64, flip int) sim.Faults {
	f := sim.Faults{Wobble: sim.Wobble{LineSD: 0.04, LineM: 8, Speed: 0.01}}
	turn := flip
	by := func(what string) float64 {
		turn++
		return math.Copysign(size*tolerances[what].Within, float64(turn%2)-0.5)
	}
	for _, mv := range p.Movements {
		n := map[terms.Kind]int{}
		for _, fig := range mv.Figures {
			nth := n[fig.Kind]
			n[fig.Kind]++
			switch fig.Kind {
			case terms.ZigZag:
				z := sim.ZigZagFault{Movement: mv.Number, Nth: nth, Straight: 2}
				for k := range fig.Count - 1 {
					z.Wider, z.Late = append(z.Wider, metres(by("turning point"))), append(z.Late, metres(1.2*by("turning point place")))
					switch { // one fault to a turning point; then one side wider, the other narrower
					case flip >= 2:
						z.Wider[k], z.Late[k] = metres(math.Copysign(float64(z.Wider[k]), float64(k%2)-0.5)*float64(5-2*flip)), 0
					case (k+flip)%2 == 0:
						z.Late[k] = 0
					default:
						z.Wider[k] = 0
					}
				}
				f.ZigZags = append(f.ZigZags, z)
			case terms.ChangeInCircle:
				d := by("circle halves difference") / 2 / 9.2
				f.Changes = append(f.Changes, sim.CircleChangeFault{Movement: mv.Number, Nth: nth, First: 1 + d, Second: 1 - d, Past: metres(by("circle change place") - d*9.2), Late: metres(by("circle opening"))})
			case terms.TurnOnForehand:
				f.Turns = append(f.Turns, sim.TurnFault{Movement: mv.Number, Nth: nth, Size: metres(1.1 + size*tolerances["turn size"].Within), Further: by("turn angle"), Longer: 5})
			}
		}
	}
	return f
}

// TestFiguresDetected: at 0.05 m of white noise at least 95 % of faults larger than twice the
// tolerance get their named verdict, in zig-zags, changes of circle and turns on the forehand too.
func TestFiguresDetected(t *testing.T) {
	p := compiled(t, figuresSheet)
	d := detected{named: map[string]int{}, all: map[string]int{}}
	for i := range 4 {
		class := []string{"survey", "rtk", "", "survey"}[i]
		tr := sim.Ride(p, clearFaults(p, 2.4, i), uint64(i))
		r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.05, Heading: true, HeadingSDDeg: 1}, class, uint64(40+i))
		for _, c := range compare(tr, Ride(p, r, Options{})) {
			what := kindOf(c.What)
			if !newFigures[what] || c.Asked == nil {
				continue
			}
			d.see(t, class, what, c)
		}
	}
	n, total := 0, 0
	for what := range newFigures {
		t.Logf("%s: %d of %d named", what, d.named[what], d.all[what])
		n, total = n+d.named[what], total+d.all[what]
		if d.all[what] < 4 || float64(d.named[what]) < 0.9*float64(d.all[what]) {
			t.Errorf("%s: %d of %d faults named", what, d.named[what], d.all[what])
		}
	}
	if float64(n) < 0.95*float64(total) {
		t.Errorf("%d of %d faults larger than twice the tolerance named", n, total)
	}
}

// newFigures are the measures that only the sheet of figures holds.
var newFigures = map[string]bool{"turning point": true, "turning point place": true, "sides difference": true, "circle halves difference": true,
	"circle change place": true, "turn angle": true, "turn size": true}

// kindOf is the plain name of a measure, without the side or the half that it is of.
func kindOf(what string) string {
	best := ""
	for name := range tolerances {
		if len(name) > len(best) && (what == name || len(what) > len(name) && what[:len(name)+1] == name+" ") {
			best = name
		}
	}
	return best
}
