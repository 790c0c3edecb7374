package measure

import (
	"fmt"
	"math"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
)

// planned is about how long the plan stands at a halt, the salute included.
func planned(mv rideplan.Movement) float64 {
	for _, f := range mv.Figures {
		if f.Kind == terms.Salute {
			return 6
		}
	}
	return 3.5
}

// faultyRide gives every measure of a ride a fault of size times its tolerance, to one side
// or the other by turns.
func faultyRide(p *rideplan.Plan, size float64, flip int) sim.Faults {
	f := sim.Faults{Wobble: sim.Wobble{LineSD: 0.04, LineM: 8, Speed: 0.01}}
	turn := flip
	side := func(what string, asked float64) float64 {
		turn++
		return math.Copysign(size*tolerances[what].around(asked), float64(turn%2)-0.5)
	}
	for _, mv := range p.Movements {
		count := map[string]int{}
		nth := func(k string) int { count[k]++; return count[k] - 1 }
		for _, fig := range mv.Figures {
			switch fig.Kind {
			case terms.Circle, terms.Volte:
				d := float64(fig.Asked)
				f.Circles = append(f.Circles, sim.CircleFault{Movement: mv.Number, Nth: nth("c"), Scale: 1 + side("circle diameter", d)/d})
			case terms.Entry, terms.CentreLine:
				f.Lines = append(f.Lines, sim.LineFault{Movement: mv.Number, Nth: nth("l"), Left: metres(side("centre line offset", 0))})
			case terms.Straight, terms.TurnAcross, terms.Diagonal:
				f.Lines = append(f.Lines, sim.LineFault{Movement: mv.Number, Nth: nth("l"), Left: metres(side("line offset", 0))})
			case terms.Halt:
				f.Halts = append(f.Halts, sim.HaltFault{Movement: mv.Number, Nth: nth("h"), Late: metres(side("halt place", 0)), Longer: gait.Seconds(usualImmobility - 1.15*size - planned(mv))})
			case terms.Transition:
				k := nth("t")
				if from, to := fig.From.PaceOf(), fig.Variety.PaceOf(); !halts(from) && !halts(to) {
					f.Transitions = append(f.Transitions, sim.TransitionFault{Movement: mv.Number, Nth: k, Late: metres(1.5 * side(key(from == to), 0))}) // beyond twice the tolerance on bends too
				}
			case terms.ReinBack:
				f.ReinBacks = append(f.ReinBacks, sim.ReinBackFault{Movement: mv.Number, Nth: nth("r"), Scale: math.Max(0.2, 1-size*0.25)})
			}
		}
	}
	return f
}

func key(within bool) string {
	if within {
		return "transition place within a pace"
	}
	return "transition place"
}

// detected counts, by measure, the clear faults and those of them that got their named verdict.
type detected struct{ named, all map[string]int }

// see counts a measure whose truth is a fault larger than twice the tolerance.
func (d detected) see(t *testing.T, class, what string, c compared) {
	t.Helper()
	tol := tolerances[what]
	off := c.truth - *c.Asked
	if math.Abs(off) < 2**c.Tolerance || off > 0 && tol.High == "" || off < 0 && tol.Low == "" {
		return
	}
	d.all[what]++
	if c.Value == nil || c.Verdict == CannotTell || c.wrong() {
		t.Logf("class %q movement %d %s: truth %.2f, %s, %s", class, c.movement, c.What, c.truth, shown(c), c.LimitedBy)
		return
	}
	d.named[what]++
}

// TestDetects: at 0.05 m of white noise at least 95 % of faults larger than twice the
// tolerance get their named verdict.
func TestDetects(t *testing.T) {
	d := detected{named: map[string]int{}, all: map[string]int{}}
	for i, text := range []string{smallSheet, longSheet, smallSheet, longSheet} {
		p := compiled(t, text)
		for _, class := range []string{"survey", "rtk", ""} {
			tr := sim.Ride(p, faultyRide(p, 2.15, i), uint64(i))
			r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.05}, class, uint64(10+i))
			for _, c := range compare(tr, Ride(p, r, Options{})) {
				d.see(t, class, plain(c.What), c)
			}
		}
	}
	n, total := 0, 0
	// a change from medium to free walk is a tenth of a metre a second, which no position shows
	for what, k := range d.all {
		t.Logf("%s: %d of %d named", what, d.named[what], k)
		n, total = n+d.named[what], total+k
		if k >= 8 && float64(d.named[what]) < 0.85*float64(k) {
			t.Errorf("%s: only %d of %d faults named", what, d.named[what], k)
		}
	}
	if float64(n) < 0.95*float64(total) || total < 150 {
		t.Errorf("%d of %d faults larger than twice the tolerance named", n, total)
	}
}

func shown(c compared) string {
	if c.Value == nil {
		return "no value"
	}
	return fmt.Sprintf("%.2f ± %.2f %s", *c.Value, *c.Sigma, c.Verdict)
}
