package match

import (
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/track"
)

// TestLettersDoubtHolds surveys letters with independent errors, 3000 times each: how far shift and
// turn are off, over what is said of them, and how often the 95 % interval holds them. The errors are
// Gaussian with the size that the file states, or that the recorder's class does, or half or twice it.
func TestLettersDoubtHolds(t *testing.T) {
	plane := track.NewPlane(track.LatLon{LatDeg: 45.5, LonDeg: -30.25})
	for _, c := range []struct {
		letters []string
		said    float64 // in the file; 0: the class's
		factor  float64 // true error over the one stated
	}{
		{[]string{"A", "C"}, 0.5, 1},
		{[]string{"A", "B", "C", "E"}, 0.5, 1},
		{[]string{"A", "B", "C", "E"}, 0, 1},
		{[]string{"A", "K", "E", "H", "C", "M", "B", "F"}, 0.5, 1},
		{[]string{"A", "B", "C", "E"}, 0.5, 0.5},
		{[]string{"A", "K", "E", "H", "C", "M", "B", "F"}, 0.5, 2},
		{[]string{"A", "K", "E", "H", "C", "M", "B", "F"}, 0, 2},
	} {
		rng := rand.New(rand.NewPCG(3, 3))
		n := noise{Noise: track.Noise{WanderSD: 0.5}}
		const rounds = 3000
		var zs, zr float64
		inS, inR, placed := 0, 0, 0
		for range rounds {
			s := &Survey{File: "a.json", Board: arena.Small40, SD: c.said}
			for _, l := range c.letters {
				at, _ := arena.Small40.Letter(l)
				q := at.Add(arena.Point{X: 0.5 * c.factor * rng.NormFloat64(), Y: 0.5 * c.factor * rng.NormFloat64()})
				s.Letters = append(s.Letters, SurveyedLetter{l, plane.FromLocal(track.Local(q))})
			}
			r, pl, err := placeByLetters(s, plane, n)
			if err != nil {
				continue // letters that do not fit are questioned
			}
			placed++
			turn := float64(r.angle()) / float64(pl.RotationSD)
			off := r.apply(pl.Pivot).Sub(pl.Pivot).Mul(1 / pl.ShiftSD)
			zr, zs = zr+turn*turn, zs+(off.X*off.X+off.Y*off.Y)/2
			if math.Abs(turn) < 1.96 {
				inR++
			}
			if math.Abs(off.X) < 1.96 {
				inS++
			}
		}
		m := float64(placed)
		zs, zr = math.Sqrt(zs/m), math.Sqrt(zr/m)
		t.Logf("%v, stated %g m, true %g m, %d of %d placed: shift over doubt %.2f, held %.1f %%; turn over doubt %.2f, held %.1f %%",
			c.letters, c.said, 0.5*c.factor, placed, rounds, zs, 100*float64(inS)/m, zr, 100*float64(inR)/m)
		low, high := math.Min(float64(inS), float64(inR))/m, math.Max(float64(inS), float64(inR))/m
		if low < 0.92 || c.factor == 1 && high > 0.98 {
			t.Errorf("%v, stated %g m, true %g m: the doubt does not hold", c.letters, c.said, 0.5*c.factor)
		}
	}
}
