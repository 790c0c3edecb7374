package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/arena"
)

// The weights of an egg's size say how it moves with every fix, circle and all: as when one fix is
// moved and the circle is fitted anew.
func TestEggWeights(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 20 {
		os := eggRidden(rng, 12+rng.IntN(40))
		c, whole := eggFitted(t, os)
		for k, w := range whole.weights {
			for axis, want := range []float64{w.wx, w.wy} {
				const h = 1e-4
				moved := append([]obs(nil), os...)
				d := arena.Point{X: h * float64(1-axis), Y: h * float64(axis)}
				moved[k].at = os[k].at.Add(d)
				_, up := eggFitted(t, moved)
				moved[k].at = os[k].at.Sub(d)
				_, down := eggFitted(t, moved)
				// the fit's first-order weights leave out how far the path lies off the circle, some percent of its radius
				if got := (up.size - down.size) / (2 * h); math.Abs(got-want) > 0.03 {
					t.Errorf("circle of %.1f m, fix %d, axis %d: the egg moves by %.4f a metre, weight %.4f", c.radius, k, axis, got, want)
				}
			}
		}
	}
}

// An error that moves the whole circle, or widens it, is none of its egg.
func TestEggOfAMovedCircle(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for range 20 {
		os := eggRidden(rng, 20)
		c, _ := eggFitted(t, os)
		var x, y, wider float64
		for i, w := range c.eggOf(os).weights {
			u := os[i].at.Sub(c.centre)
			u = u.Mul(1 / float64(u.Norm()))
			x, y, wider = x+w.wx, y+w.wy, wider+w.wx*u.X+w.wy*u.Y
		}
		if math.Abs(x)+math.Abs(y)+math.Abs(wider) > 1e-9 {
			t.Errorf("a metre to the side, along and outwards moves the egg by %.2g, %.2g and %.2g", x, y, wider)
		}
	}
}

// eggRidden is an egg-shaped path at uneven steps, its longest way anywhere.
func eggRidden(rng *rand.Rand, n int) []obs {
	radius, turned := 3+7*rng.Float64(), rng.Float64()*math.Pi
	at := rng.Float64()
	os := make([]obs, n)
	for i := range os {
		at += (0.7 + 0.6*rng.Float64()) * (2*math.Pi - 0.2) / float64(n)
		r := radius + 0.1*math.Cos(2*(at-turned)) + 0.02*rng.NormFloat64()
		os[i] = obs{t: float64(i), m: at * radius, at: arena.Angle(at).Unit().Mul(r)}
	}
	return os
}

func eggFitted(t *testing.T, os []obs) (circle, egg) {
	t.Helper()
	c, err := fitHyper(pointsOf(os))
	if err != nil {
		t.Fatal(err)
	}
	c = c.refine(pointsOf(os))
	return c, c.eggOf(os)
}
