package sim

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/track"
)

const sheetText = `name: Willow Ford 2
arena: 20 x 40
1    A      Enter in working trot
     X      Halt, salute. Proceed in working trot
2    C      Track left
3    E      Circle left 20 m
4    A      Medium walk
5    B      Working trot
6    A      Down the centre line
     X      Halt, rein-back 4 steps. Proceed in medium walk
     G      Halt, salute
`

func plan(t testing.TB) *rideplan.Plan {
	t.Helper()
	p := rideplan.CompileText("sheet.txt", sheetText, rideplan.Options{})
	if len(p.Samples) < 100 {
		t.Fatal(p.Problems)
	}
	return p
}

func (tr *Truth) value(t *testing.T, movement int, what string) float64 {
	t.Helper()
	for _, v := range tr.Values {
		if v.Movement == movement && v.What == what {
			return v.Value
		}
	}
	t.Fatalf("no %s in movement %d", what, movement)
	return 0
}

// TestNoFaults: without faults the ride is the plan, in place and time.
func TestNoFaults(t *testing.T) {
	p := plan(t)
	tr := Ride(p, Faults{}, 1)
	if d := math.Abs(float64(tr.End - p.Total)); d > 0.05 {
		t.Errorf("the ride takes %.2f s longer than the plan", d)
	}
	for _, s := range p.Samples {
		if d := tr.At(s.T).Point.Dist(s.Point); d > 0.1 {
			t.Fatalf("at %.1f s the ride is %.2f m from the plan", float64(s.T), float64(d))
		}
	}
}

// TestSameSeed: same plan, faults and seed give the same bytes; another seed does not.
func TestSameSeed(t *testing.T) {
	p := plan(t)
	f := Faults{Wobble: Wobble{LineSD: 0.1, Speed: 0.02}}
	for _, model := range []WanderModel{WanderOU, WanderSteps, WanderWalk} {
		s := Sensor{WhiteSD: 0.1, WanderSD: 0.5, WanderTau: 60, Wander: model, JitterS: 0.01, OutlierShare: 0.01, OutlierM: 9}
		make := func(ride, sensor uint64) []byte { return Record(Ride(p, f, ride), s, sensor) }
		if !bytes.Equal(make(1, 2), make(1, 2)) {
			t.Errorf("%s: same seeds, other bytes", model)
		}
		if bytes.Equal(make(1, 2), make(1, 3)) || bytes.Equal(make(1, 2), make(2, 2)) {
			t.Errorf("%s: other seeds, same bytes", model)
		}
	}
}

// TestStatedFaults: each fault makes the truth that it states, by hand where that is simple.
func TestStatedFaults(t *testing.T) {
	p := plan(t)
	tr := Ride(p, Faults{
		Circles:     []CircleFault{{Movement: 3, Scale: 17 / 18.4}},
		Halts:       []HaltFault{{Movement: 1, Late: 1.5, Longer: -2}},
		Transitions: []TransitionFault{{Movement: 5, Late: -2}},
		Lines:       []LineFault{{Movement: 1, Left: 0.6}},
		ReinBacks:   []ReinBackFault{{Movement: 6, Scale: 0.5}},
		Speed:       map[gait.Variety]float64{gait.WorkingTrot: 0.9},
	}, 1)
	back := p.MovementByNumber(6)
	var asked float64
	for _, f := range back.Figures {
		if string(f.Kind) == "rein-back" {
			asked = float64(f.EndM - f.StartM)
		}
	}
	for _, c := range []struct {
		movement  int
		what      string
		want, tol float64
	}{
		{3, "circle diameter", 17, 0.02}, {1, "halt place", 1.5, 0.01}, {5, "transition place", -2, 1e-9},
		{1, "centre line offset", -0.6, 0.03}, {6, "rein-back length", asked / 2, 0.06}, {2, "speed", 0.9 * 3.61, 0.08},
	} {
		if got := tr.value(t, c.movement, c.what); math.Abs(got-c.want) > c.tol {
			t.Errorf("movement %d %s is %.3f, stated %.3f", c.movement, c.what, got, c.want)
		}
	}
	short, usual := tr.value(t, 1, "halt duration"), 0.0
	plain := Ride(p, Faults{}, 1)
	usual = plain.value(t, 1, "halt duration")
	if math.Abs(usual-short-2) > 0.1 {
		t.Errorf("the halt is %.2f s shorter, stated 2", usual-short)
	}
}

