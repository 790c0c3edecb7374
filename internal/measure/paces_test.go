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

// TestPacesHold compares the paces of whole simulated rides with the legs and bodies that made them.
// RINGCRAFT_CALIBRATE=90 rides as many and prints the table of docs/MEASURES.md.
func TestPacesHold(t *testing.T) {
	rides, full := 3, false
	if n, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE")); err == nil && n > 0 {
		rides, full = n, true
	}
	plans := []*rideplan.Plan{compiled(t, bothLeads), compiled(t, advancedSheet), compiled(t, legsSheet)}
	rows := map[string]*tally{}
	add := func(what string, f PaceFigure, truth float64) {
		if rows[what] == nil {
			rows[what] = &tally{}
		}
		rows[what].add(compared{Measure{What: what, Value: &f.Value, Sigma: &f.Sigma, Verdict: CannotTell}, 0, truth})
		if os.Getenv("RINGCRAFT_SHOW") == what {
			t.Logf("%s: %.3f ± %.3f, truth %.3f", what, f.Value, f.Sigma, truth)
		}
	}
	for i := range rides {
		seed := uint64(i) + freshSeeds
		p := plans[i%len(plans)]
		rng := rand.New(rand.NewPCG(seed, 98))
		tr := sim.Ride(p, sim.Faults{Wobble: sim.Wobble{LineSD: 0.05, LineM: 8, Speed: 0.012}}, seed)
		g := sim.Going{Tempo: 1 + 0.12*(2*rng.Float64()-1), Spread: 0.01 + 0.07*rng.Float64(), LegFaults: legFaults(p, rng)}
		legs := tr.Legs(p, g, seed)
		r := withMotion(t, p, tr, legs, sim.MotionSensor{RateHz: 50, Gyro: true}, seed)
		for _, x := range Paces(p, r, Options{}) {
			truth := pacesTruth(tr, legs, x)
			add("speed", x.Speed, truth.speed)
			if x.Tempo == nil {
				continue
			}
			add("tempo", *x.Tempo, truth.tempo)
			add("tempo regularity", *x.Regular, truth.spread)
			add("stride length", *x.Length, truth.length)
		}
	}
	if full {
		print(t, "over the whole ride", rows)
	}
	for what, r := range rows {
		if r.valued < 3*rides || r.inside*10 < r.valued*8 {
			t.Errorf("%s: %d of %d inside", what, r.inside, r.valued)
		}
	}
	if len(rows) != 4 {
		t.Errorf("measured: %v", rows)
	}
}

type paceTruth struct{ speed, tempo, spread, length float64 }

// pacesTruth is what body and legs did over the stretches that were measured.
func pacesTruth(tr sim.Truth, legs sim.Legs, x PaceRidden) (out paceTruth) {
	var way, seconds, strideWay, strideSeconds, n, total, sq, runs float64
	for _, o := range x.over {
		from, to := gait.Seconds(o.from), gait.Seconds(o.to)
		gone, last := 0.0, tr.At(from).Point
		for t := from; t < to; t += 0.05 {
			at := tr.At(min(t+0.05, to)).Point
			gone, last = gone+float64(at.Dist(last)), at
		}
		way, seconds = way+gone, seconds+o.to-o.from
		var d []float64
		for _, s := range legs {
			if s.Pace == gait.Variety(x.Variety).PaceOf() && s.T >= from && s.T+s.Duration <= to {
				d = append(d, float64(s.Duration))
			}
		}
		if len(d) < fewStrides {
			continue
		}
		mean, sd := meanSD(d)
		n, total, sq, runs = n+float64(len(d)), total+mean*float64(len(d)), sq+sd*sd*float64(len(d)-1), runs+1
		strideWay, strideSeconds = strideWay+gone, strideSeconds+o.to-o.from
	}
	out.speed, out.tempo = way/seconds, 60*n/total
	out.spread = 100 * math.Sqrt(sq/(n-runs)) * n / total
	out.length = strideWay / strideSeconds * total / n
	return out
}

// TestLongerOrQuicker: a medium trot with longer strides at the tempo is told from one that only
// hurries, and from one that hardly grows.
func TestLongerOrQuicker(t *testing.T) {
	p := compiled(t, bothLeads)
	for _, c := range []struct {
		name   string
		faster float64 // factor on the tempo of the movement with the medium trot
		gain   float64 // share of the planned gain that is shown
		want   string
	}{
		{"as asked", 1, 1, LongerStrides},
		{"hurried", 1.15, 1, Quickened},
		{"hardly any longer", 1, 0.02, NoLonger},
	} {
		for seed := uint64(1); seed <= 1; seed++ {
			f := sim.Faults{Wobble: sim.Wobble{LineSD: 0.05, LineM: 8, Speed: 0.012}}
			if c.gain < 1 {
				f.Held = []sim.HeldFault{{Movement: 3, Share: 1, Gain: c.gain}}
			}
			tr := sim.Ride(p, f, seed)
			legs := tr.Legs(p, sim.Going{Spread: 0.02, LegFaults: sim.LegFaults{TempoIn: map[int]float64{3: c.faster}}}, seed)
			r := withMotion(t, p, tr, legs, sim.MotionSensor{RateHz: 50, Gyro: true}, seed)
			var got *PaceChange
			for _, x := range Paces(p, r, Options{}) {
				if x.Variety == "medium trot" {
					got = x.Against
				}
			}
			if got == nil || got.Verdict != c.want || got.Variety != "working trot" {
				t.Errorf("%s, seed %d: %+v, want %s", c.name, seed, got, c.want)
			}
		}
	}
}

// TestPacesWithoutMotion: positions alone give speeds, and the reason why no strides.
func TestPacesWithoutMotion(t *testing.T) {
	p := compiled(t, bothLeads)
	rec, err := track.Import(bytes.NewReader(sim.Record(sim.Ride(p, sim.Faults{}, 1), sim.Sensor{RateHz: 10, WhiteSD: 0.02}, 1)), track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: "rtk"})
	if err != nil {
		t.Fatal(err)
	}
	list := Paces(p, r, Options{})
	if len(list) < 4 {
		t.Fatalf("paces: %+v", list)
	}
	for _, x := range list {
		if x.Tempo != nil || x.Length != nil || x.Against != nil || x.Strides != 0 || x.Why != "no motion was recorded" {
			t.Errorf("%s: %+v", x.Variety, x)
		}
		if x.Speed.Usual == nil || math.Abs(x.Speed.Value-*x.Speed.Usual) > 0.1**x.Speed.Usual {
			t.Errorf("%s: speed %+v", x.Variety, x.Speed)
		}
	}
	if Paces(p, nil, Options{}) != nil {
		t.Error("paces without a recording")
	}
}
