package match

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/arena"
)

// bruteForce tries every sequence of states; the oracle of the band and of the recursion.
func bruteForce(c *chain, es []epoch) float64 {
	n := len(c.stations)
	type state struct {
		l layer
		s int
	}
	states := []state{{beforeStart, 0}, {done, n - 1}}
	for s := range n {
		states = append(states, state{onPlan, s}, state{offPlan, s})
	}
	price := func(e *epoch, st state) float64 {
		switch st.l {
		case onPlan:
			return c.emission(e, st.s)
		case offPlan:
			if e.blind {
				return 0
			}
			return c.costs.off
		}
		return c.costs.before
	}
	start := func(st state) float64 {
		switch {
		case st.l == beforeStart, st.l == onPlan && st.s <= entryReach:
			return 0
		case st.l == onPlan:
			return c.costs.jump
		}
		return math.Inf(1)
	}
	move := func(a, b state) float64 {
		v := math.Inf(1)
		back := 0.0
		if b.s < a.s {
			back = c.costs.back
		}
		switch b.l { // from any state
		case onPlan:
			v = c.costs.jump + back
		case offPlan:
			v = c.costs.jump + back + c.costs.leave
		case done:
			v = c.costs.jump
		}
		switch {
		case a.l == beforeStart && b.l == beforeStart, a.l == done && b.l == done:
			return 0
		case a.l == beforeStart && b.l == onPlan && b.s <= entryReach:
			return 0
		case a.l == onPlan && b.l == onPlan && b.s >= a.s && b.s <= a.s+maxStep:
			return math.Min(v, c.stepCost(a.s, b.s-a.s))
		case a.l == onPlan && b.l == offPlan && a.s == b.s:
			return c.costs.leave
		case a.l == onPlan && b.l == done && a.s >= n-1-entryReach:
			return 0
		case a.l == offPlan && b.l == offPlan && a.s == b.s:
			return 0
		case a.l == offPlan && b.l == onPlan && b.s >= a.s-rejoinBack && b.s <= a.s+rejoinFwd:
			return math.Min(v, c.costs.rejoin)
		}
		return v
	}
	best := math.Inf(1)
	var walk func(t int, at state, cost float64)
	walk = func(t int, at state, cost float64) {
		if cost >= best {
			return
		}
		if t == len(es) {
			best = math.Min(best, cost+c.finish(node{layer: at.l, s: int32(at.s)}))
			return
		}
		for _, to := range states {
			var m float64
			if t == 0 {
				m = start(to)
			} else {
				m = move(at, to)
			}
			if !math.IsInf(m, 1) {
				walk(t+1, to, cost+m+price(&es[t], to))
			}
		}
	}
	walk(0, state{}, 0)
	return best
}

// TestExactAgainstBruteForce checks band and recursion against all sequences of states on
// lines that cross themselves, with outliers, gaps and places far off.
func TestExactAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for trial := range 400 {
		c := &chain{sigma: 0.3 + 2*rng.Float64(), costs: costs{jump: 1 + 4*rng.Float64(), back: 3 * rng.Float64(), leave: 1 + 2*rng.Float64(), rejoin: rng.Float64(), off: 1 + rng.Float64(), before: 1 + rng.Float64(), cap: 8}}
		at := arena.Point{}
		for s := range 14 {
			dir := rng.Float64() * 2 * math.Pi
			c.stations = append(c.stations, station{m: float64(s) / 2, at: at, dir: dir, speed: 4 * rng.Float64(), movement: 1 + s/5})
			at = at.Add(arena.Angle(dir).Unit().Mul(1))
			if s == 6 {
				c.stations[s].still = 2
			}
		}
		var es []epoch
		for k := range 4 {
			p := c.stations[rng.IntN(14)].at.Add(arena.Point{X: rng.NormFloat64(), Y: rng.NormFloat64()})
			es = append(es, epoch{t: float64(k) / 2, at: p, v: arena.Point{X: 3 * rng.NormFloat64(), Y: 3 * rng.NormFloat64()}, vSD: 0.3, blind: rng.IntN(8) == 0})
		}
		path, got, err := c.run(context.Background(), es, nil)
		if err != nil {
			t.Fatal(err)
		}
		if want := bruteForce(c, es); math.Abs(got-want) > 1e-9 {
			t.Fatalf("trial %d: band gives %.9f, brute force %.9f", trial, got, want)
		}
		if len(path) != len(es) {
			t.Fatalf("path has %d states for %d epochs", len(path), len(es))
		}
	}
}
