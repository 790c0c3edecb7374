package prepare

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// randomProblem draws a lesson problem as a trainer's would be: needs of unlike value,
// exercises that serve a few of them, most in one length on both reins, some on one rein.
func randomProblem(rng *rand.Rand, items, needs int) *problem {
	p := &problem{returns: []step{{1, 0.6}, {2, 0.25}, {3, 0.1}}, pause: 3, time: 24 + 2*rng.IntN(20), blocks: 2 + rng.IntN(5), work: 20 + rng.IntN(40), load: 60 + rng.IntN(120), slack: 2}
	for range needs {
		p.values = append(p.values, math.Round(1000*rng.ExpFloat64())/2000)
	}
	for i := range items {
		it := item{needs: -1}
		if i > 0 && rng.IntN(6) == 0 {
			it.needs = rng.IntN(i)
		}
		which := rng.Perm(needs)[:1+rng.IntN(min(6, needs))]
		strength := make([]float64, len(which))
		for j := range which {
			strength[j] = []float64{0.3, 0.5, 0.6, 1}[rng.IntN(4)]
		}
		load := 10 * (1 + rng.IntN(5))
		for _, t := range []int{8, 10, 12} {
			for _, rein := range []int{0, -1, 1} {
				if rein != 0 && i%3 != 0 {
					continue
				}
				o := option{time: t, load: load * t / 10, which: which}
				switch rein {
				case 0:
					o.left, o.right = t/2, t/2
				case -1:
					o.left = t
				case 1:
					o.right = t
				}
				for j := range which {
					o.dose = append(o.dose, strength[j]*float64(t)/10*(1+0.2*float64(rein)*float64(j%3-1)))
				}
				it.options = append(it.options, o)
			}
		}
		p.items = append(p.items, it)
	}
	if items > 4 {
		p.exclusive = []int{0, 3}
	}
	return p
}

// bruteGain is the twin of solve: every choice of options.
func bruteGain(p *problem) float64 {
	best := 0.0
	u := make([]float64, len(p.values))
	chosen := make([]int, len(p.items))
	var walk func(i, t, k, load, lean int)
	walk = func(i, t, k, load, lean int) {
		if i == len(p.items) {
			if allowed(p, chosen, lean) {
				best = max(best, p.gainOf(u))
			}
			return
		}
		chosen[i] = -1
		walk(i+1, t, k, load, lean)
		for o, opt := range p.items[i].options {
			if opt.time+p.pause <= t && k > 0 && opt.load <= load && p.room()-t-(p.blocks-k)*p.pause+opt.time <= p.work {
				chosen[i] = o
				for j, l := range opt.which {
					u[l] += opt.dose[j]
				}
				walk(i+1, t-opt.time-p.pause, k-1, load-opt.load, lean+opt.left-opt.right)
				for j, l := range opt.which {
					u[l] -= opt.dose[j]
				}
			}
		}
		chosen[i] = -1
	}
	walk(0, p.room(), p.blocks, p.load, 0)
	return best
}

func allowed(p *problem, chosen []int, lean int) bool {
	if lean > p.slack || -lean > p.slack {
		return false
	}
	exclusive := 0
	for i, o := range chosen {
		if o < 0 {
			continue
		}
		if n := p.items[i].needs; n >= 0 && chosen[n] < 0 {
			return false
		}
		for _, e := range p.exclusive {
			if e == i {
				exclusive++
			}
		}
	}
	return exclusive <= 1
}

func TestSolveEqualsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for c := range 60 {
		p := randomProblem(rng, 3+rng.IntN(4), 2+rng.IntN(6))
		s, err := p.solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if want := bruteGain(p); math.Abs(s.gain-want) > 1e-9 {
			t.Fatalf("case %d: gain %v, want %v", c, s.gain, want)
		}
	}
}

// A chosen solution keeps every limit, whatever the size.
func TestSolutionKeepsLimits(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for c := range 40 {
		p := randomProblem(rng, 20+rng.IntN(30), 5+rng.IntN(15))
		s, err := p.solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		time, blocks, load, lean := -p.pause, 0, 0, 0
		for i, o := range s.taken {
			if o < 0 {
				continue
			}
			opt := p.items[i].options[o]
			time, blocks, load, lean = time+opt.time+p.pause, blocks+1, load+opt.load, lean+opt.left-opt.right
		}
		if time > p.time || time-(blocks-1)*p.pause > p.work || blocks > p.blocks || load > p.load || !allowed(p, s.taken, lean) {
			t.Fatalf("case %d: time %d of %d, blocks %d, load %d of %d, lean %d", c, time, p.time, blocks, load, p.load, lean)
		}
	}
}

// Items that are alike or better than others in everything must not hide the best choice.
func TestSolveWithTwinsAndDominatedItems(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	for c := range 60 {
		p := randomProblem(rng, 4, 3)
		for i := range 3 {
			twin := item{needs: -1}
			for _, o := range p.items[i].options {
				o.dose = slices.Clone(o.dose)
				o.dose[0] *= []float64{0.5, 1, 1.1}[rng.IntN(3)]
				o.load += 10 * (rng.IntN(3) - 1)
				twin.options = append(twin.options, o)
			}
			p.items = append(p.items, twin)
		}
		s, err := p.solve(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if want := bruteGain(p); math.Abs(s.gain-want) > 1e-9 {
			t.Fatalf("case %d: gain %v, want %v", c, s.gain, want)
		}
	}
}

func TestSolveCanBeCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := randomProblem(rand.New(rand.NewPCG(5, 6)), 40, 20).solve(ctx); err != context.Canceled {
		t.Errorf("error %v, want that of the context", err)
	}
}

func BenchmarkPlanner(b *testing.B) {
	for _, n := range []int{20, 60, 200} {
		b.Run(fmt.Sprintf("exercises=%d", n), func(b *testing.B) {
			rng := rand.New(rand.NewPCG(7, uint64(n)))
			var ps []*problem
			for range 20 {
				ps = append(ps, randomProblem(rng, n, 25))
			}
			nodes := 0
			for i := 0; b.Loop(); i++ {
				s, err := ps[i%len(ps)].solve(context.Background())
				if err != nil {
					b.Fatal(err)
				}
				nodes += s.nodes
			}
			b.ReportMetric(float64(nodes)/float64(b.N), "nodes/op")
		})
	}
}
