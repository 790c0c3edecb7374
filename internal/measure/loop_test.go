package measure

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
	"ringcraft/internal/track"
)

// invented sheets for the tests: small arena with three sizes of circle, long arena with
// lateral work and rein-back.
const smallSheet = `name: Willow Ford 2
arena: 20 x 40
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m
4    FXH    Change the rein in medium trot
     H      Working trot
5    B      Circle right 15 m
6    A      Serpentine three loops
7    C      Medium walk
8    MXK    Change the rein, free walk on a long rein
9    K      Working trot
10   A      Working canter left
11   B      Circle left 10 m
12   C      Working trot
13   E      Turn left
     B      Track right
14   A      Down the centre line
     G      Halt, salute
`

const longSheet = `name: Alder Bank 4
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track right
3    MXK    Change the rein in medium trot
     K      Collected trot
4    FB     Shoulder-in left
5    B      Circle left 10 m
6    HXF    Change the rein in extended trot
     F      Collected trot
7    A      Down the centre line
     DE     Half-pass left
     H      Ride the corner
8    C      Halt, rein-back 4 steps. Proceed in medium walk
9    M      Collected trot
10   B      Circle right 8 m
11   A      Collected canter right
12   E      Circle right 20 m
     KH     One loop 5 m
13   C      Collected trot
14   A      Down the centre line
     I      Halt, salute
`

func compiled(t testing.TB, text string) *rideplan.Plan {
	t.Helper()
	p := rideplan.CompileText("sheet.txt", text, rideplan.Options{})
	if len(p.Samples) < 100 {
		t.Fatalf("the sheet compiles to %d samples: %v", len(p.Samples), p.Problems)
	}
	return p
}

// ridden simulates, records, reads and aligns a ride.
func ridden(t testing.TB, p *rideplan.Plan, tr sim.Truth, s sim.Sensor, class string, seed uint64) *match.Ridden {
	t.Helper()
	rec, err := track.Import(bytes.NewReader(sim.Record(tr, s, seed)), track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: class})
	if err != nil {
		t.Log(err)
		return nil
	}
	return r
}

// compared is one measure of a simulated ride with its truth.
type compared struct {
	Measure
	movement int
	truth    float64
}

// compare pairs the measures that have a truth with it.
func compare(tr sim.Truth, set Set) []compared {
	truth := map[string]float64{}
	for _, v := range tr.Values {
		truth[fmt.Sprint(v.Movement, " ", v.What)] = v.Value
	}
	var out []compared
	for _, m := range set {
		for _, x := range m.Measures {
			if v, ok := truth[fmt.Sprint(m.Number, " ", x.What)]; ok {
				out = append(out, compared{x, m.Number, v})
			}
		}
	}
	return out
}

// rightVerdict is what the verdict would be without doubt, with the side that left and
// right are named from left out: both are the same fault here.
func (c compared) right() string {
	tol := tolerances[plain(c.What)]
	off := c.truth - *c.Asked
	lim := *c.Tolerance
	switch {
	case off > lim && tol.High != "":
		return tol.High
	case off < -lim && tol.Low != "":
		return tol.Low
	}
	return OK
}

// wrong reports a verdict that says what is not so. Right and left change with the
// direction of riding, so for offsets a named fault is wrong when there is none, or when
// the value has the other sign.
func (c compared) wrong() bool {
	if c.Verdict == CannotTell {
		return false
	}
	want := c.right()
	if (c.Verdict == OK) != (want == OK) {
		return true
	}
	return c.Verdict != OK && (*c.Value-*c.Asked)*(c.truth-*c.Asked) < 0
}

