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
	"ringcraft/internal/terms"
	"ringcraft/internal/track"
)

// TestCalibrationMotion measures tempo, its regularity and leads of simulated rides from simulated
// motion and compares with the legs that made it. The motion comes from the pushes of four legs on
// a trunk, not from the sums of waves that the detector was made with. RINGCRAFT_CALIBRATE=90 runs
// as many rides and prints the table of docs/MEASURES.md.
func TestCalibrationMotion(t *testing.T) {
	rides, full := 3, false
	if n, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE")); err == nil && n > 0 {
		rides, full = n, true
	}
	plans := []*rideplan.Plan{compiled(t, bothLeads), compiled(t, advancedSheet), compiled(t, legsSheet), compiled(t, pirouettesSheet)}
	rows := map[string]*tally{}
	for i := range rides {
		for _, m := range motionRide(t, plans[i%len(plans)], uint64(i)+firstSeed()) {
			row := plain(m.What)
			if m.What == lossInCanter {
				row = m.What
			}
			if rows[row] == nil {
				rows[row] = &tally{}
			}
			rows[row].add(m)
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

// lossInCanter has a row of its own: a canter pirouette is asked to lose tempo, a turn in walk is not.
const lossInCanter = "tempo loss in canter"

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

// legsSheet asks what only legs show: changes of leg, steps of rein-back, tempo of turns on the spot.
const legsSheet = `name: Juniper Field 7
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track left
3    A      Collected canter left
4    B      Circle left 20 m
5    HXF    Change the rein
     X      Simple change
6    A      Collected canter
     E      Circle right 20 m
7    MXK    Change the rein
     X      Flying change
8    A      Collected canter
     B      Circle left 20 m
9    C      Halt, rein-back 4 steps. Proceed in collected trot
10   A      Collected trot
     F      Collected canter left
11   B      Circle left 20 m
12   HXF    Change the rein
     F      Flying change
13   K      Collected trot
14   C      Halt, rein-back 5 steps. Proceed in medium walk
15   B      Turn on the haunches right
     C      Turn on the haunches left
16   B      Collected trot
     F      Collected trot
17   A      Down the centre line
     X      Halt, salute
`

// pirouettesSheet has pirouettes in canter, and canters on both leads that do not hang together.
const pirouettesSheet = `name: Sallow Rise 9
arena: 20 x 60
1    A      Enter in collected canter
     X      Halt, salute. Proceed in collected trot
2    C      Track left
3    A      Collected canter left
4    FXH    Change the rein
     X      Half pirouette left
     F      Collected trot
5    K      Collected canter right
6    C      Circle right 20 m
7    MXK    Change the rein
     X      Half pirouette right
     M      Collected trot
8    H      Collected canter left
9    F      Collected trot
10   A      Down the centre line
     X      Halt, salute
`

// legFaults draws what the legs do otherwise than asked.
func legFaults(p *rideplan.Plan, rng *rand.Rand) sim.LegFaults {
	f := sim.LegFaults{Steps: map[int]int{}, TempoIn: map[int]float64{}, TurnTempo: 1 - 0.35*rng.Float64()*rng.Float64()}
	for _, mv := range p.Movements {
		switch k := rng.Float64(); {
		case k < 0.15:
			f.Missed = append(f.Missed, mv.Number)
		case k < 0.3:
			f.Twice = append(f.Twice, mv.Number)
		}
		f.Steps[mv.Number] = []int{-1, 0, 0, 0, 1}[rng.IntN(5)]
		f.TempoIn[mv.Number] = 1 + 0.03*rng.NormFloat64()
	}
	return f
}

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
	g.LegFaults = legFaults(p, rng)
	legs := tr.Legs(p, g, seed)
	sensor := sim.MotionSensor{RateHz: []float64{50, 100}[seed%2], Gyro: true, Place: os.Getenv("RINGCRAFT_PLACE")}
	if hz, err := strconv.ParseFloat(os.Getenv("RINGCRAFT_HZ"), 64); err == nil {
		sensor.RateHz = hz
	}
	sensor.Ahead = gait.Seconds(0.15 * rng.NormFloat64()) // what the matching of the clocks allows for
	r := withMotion(t, p, tr, legs, sensor, seed)
	return motionTruth(p, tr, legs, r, Ride(p, r, Options{}))
}

// withMotion is a simulated ride as an RTK receiver with heading and a motion sensor recorded it.
func withMotion(t *testing.T, p *rideplan.Plan, tr sim.Truth, legs sim.Legs, motion sim.MotionSensor, seed uint64) *match.Ridden {
	t.Helper()
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
	s.Heading, s.HeadingSDDeg = true, 2
	rec, err := track.Join(imported(sim.Record(tr, s, seed)), imported(sim.RecordMotion(tr, legs, motion, seed)), nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	return r
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
func motionTruth(p *rideplan.Plan, tr sim.Truth, legs sim.Legs, r *match.Ridden, set Set) (out []compared) {
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
			case what == "rein-back steps":
				out = append(out, compared{m, mv.Number, float64(legs.StepsBack(from-1.5, to+1.5))})
			case what == "changes of leg":
				out = append(out, compared{m, mv.Number, float64(legs.Changes(from, to))})
			case what == "tempo loss":
				turned := gait.Walk
				for _, f := range p.MovementByNumber(mv.Number).Figures {
					if f.Kind == terms.CanterPirouette {
						turned = gait.Canter
					}
				}
				if turned == gait.Canter {
					m.What = lossInCanter
				}
				out = append(out, compared{m, mv.Number, lossTruth(legs, turned, from, to)})
			case what == "transition place":
				if truth, ok := changeTruth(p, tr, legs, mv.Number, m); ok {
					out = append(out, compared{m, mv.Number, truth})
				}
			case what == "stride gain":
				if truth, ok := strideGainTruth(p, tr, legs, r, mv.Number); ok {
					out = append(out, compared{m, mv.Number, truth})
				}
			case what == "lead":
				if truth, ok := leadTruth(p, legs, mv.Number, float64(from+to)/2); ok {
					out = append(out, compared{m, mv.Number, truth})
				}
			}
		}
	}
	return out
}

