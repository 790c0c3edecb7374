package measure

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
	"ringcraft/internal/track"
)

// TestCalibrationMotion measures tempo, its regularity and leads of simulated rides from simulated
// motion and compares with the legs that made it. The motion comes from the pushes of four legs on
// a trunk, not from the sums of waves that the detector was made with. RINGCRAFT_CALIBRATE=90 runs
// as many rides and prints the table of docs/MEASURES.md.
func TestCalibrationMotion(t *testing.T) {
	rides, full := 4, false
	if n, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE")); err == nil && n > 0 {
		rides, full = n, true
	}
	plans := []*rideplan.Plan{compiled(t, bothLeads), compiled(t, advancedSheet)}
	rows := map[string]*tally{}
	for i := range rides {
		for _, m := range motionRide(t, plans[i%2], uint64(i)+freshSeeds) {
			if rows[plain(m.What)] == nil {
				rows[plain(m.What)] = &tally{}
			}
			rows[plain(m.What)].add(m)
			if os.Getenv("RINGCRAFT_SHOW") == plain(m.What) && m.Value == nil {
				t.Logf("ride %d movement %d %s: %s", i, m.movement, m.What, m.LimitedBy)
			} else if os.Getenv("RINGCRAFT_SHOW") == plain(m.What) {
				t.Logf("ride %d %.6s movement %d %s: %.2f ± %.2f, truth %.2f: %s", i, paceIn(plans[i%len(plans)], m.movement), m.movement, m.What, *m.Value, *m.Sigma, m.truth, m.Verdict)
			}
		}
	}
	if full {
		print(t, "measure", rows)
	}
	tempo := rows["tempo"]
	if tempo == nil || tempo.valued*10 < tempo.all*5 {
		t.Fatalf("hardly any tempo: %+v", tempo)
	}
	for what, r := range rows {
		t.Logf("%s: %d asked, %d with a value, %d inside, %d judged, %d wrong", what, r.all, r.valued, r.inside, r.judged, r.wrong)
		if r.wrong*10 > max(r.judged, 10) {
			t.Errorf("%s: %d of %d verdicts wrong", what, r.wrong, r.judged)
		}
	}
}

// bothLeads has canter on either lead, each turning to its own side.
const bothLeads = `name: Hazel Lane 3
arena: 20 x 60
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    HXF    Change the rein in medium trot
     F      Working trot
4    A      Working canter right
5    E      Circle right 20 m
6    C      Working trot
7    MXK    Change the rein
8    A      Working canter left
9    B      Circle left 20 m
10   C      Medium walk
11   HXF    Change the rein, free walk on a long rein
     F      Medium walk
12   A      Working trot
13   C      Working canter right
14   B      Circle right 20 m
15   A      Working trot
     K      Working trot
16   A      Down the centre line
     X      Halt, salute
`

// motionRide rides with a tempo, a spread of strides and leads of its own, recorded by an RTK
// receiver and a motion sensor; the truth is that of the legs over the measure's own stretch.
func motionRide(t *testing.T, p *rideplan.Plan, seed uint64) []compared {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 97))
	tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.05, LineM: 8, Speed: 0.012}}, seed)
	g := sim.Going{Tempo: 1 + 0.12*(2*rng.Float64()-1), Spread: 0.01 + 0.07*rng.Float64(), Late: gait.Seconds(0.4 * rng.NormFloat64())}
	for _, mv := range p.Movements {
		if rng.Float64() < wrongLeads() {
			g.WrongLeads = append(g.WrongLeads, mv.Number)
		}
	}
	legs := tr.Legs(p, g, seed)
	imported := func(b []byte) *track.Track {
		x, err := track.Import(bytes.NewReader(b), track.ImportOptions{File: "ride.csv"})
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	s, err := sim.Profile("rtk")
	if err != nil {
		t.Fatal(err)
	}
	rec, err := track.Join(imported(sim.Record(tr, s, seed)), imported(sim.RecordMotion(tr, legs, sim.MotionSensor{RateHz: []float64{50, 100}[seed%2], Gyro: true}, seed)))
	if err != nil {
		t.Fatal(err)
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	return motionTruth(p, legs, Ride(p, r, Options{}))
}

// wrongLeads is the share of canters that begin on the other lead; RINGCRAFT_WRONGLEADS names another.
func wrongLeads() float64 {
	if x, err := strconv.ParseFloat(os.Getenv("RINGCRAFT_WRONGLEADS"), 64); err == nil {
		return x
	}
	return 0.1
}

// paceIn is the pace whose tempo a movement's card gives.
func paceIn(p *rideplan.Plan, movement int) gait.Pace {
	r := &ride{plan: p}
	v, _ := r.mainVariety(&book{movement: p.MovementByNumber(movement)})
	return v.PaceOf()
}

// motionTruth pairs the motion measures with the legs.
func motionTruth(p *rideplan.Plan, legs sim.Legs, set Set) (out []compared) {
	for _, mv := range set {
		pace := paceIn(p, mv.Number)
		for _, m := range mv.Measures {
			if m.FromS == nil {
				continue
			}
			from, to := gait.Seconds(*m.FromS), gait.Seconds(*m.ToS)
			rate, spread, ok := legs.Tempo(pace, from, to)
			switch what := plain(m.What); {
			case what == "tempo" && ok:
				out = append(out, compared{m, mv.Number, rate})
			case what == "tempo regularity" && ok:
				out = append(out, compared{m, mv.Number, spread})
			case what == "lead":
				if truth, ok := leadTruth(p, legs, mv.Number, float64(from+to)/2); ok {
					out = append(out, compared{m, mv.Number, truth})
				}
			}
		}
	}
	return out
}

// leadTruth is 1 where the legs are on the lead that the movement asks, 0 on the other.
func leadTruth(p *rideplan.Plan, legs sim.Legs, movement int, at float64) (float64, bool) {
	for _, f := range p.MovementByNumber(movement).Figures {
		if f.Variety.PaceOf() != gait.Canter || f.From.PaceOf() == gait.Canter || f.Lead == rideplan.NoHand {
			continue
		}
		for _, s := range legs {
			if s.Pace == gait.Canter && math.Abs(float64(s.T)-at) < 1 {
				if s.Lead == f.Lead {
					return 1, true
				}
				return 0, true
			}
		}
	}
	return 0, false
}
