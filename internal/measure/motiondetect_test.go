package measure

import (
	"math"
	"os"
	"strconv"
	"testing"

	"ringcraft/internal/match"
	"ringcraft/internal/sim"
)

// cantersSheet has seven canters, so that the turns agree on which lead is which although one is wrong.
const cantersSheet = `name: Sorrel Bank 2
arena: 20 x 60
1    A      Enter in working trot
     C      Track left
2    A      Working canter left
3    B      Circle left 20 m
4    C      Working trot
5    A      Working canter left
6    B      Circle left 20 m
7    C      Working trot
8    A      Working canter left
9    B      Circle left 20 m
10   C      Working trot
11   HXF    Change the rein
12   A      Working canter right
13   E      Circle right 20 m
14   C      Working trot
15   A      Working canter right
16   E      Circle right 20 m
17   C      Working trot
18   A      Working canter right
19   E      Circle right 20 m
20   C      Working trot
21   A      Working canter right
22   E      Circle right 20 m
23   C      Working trot
24   A      Down the centre line
     X      Halt, salute
`

// legFaultRide is a ride with clear faults of the legs, and the verdicts that name them.
type legFaultRide struct {
	sheet string
	going sim.Going
	named []namedFault
}

type namedFault struct {
	name     string
	movement int
	what     string
	verdict  string
}

var legFaultRides = []legFaultRide{
	{cantersSheet, sim.Going{WrongLeads: []int{12}, LegFaults: sim.LegFaults{TempoIn: map[int]float64{6: 1.15, 11: 0.85}}}, []namedFault{
		{"tempo 15 % too fast", 6, "tempo", "hurried"},
		{"tempo 15 % too slow", 11, "tempo", "too slow"},
		{"wrong lead", 12, "lead", "wrong lead"},
	}},
	{legsSheet, sim.Going{LegFaults: sim.LegFaults{Steps: map[int]int{9: -1}, Missed: []int{5}, TurnTempo: 0.7}}, []namedFault{
		{"three steps for four", 9, "rein-back steps", "too few"},
		{"simple change to the same lead", 5, "changes of leg", "too few"},
		{"tempo lost by 30 % in the turn", 15, "tempo loss", "losing tempo"},
	}},
	{legsSheet, sim.Going{Spread: 0.13, LegFaults: sim.LegFaults{Steps: map[int]int{9: 2}, Twice: []int{7}, Missed: []int{12}}}, []namedFault{
		{"six steps for four", 9, "rein-back steps", "too many"},
		{"changed back", 7, "changes of leg", "too many"},
		{"change not done", 12, "changes of leg", "too few"},
		{"strides spread by 13 %", 8, "tempo regularity", "irregular"},
	}},
}

// Clear faults of the legs get their named verdict in good recordings. RINGCRAFT_CALIBRATE=20 rides each
// twenty times, and then 95 in a hundred are asked.
func TestFaultsOfLegsAreNamed(t *testing.T) {
	rides := uint64(1)
	if n, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE")); err == nil && n > 0 {
		rides = uint64(n)
	}
	for _, c := range legFaultRides {
		p := compiled(t, c.sheet)
		found := make([]uint64, len(c.named))
		for seed := freshSeeds + uint64(0); seed < freshSeeds+rides; seed++ {
			tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.05, LineM: 8, Speed: 0.012}}, seed)
			set := Ride(p, withMotion(t, p, tr, tr.Legs(p, c.going, seed), sim.MotionSensor{Gyro: true}, seed), Options{})
			for i, f := range c.named {
				if said := saidOf(set, f); said == f.verdict {
					found[i]++
				} else {
					t.Logf("%s, ride %d: %s", f.name, seed-freshSeeds, said)
				}
			}
		}
		for i, f := range c.named {
			t.Logf("%s: named in %d of %d", f.name, found[i], rides)
			if found[i]*100 < rides*95 {
				t.Errorf("%s: named %q in %d of %d", f.name, f.verdict, found[i], rides)
			}
		}
	}
}

// saidOf is the verdict that names a fault where one does, else what was said instead.
func saidOf(set Set, f namedFault) (said string) {
	for _, x := range set.Of(f.movement) {
		if plain(x.What) != f.what {
			continue
		}
		if x.Verdict == f.verdict {
			return f.verdict
		}
		said = x.Verdict + " " + x.LimitedBy
	}
	return said
}

// One stride a quarter longer than the others is listed where it was ridden, and nothing else is.
func TestOddStrideIsListed(t *testing.T) {
	p := compiled(t, legsSheet)
	tr := sim.Ride(p, sim.Faults{}, 3)
	legs := tr.Legs(p, sim.Going{LegFaults: sim.LegFaults{Odd: map[int]float64{2: 1.25, 8: 1.25}}}, 3)
	r := withMotion(t, p, tr, legs, sim.MotionSensor{Gyro: true}, 3)
	var at []float64
	for i, s := range legs {
		if i > 0 && i+1 < len(legs) && s.Pace == legs[i-1].Pace && s.Until == 0 && s.Duration > legs[i-1].Duration*1.15 && s.Duration > legs[i+1].Duration*1.15 {
			at = append(at, float64(s.T))
		}
	}
	if len(at) != 2 {
		t.Fatalf("%d odd strides ridden: %v", len(at), at)
	}
	for _, want := range at {
		if !listedNear(r, want) {
			t.Errorf("the stride at %.1f s is not listed: %+v", want, r.Strides.Irregular)
		}
	}
}

func listedNear(r *match.Ridden, t float64) bool {
	for _, x := range r.Strides.Irregular {
		if math.Abs(float64(x.T)-t) < 1.5 && x.Change > 0.08 {
			return true
		}
	}
	return false
}
