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
	"ringcraft/internal/track"
)

const pairSheet = `name: Alder Copse 2
arena: 20 x 60
1    A      Enter in collected trot
     X      Halt, salute. Proceed in collected trot
2    C      Track right
3    MB     Shoulder-in right
4    KE     Travers right
5    HXF    Change the rein in collected trot
6    A      Down the centre line
     X      Halt, salute
`

// pairRide records a ride by two tags, on poll and croup, each with errors of its own; nil where they
// are too unsteady to be taken for one horse.
func pairRide(t *testing.T, p *rideplan.Plan, tr sim.Truth, apart, wander, white float64, class string, seed uint64) *match.Ridden {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 0xa1b2))
	const tau = 20.0
	var slow [4]float64
	for i := range slow {
		slow[i] = wander * rng.NormFloat64()
	}
	var b bytes.Buffer
	b.WriteString("# simulated ride, not a recording\nt_s,poll_x_m,poll_y_m,croup_x_m,croup_y_m\n")
	for k := 0; float64(k)/10 < float64(tr.Samples[len(tr.Samples)-1].T); k++ {
		s := tr.At(gait.Seconds(float64(k) / 10))
		u := s.Heading.Unit().Mul(apart / 2)
		keep := math.Exp(-0.1 / tau)
		for i := range slow {
			slow[i] = keep*slow[i] + wander*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		}
		f, h := s.Point.Add(u), s.Point.Sub(u)
		n := func() float64 { return white * rng.NormFloat64() }
		fmt.Fprintf(&b, "%.2f,%.4f,%.4f,%.4f,%.4f\n", float64(k)/10, f.X+slow[0]+n(), f.Y+slow[1]+n(), h.X+slow[2]+n(), h.Y+slow[3]+n())
	}
	rec, err := track.Import(&b, track.ImportOptions{File: "ride.csv"})
	if err != nil {
		t.Fatal(err)
	}
	if rec.PairDistance == 0 {
		return nil // too unsteady to be taken for one horse
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: class})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestAngleFromTwoTags: the slow errors of two radio tags 1.2 m apart turn the heading by many
// degrees, and the doubt of the angle says so; tags that hardly wander tell it.
func TestAngleFromTwoTags(t *testing.T) {
	p := compiled(t, pairSheet)
	for _, c := range []struct {
		class  string
		wander float64
		white  float64
		rides  uint64
	}{{"uwb", 0.28, 0.08, 12}, {"rtk", 0.03, 0.02, 5}} {
		n, inside, judged, wrong, sigmas := 0, 0, 0, 0, 0.0
		for seed := range c.rides {
			rng := rand.New(rand.NewPCG(seed, 99))
			tr := sim.Ride(p, randomFaults(p, rng), seed)
			r := pairRide(t, p, tr, 1.2, c.wander, c.white, c.class, seed)
			if r == nil {
				continue
			}
			for _, m := range compare(tr, Ride(p, r, Options{})) {
				if plain(m.What) != "angle" || m.Value == nil {
					continue
				}
				n++
				sigmas += *m.Sigma
				if math.Abs(*m.Value-m.truth) < 1.96**m.Sigma {
					inside++
				}
				if m.Verdict != CannotTell {
					judged++
				}
				if m.wrong() {
					wrong++
				}
			}
		}
		t.Logf("%s: %d angles, %d inside, %d judged, %d wrong, doubt %.1f degrees", c.class, n, inside, judged, wrong, sigmas/float64(n))
		if n < 10 || float64(inside) < 0.8*float64(n) || wrong > 0 {
			t.Errorf("%s: of %d angles %d lie inside their intervals, %d verdicts are wrong", c.class, n, inside, wrong)
		}
		if usual := sigmas / float64(n); c.class == "rtk" && usual > 4 {
			t.Errorf("the angle from two good tags is doubted by %.1f degrees", usual)
		}
	}
}

// TestAngleToTheWrongSide: a horse with its quarters out instead of in is not said to have too little
// angle.
func TestAngleToTheWrongSide(t *testing.T) {
	p := compiled(t, pairSheet)
	tr := sim.Ride(p, sim.Faults{AngleScale: -1}, 1)
	r := ridden(t, p, tr, sim.Sensor{WhiteSD: 0.02, Heading: true, HeadingSDDeg: 1}, "rtk", 1)
	for _, n := range []int{3, 4} {
		m := find(Ride(p, r, Options{}).Of(n), "angle")
		if m.Verdict != wrongSide {
			t.Errorf("movement %d: angle %.0f of %.0f is called %q", n, *m.Value, *m.Asked, m.Verdict)
		}
	}
	slight := sim.Ride(p, sim.Faults{AngleScale: -0.05}, 1)
	r = ridden(t, p, slight, sim.Sensor{WhiteSD: 0.02, Heading: true, HeadingSDDeg: 1}, "rtk", 1)
	if m := find(Ride(p, r, Options{}).Of(3), "angle"); m.Verdict != "too little" {
		t.Errorf("a straight horse is called %q", m.Verdict)
	}
}