// TestNoise: white and slow errors have the size stated.
func TestNoise(t *testing.T) {
	p := plan(t)
	tr := Ride(p, Faults{}, 1)
	for _, s := range []Sensor{{WhiteSD: 0.3}, {WanderSD: 0.7, WanderTau: 5}, {WanderSD: 0.7, WanderTau: 5, Wander: WanderSteps}} {
		var ss, n float64
		for seed := range uint64(40) {
			for _, f := range s.fixes(tr, seed) {
				d := f.p.Sub(tr.At(gait.Seconds(f.t)).Point)
				ss, n = ss+d.Dot(d), n+2
			}
		}
		want := math.Hypot(s.WhiteSD, s.WanderSD)
		if got := math.Sqrt(ss / n); math.Abs(got/want-1) > 0.05 {
			t.Errorf("%+v: error of %.3f m, stated %.3f", s, got, want)
		}
	}
}

// TestLabelled: everything written says that it is simulated, and can be read back.
func TestLabelled(t *testing.T) {
	p := plan(t)
	tr := Ride(p, Faults{}, 1)
	g := InventedGround()
	gpx, err := RecordGPX(tr, Sensor{RateHz: 1}, g, 1)
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"csv": Record(tr, Sensor{Heading: true}, 1), "latlon": RecordLatLon(tr, Sensor{}, g, 1), "gpx": gpx} {
		if !strings.Contains(string(data[:400]), "simulated") {
			t.Errorf("%s does not say that it is simulated", name)
		}
		rec, err := track.Import(bytes.NewReader(data), track.ImportOptions{File: name})
		if err != nil || len(rec.Fixes) < 100 {
			t.Errorf("%s: %v", name, err)
		}
	}
	a, _ := arena.Small40.Letter("A")
	if q := g.LatLon(a); math.Abs(q.LatDeg-g.A.LatDeg) > 1e-9 || math.Abs(q.LonDeg-g.A.LonDeg) > 1e-9 {
		t.Errorf("A lies at %v, stated %v", q, g.A)
	}
}

// TestBendsAreBends: how a rider goes through bends says nothing of the straights. A pace that
// begins out of a faster one has quick first metres in the plan, which are not its speed.
func TestBendsAreBends(t *testing.T) {
	p := plan(t)
	for _, bends := range []float64{0.2, 1.3} {
		tr := Ride(p, Faults{Manner: Manner{Own: true, Bends: bends, ChangeM: 3}}, 1)
		straight := 0
		for i := 1; i < len(tr.Samples); i++ {
			a, b := tr.Samples[i-1], tr.Samples[i]
			want := float64(p.SampleAtM(arena.Metres(b.PlanM)).Speed)
			if b.PlanM-a.PlanM < 0.05 || !steadyAround(p, b.PlanM) {
				continue
			}
			straight++
			if got := float64(b.Point.Dist(a.Point)) / float64(b.T-a.T); math.Abs(got/want-1) > 0.05 {
				t.Errorf("bends %.1f: %.2f m/s at metre %.1f, a straight planned at %.2f", bends, got, b.PlanM, want)
				break
			}
		}
		if straight < 300 {
			t.Errorf("only %d steps on straights", straight)
		}
	}
}

// steadyAround reports a straight at one speed for 6 m either side of metre m.
func steadyAround(p *rideplan.Plan, m float64) bool {
	at := p.SampleAtM(arena.Metres(m))
	for d := -6.0; d <= 6; d += 0.5 {
		s := p.SampleAtM(arena.Metres(m + d))
		if math.Abs(s.Curvature) > 1e-6 || s.Variety != at.Variety || math.Abs(float64(s.Speed/at.Speed)-1) > 0.01 {
			return false
		}
	}
	return true
}

// TestLateIntoCircle: a half-pass that arrives late at a circle's letter moves the circle along, and
// leaves it a circle.
func TestLateIntoCircle(t *testing.T) {
	p := rideplan.CompileText("sheet.txt", "name: Rowan Gate 6\narena: 20 x 60\n1 A Enter in collected trot\n2 C Track left\n3 A Down the centre line\n  DB Half-pass right\n4 B Circle left 10 m\n5 A Down the centre line\n  X Halt, salute\n", rideplan.Options{})
	usual, late := Ride(p, Faults{}, 1), Ride(p, Faults{Arrivals: []ArrivalFault{{Movement: 3, Late: 1.5}}}, 1)
	for what, by := range map[string]float64{"circle diameter": 0, "circle roundness": 0, "circle opening": 1.5, "circle closing": 1.5} {
		if got := late.value(t, 4, what) - usual.value(t, 4, what); math.Abs(got-by) > 0.05 {
			t.Errorf("%s changes by %.2f m, stated %.2f", what, got, by)
		}
	}
}
