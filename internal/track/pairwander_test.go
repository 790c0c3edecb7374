package track

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestPairShowsWander: two tags 2.5 m apart whose slow errors are 0.5 m a piece say so, twice as
// much as a good local system declares; two good ones leave the class's word.
func TestPairShowsWander(t *testing.T) {
	class, err := ClassByName(ClassUWB)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ wander, low, high float64 }{{0.50, 0.35, 0.7}, {0.02, class.WanderSD, class.WanderSD}} {
		rng := rand.New(rand.NewPCG(4, 4))
		var slow [4]float64
		var b strings.Builder
		b.WriteString("id,t_s,x_m,y_m\n")
		for i := range 3000 {
			at := float64(i) / 10
			k := math.Exp(-0.1 / 20)
			for j := range slow {
				slow[j] = k*slow[j] + c.wander*math.Sqrt(1-k*k)*rng.NormFloat64()
			}
			for j, id := range []string{"poll", "croup"} {
				a := (3*at + 2.5*float64(1-j)) / 10
				fmt.Fprintf(&b, "%s,%.2f,%.4f,%.4f\n", id, at, 10*math.Cos(a)+slow[2*j]+0.05*rng.NormFloat64(), 10*math.Sin(a)+slow[2*j+1]+0.05*rng.NormFloat64())
			}
		}
		tr, err := Import(strings.NewReader(b.String()), ImportOptions{File: "ride"})
		if err != nil {
			t.Fatal(err)
		}
		n := NoiseFor(ClassUWB, tr)
		if n.WanderSD < c.low || n.WanderSD > c.high {
			t.Errorf("tags that wander by %.2f m: %.2f m is believed, %q", c.wander, n.WanderSD, n.Notes)
		}
	}
}
