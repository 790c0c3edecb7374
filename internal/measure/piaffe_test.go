package measure

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sim"
)

const piaffeSheet = `name: Quill Brook 9
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track left
     S      Passage
3    E      Piaffe 14 steps
     E      Passage
4    K      Collected trot
5    A      Down the centre line
     X      Halt, salute
`

// TestPiaffeTravel: how far a piaffe went forward, against the way that the simulated rider really
// made by the same words, on rides that go less, as much and more than is allowed.
func TestPiaffeTravel(t *testing.T) {
	p := compiled(t, piaffeSheet)
	for _, c := range []struct {
		stride  float64 // metres a stride, two steps
		class   string
		verdict string
	}{
		{0.02, "survey", OK}, {0.12, "survey", OK}, {0.6, "survey", "travelled forward"},
		{0.1, "rtk", OK}, {0.6, "rtk", "travelled forward"}, {0.6, "uwb", ""}, {0.2, "sport", ""},
	} {
		horse := gait.Profile{Varieties: map[gait.Variety]gait.ProfileFigures{gait.Piaffe: {StrideM: c.stride, TempoHz: 0.94}}}
		other := rideplan.CompileText("sheet", piaffeSheet, rideplan.Options{Horse: horse})
		inside, n := 0, 0
		for seed := range uint64(2) {
			tr := sim.Ride(other, sim.Faults{Wobble: sim.Wobble{LineSD: 0.08, LineM: 8, Speed: 0.015}}, seed)
			s, err := sim.Profile(c.class)
			if err != nil {
				t.Fatal(err)
			}
			r := ridden(t, p, tr, s, c.class, seed)
			m := find(Ride(p, r, Options{}).Of(3), "piaffe travel")
			if m == nil || m.Value == nil {
				t.Errorf("%+v: nothing was measured: %+v", c, m)
				continue
			}
			truth := travelled(tr, 3)
			n++
			if math.Abs(*m.Value-truth) < 1.96**m.Sigma {
				inside++
			}
			t.Logf("%s, %.2f m a stride: %.2f ± %.2f m, true %.2f, asked %.2f: %s", c.class, c.stride, *m.Value, *m.Sigma, truth, *m.Asked, m.Verdict)
			if c.verdict != "" && m.Verdict != c.verdict {
				t.Errorf("%s, %.2f m a stride: %q, not %q", c.class, c.stride, m.Verdict, c.verdict)
			}
		}
		if inside < n-1 {
			t.Errorf("%+v: %d of %d inside", c, inside, n)
		}
	}
}

// TestCalibrationPiaffe compares piaffes that go forward by 1 to 40 cm a step, and recorders that err half, once and
// twice as declared and wander in three ways, with the way really made. RINGCRAFT_CALIBRATE=135 prints the table of docs/MEASURES.md.
func TestCalibrationPiaffe(t *testing.T) {
	rides, full := 15, false
	if n, err := strconv.Atoi(os.Getenv("RINGCRAFT_CALIBRATE")); err == nil && n > 0 {
		rides, full = n, true
	}
	p := compiled(t, piaffeSheet)
	conds := conditions()
	rows, all := map[string]*tally{}, &tally{}
	for i := range rides {
		c, seed := conds[i*7%len(conds)], uint64(i)+firstSeed()
		rng := rand.New(rand.NewPCG(seed, 96))
		horse := gait.Profile{Varieties: map[gait.Variety]gait.ProfileFigures{gait.Piaffe: {StrideM: 0.02 + 0.78*rng.Float64()*rng.Float64(), TempoHz: 0.94}}}
		other := rideplan.CompileText("sheet", piaffeSheet, rideplan.Options{Horse: horse})
		tr := sim.Ride(other, sim.Faults{Wobble: sim.Wobble{LineSD: 0.08, LineM: 8, Speed: 0.015}}, seed)
		r := ridden(t, p, tr, c.sensor(t), c.class, seed)
		if r == nil {
			continue
		}
		m := find(Ride(p, r, Options{}).Of(3), "piaffe travel")
		if m == nil { // the movement was not found in the recording
			m = &Measure{What: "piaffe travel", Verdict: CannotTell}
		}
		x := compared{*m, 3, travelled(tr, 3)}
		if rows[c.class] == nil {
			rows[c.class] = &tally{}
		}
		rows[c.class].add(x)
		all.add(x)
	}
	if full {
		rows["all"] = all
		print(t, "piaffe travel", rows)
	}
	if all.valued < rides/2 || float64(all.inside) < 0.85*float64(all.valued) || all.wrong*50 > max(all.judged, 50) {
		t.Errorf("of %d piaffes %d have a value, %d hold, %d of %d verdicts wrong", rides, all.valued, all.inside, all.wrong, all.judged)
	}
}

// travelled is the way made in a movement's longest time at less than 0.8 m/s.
func travelled(tr sim.Truth, movement int) float64 {
	best, long := 0.0, 0.0
	way, since := 0.0, math.NaN()
	for i := 1; i < len(tr.Samples); i++ {
		a, b := tr.Samples[i-1], tr.Samples[i]
		d := float64(b.Dist(a.Point))
		if b.Movement != movement && b.Movement != movement-1 || d/float64(b.T-a.T) >= 0.8 {
			way, since = 0, math.NaN()
			continue
		}
		if math.IsNaN(since) {
			since = float64(a.T)
		}
		if way += d; float64(b.T)-since > long {
			best, long = way, float64(b.T)-since
		}
	}
	return best
}

// TestPiaffeBackwards: a piaffe that goes back is no good one, and one nearly on the spot is.
func TestPiaffeBackwards(t *testing.T) {
	for _, c := range []struct {
		value float64
		want  string
	}{{-0.8, creptBack}, {0.6, OK}, {1.4, OK}, {3.2, "travelled forward"}} {
		b := &book{}
		b.addTravel(entry{what: "piaffe travel", value: c.value, asked: 1.5, parts: []part{{fromRiding, 0.2 * 0.2}}})
		if got := b.list[0].Verdict; got != c.want {
			t.Errorf("%.1f m: %q, not %q", c.value, got, c.want)
		}
	}
}
