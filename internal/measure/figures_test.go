package measure

import (
	"math"
	"math/rand/v2"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/terms"
)

// figuresSheet holds what the other sheets of the tables lack: zig-zags, counter-changes, changes
// through the circle and from circle to circle, turns on the forehand. Invented.
const figuresSheet = `name: Hazel Lea 4
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track left
3    A      Down the centre line
     D-G    Zig-zag, 3 half-passes left, right, left, 5 m either side
     C      Track right
4    B      Circle right 20 m
     B      Change through the circle
5    A      Down the centre line
     DG     Zig-zag, 3 half-passes 4-8-4 strides
     C      Track left
6    E      Medium walk
     K      Turn on the forehand left
     V      Working trot
7    A      Circle right 20 m
     A      Change through the circle
8    C      Circle left 20 m
     C      Change from circle to circle
     A      Working trot
9    E      Medium walk
     H      Turn on the forehand right
     S      Working trot
10   A      Working canter
11   A      Down the centre line
     D-G    Zig-zag, 4 half-passes, 4 m either side, with flying changes
     C      Track left
12   C      Collected trot
13   FX     Half-pass left
     XM     Half-pass right
14   A      Down the centre line
     X      Halt, salute
`

// figureFaults draws faults of everyday size for zig-zags, counter-changes, changes through circles
// and turns on the forehand.
func figureFaults(p *rideplan.Plan, mv rideplan.Movement, fig rideplan.Figure, nth int, rng *rand.Rand) (f sim.Faults) {
	n := func(sd float64) float64 { return sd * rng.NormFloat64() }
	switch fig.Kind {
	case terms.ZigZag, terms.HalfPass, terms.LegYield:
		turns := fig.Count - 1
		if fig.Kind != terms.ZigZag {
			if turns = 1; !beforeOther(p, fig) {
				return f
			}
		}
		z := sim.ZigZagFault{Movement: mv.Number, Nth: nth, Straight: metres(4 * rng.Float64()), Bow: metres(n(0.25))}
		for range turns {
			z.Wider, z.Late = append(z.Wider, metres(n(0.6))), append(z.Late, metres(n(1.3)))
		}
		f.ZigZags = append(f.ZigZags, z)
	case terms.ChangeInCircle:
		f.Changes = append(f.Changes, sim.CircleChangeFault{Movement: mv.Number, Nth: nth, First: math.Exp(n(0.06)), Second: math.Exp(n(0.06)), Past: metres(n(0.6)), Late: metres(n(0.8))})
	case terms.TurnOnForehand:
		f.Turns = append(f.Turns, sim.TurnFault{Movement: mv.Number, Nth: nth, Size: metres(0.3 + 2.5*rng.Float64()), Longer: gait.Seconds(math.Max(-2, n(1.5))), Further: n(12),
			Behind: metres(0.55 + clamp(n(0.1), -0.2, 0.2)), Uneven: clamp(n(0.25), -0.5, 0.5)})
	}
	return f
}

// beforeOther and afterOther report work to the side that goes on to the other side, or came from it.
func beforeOther(p *rideplan.Plan, f rideplan.Figure) bool {
	r := &ride{plan: p}
	for i := range p.Movements {
		for k := range p.Movements[i].Figures {
			if g := &p.Movements[i].Figures[k]; g.Kind == f.Kind && g.StartM == f.StartM {
				return r.otherWayAfter(g) != nil && !r.inZigZag(&p.Movements[i], g)
			}
		}
	}
	return false
}

func afterOther(p *rideplan.Plan, f rideplan.Figure) bool {
	for _, mv := range p.Movements {
		for _, g := range mv.Figures {
			if sideways(g.Kind) && g.Hand != f.Hand && math.Abs(float64(g.EndM-f.StartM)) < 0.5 {
				return true
			}
		}
	}
	return false
}
