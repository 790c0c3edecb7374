package match

import (
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/arena"
)

// TestAlikeEqualsAllPairs compares the sum that runs once over the sightings with the one over
// all pairs of them, and the inverse with its definition.
func TestAlikeEqualsAllPairs(t *testing.T) {
	ss, tau := randomSightings(rand.New(rand.NewPCG(1, 1))), 7.0
	got := alike(ss, func(s sighting) [2]float64 { return [2]float64{s.normal.X, s.normal.Y} },
		func(a, b sighting) float64 { return math.Exp(-(b.t - a.t) / tau) })
	var want, h square
	for _, a := range ss {
		h.addOuter(a.by, a.by, a.weight)
		for _, b := range ss {
			k := a.weight * b.weight * a.normal.Dot(b.normal) * math.Exp(-math.Abs(a.t-b.t)/tau)
			want.addOuter(a.by, b.by, k)
		}
	}
	inv, ok := h.inverse()
	if !ok {
		t.Fatal("no inverse")
	}
	one := h.times(inv)
	for i := range 3 {
		for j := range 3 {
			if math.Abs(got[i][j]-want[i][j]) > 1e-9*math.Abs(want[i][i])+1e-9 {
				t.Errorf("%d %d: %.9g, by all pairs %.9g", i, j, got[i][j], want[i][j])
			}
			if id := map[bool]float64{true: 1}[i == j]; math.Abs(one[i][j]-id) > 1e-9 {
				t.Errorf("matrix times inverse, %d %d: %g", i, j, one[i][j])
			}
		}
	}
}

func randomSightings(rng *rand.Rand) (ss []sighting) {
	for i := range 40 {
		n := arena.Angle(6.3 * rng.Float64()).Unit()
		ss = append(ss, sighting{t: float64(i) / 2, m: float64(i) * (1 + rng.Float64()), normal: n, weight: rng.Float64(),
			by: [3]float64{n.X, n.Y, 20 * rng.NormFloat64()}})
	}
	return ss
}

// TestTakenEqualsAllPairs compares what the fit shares with the slow error at any time, run once
// each way over the sightings, with the sum over all of them.
func TestTakenEqualsAllPairs(t *testing.T) {
	ss, tau, loose := randomSightings(rand.New(rand.NewPCG(2, 1))), 7.0, 1.3
	var h square
	for _, s := range ss {
		h.addOuter(s.by, s.by, s.weight)
	}
	inv, _ := h.inverse()
	k := taken(ss, inv, tau, loose)
	for _, at := range []float64{-3, 0, 0.2, 5, 5.25, 11.1, ss[len(ss)-1].t, 90} {
		var want [3][2]float64
		for _, s := range ss {
			for i := range want {
				gain := inv[i][0]*s.by[0] + inv[i][1]*s.by[1] + inv[i][2]*s.by[2]
				if i == 2 {
					gain *= loose
				}
				near := gain * s.weight * math.Exp(-math.Abs(at-s.t)/tau)
				want[i][0] += near * s.normal.X
				want[i][1] += near * s.normal.Y
			}
		}
		got := k.At(at)
		for i := range want {
			for j := range want[i] {
				if math.Abs(got[i][j]-want[i][j]) > 1e-12 {
					t.Errorf("at %g s, %d %d: %.12g, by all sightings %.12g", at, i, j, got[i][j], want[i][j])
				}
			}
		}
	}
}

// TestFitSwallowsWhatStays: an error that does not change over the ride goes into the placing
// whole, so that a shift of the recording along x moves the fit along x by as much, and no place in the arena is off.
func TestFitSwallowsWhatStays(t *testing.T) {
	ss := randomSightings(rand.New(rand.NewPCG(3, 1)))
	var h square
	for _, s := range ss {
		h.addOuter(s.by, s.by, s.weight)
	}
	inv, _ := h.inverse()
	got := taken(ss, inv, 1e9, 1).At(4)
	for i := range got {
		for j := range got[i] {
			if want := map[bool]float64{true: 1}[i == j]; math.Abs(got[i][j]-want) > 1e-6 {
				t.Errorf("%d %d: %g, want %g", i, j, got[i][j], want)
			}
		}
	}
}

// TestMovedIsAboutThePoint checks the small step of the placing: the point it turns about moves by
// the shift alone, and one a metre off by the turn too.
func TestMovedIsAboutThePoint(t *testing.T) {
	r := rigid{cos: math.Cos(1.1), sin: math.Sin(1.1), shift: arena.Point{X: 3, Y: -4}, mirrored: true}
	about := arena.Point{X: 5, Y: 22}
	m := r.moved(about, 0.3, arena.Point{X: 0.5, Y: -0.25})
	for _, p := range []arena.Point{{X: 1, Y: 2}, {X: -7, Y: 11}} {
		q := r.apply(p).Sub(about)
		want := arena.Point{X: q.X*math.Cos(0.3) - q.Y*math.Sin(0.3), Y: q.X*math.Sin(0.3) + q.Y*math.Cos(0.3)}.Add(about).Add(arena.Point{X: 0.5, Y: -0.25})
		if d := m.apply(p).Dist(want); d > 1e-9 {
			t.Errorf("%v lies %g m from where it should", p, float64(d))
		}
	}
}