// strideGainTruth is how much longer the legs' strides were over the stretches that the measure compares.
func strideGainTruth(p *rideplan.Plan, tr sim.Truth, legs sim.Legs, rec *match.Ridden, movement int) (float64, bool) {
	r := newRide(p, rec, Options{})
	for i := range p.MovementByNumber(movement).Figures {
		f := &p.MovementByNumber(movement).Figures[i]
		if !isBigger(f.Kind) {
			continue
		}
		base := r.paceBefore(f)
		var whole stretch
		for _, s := range r.stretches(float64(f.StartM), float64(f.EndM)) {
			if s.variety == f.Variety && s.z-s.a > whole.z-whole.a {
				whole = s
			}
		}
		length := func(list []stretch) float64 {
			x := PaceRidden{Variety: string(list[0].variety)}
			for _, s := range list {
				os, _ := r.over(s.a, s.z)
				x.over = append(x.over, during(os))
			}
			return pacesTruth(tr, legs, x).length
		}
		v := 100 * (length([]stretch{whole.within(fromGain, fromGain)})/length(base) - 1)
		return v, !math.IsNaN(v) // too few strides of the legs themselves
	}
	return 0, false
}

// lossTruth is the loss of tempo of the strides between two times against those of the ten seconds before.
func lossTruth(legs sim.Legs, pace gait.Pace, from, to gait.Seconds) float64 {
	mean := func(a, z gait.Seconds) float64 {
		sum, n := 0.0, 0.0
		for _, s := range legs {
			if mid := s.T + s.Duration/2; s.Pace == pace && mid >= a && mid <= z {
				sum, n = sum+float64(s.Duration), n+1
			}
		}
		return sum / n
	}
	return 100 * (1 - mean(from-tempoBefore, from)/mean(from, to))
}

// changeTruth is where, against the middle of the change on the plan, the legs changed between trot and canter.
func changeTruth(p *rideplan.Plan, tr sim.Truth, legs sim.Legs, movement int, m Measure) (float64, bool) {
	for _, f := range p.MovementByNumber(movement).Figures {
		from, to := f.From.PaceOf(), f.Variety.PaceOf()
		legChange := from == gait.Trot && to == gait.Canter || from == gait.Canter && to == gait.Trot
		if f.Kind != terms.Transition || !legChange || m.What != "transition place" && m.What != "transition place "+f.At {
			continue
		}
		t, ok := legs.Begins(from, to, gait.Seconds(*m.FromS))
		return tr.At(t).PlanM - float64(f.StartM+f.EndM)/2, ok
	}
	return 0, false
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