// randomFaults draws a ride with many faults of everyday size.
func randomFaults(p *rideplan.Plan, rng *rand.Rand) sim.Faults {
	f := sim.Faults{Speed: map[gait.Variety]float64{}, Wobble: sim.Wobble{LineSD: 0.08, LineM: 8, Speed: 0.015}}
	for _, v := range gait.Varieties() {
		f.Speed[v] = 1 + 0.06*rng.NormFloat64()
	}
	f.Manner = sim.Manner{Own: true, Bends: 0.2 + 1.1*rng.Float64(), ChangeM: metres(2 + 5*rng.Float64()), Ease: sim.Ease(rng.IntN(3))}
	f.CornerCut = metres(math.Abs(0.4 * rng.NormFloat64()))
	f.AngleScale = 1 + 0.15*rng.NormFloat64()
	f.AngleSway = math.Abs(4 * rng.NormFloat64())
	n := func(sd float64) float64 { return sd * rng.NormFloat64() }
	for _, mv := range p.Movements {
		count := map[string]int{}
		nth := func(k string) int { count[k]++; return count[k] - 1 }
		for _, fig := range mv.Figures {
			switch fig.Kind {
			case terms.Circle, terms.Volte:
				f.Circles = append(f.Circles, sim.CircleFault{Movement: mv.Number, Nth: nth("c"), Scale: math.Exp(n(0.06)), Egg: math.Abs(n(0.03))})
			case terms.Entry, terms.CentreLine, terms.Straight, terms.TurnAcross, terms.Diagonal:
				f.Lines = append(f.Lines, sim.LineFault{Movement: mv.Number, Nth: nth("l"), Left: metres(n(0.35)), Drift: metres(n(0.4))})
			case terms.Halt:
				f.Halts = append(f.Halts, sim.HaltFault{Movement: mv.Number, Nth: nth("h"), Late: metres(n(1)), Longer: gait.Seconds(-4 * rng.Float64())})
			case terms.Transition:
				k := nth("t")
				if from, to := fig.From.PaceOf(), fig.Variety.PaceOf(); !halts(from) && !halts(to) {
					f.Transitions = append(f.Transitions, sim.TransitionFault{Movement: mv.Number, Nth: k, Late: metres(math.Max(-4, math.Min(4, n(2))))})
					if rng.Float64() < 0.35 {
						f.Dips = append(f.Dips, sim.DipFault{Movement: mv.Number, Nth: k, By: clamp(n(0.12), -0.25, 0.3), Over: metres(4 + 4*rng.Float64()), After: metres(n(3))})
					}
				}
			case terms.HalfPass, terms.LegYield:
				k := nth("a")
				if z := figureFaults(p, mv, fig, k, rng); len(z.ZigZags) > 0 {
					f.ZigZags = append(f.ZigZags, z.ZigZags...)
				} else if fig.To != "" && !afterOther(p, fig) {
					f.Arrivals = append(f.Arrivals, sim.ArrivalFault{Movement: mv.Number, Nth: k, Late: metres(n(1.2))})
				}
			case terms.ZigZag, terms.ChangeInCircle, terms.TurnOnForehand:
				z := figureFaults(p, mv, fig, nth(string(fig.Kind)), rng)
				if fig.Kind == terms.TurnOnForehand {
					f.Askew = 1.5
				}
				f.ZigZags, f.Changes, f.Turns = append(f.ZigZags, z.ZigZags...), append(f.Changes, z.Changes...), append(f.Turns, z.Turns...)
			case terms.Serpentine:
				for k := range fig.Count {
					f.Loops = append(f.Loops, sim.LoopFault{Movement: mv.Number, Loop: k, Scale: 1 - math.Abs(n(0.08))})
				}
			case terms.Loop:
				f.Loops = append(f.Loops, sim.LoopFault{Movement: mv.Number, Nth: nth("o"), Scale: math.Exp(n(0.1))})
			case terms.MediumPace, terms.ExtendedPace, terms.Lengthened:
				if k := nth("b"); rng.Float64() < 0.7 {
					f.Held = append(f.Held, sim.HeldFault{Movement: mv.Number, Nth: k, Share: 0.3 + 0.8*rng.Float64(), Gain: 0.4 + 0.8*rng.Float64()})
				}
			case terms.ReinBack:
				f.ReinBacks = append(f.ReinBacks, sim.ReinBackFault{Movement: mv.Number, Nth: nth("r"), Scale: math.Max(0.3, 1+n(0.25)), Sideways: metres(n(0.3)), Forward: metres(clamp(n(0.35), 0, 0.8))})
			case terms.TurnOnHaunches, terms.WalkPirouette, terms.CanterPirouette:
				f.Turns = append(f.Turns, sim.TurnFault{Movement: mv.Number, Nth: nth("s"), Size: metres(0.4 + 2.6*rng.Float64()), Longer: gait.Seconds(math.Max(-2, n(1.5))),
					Behind: metres(0.7 + math.Max(-0.2, math.Min(0.2, n(0.1)))), Uneven: math.Max(-0.5, math.Min(0.5, n(0.25)))})
			}
		}
	}
	return f
}
