package track

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Two fixes one second apart and a horse that cannot accelerate, worked by hand. Prior: position
// 100 m, velocity 5 m/s; fix variance 1 m2.
//
//	first fix: P = 10000/10001 = 0.99990001
//	predicted: P + 25 = 25.99990001; gain 25.99990001/26.99990001 = 0.96296282
//	second fix 3 m on: x = 3 * 0.96296282 = 2.88888847, v = 3 * 25/26.99990001 = 2.77778806
//	smoothed first place: 3 * 0.99990001/26.99990001 = 0.11110041
//	smoothed first variance: 0.99990001 - 0.99990001^2/26.99990001 = 0.96287024
func TestTwoFixesByHand(t *testing.T) {
	nodes := []node{{t: 0, z: Local{0, 7}, weight: 1}, {t: 1, z: Local{3, 7}, weight: 1}}
	var p pass
	run(nodes, motionModel{1e-7, 1}, 1, true, &p)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"second x", p.smoothed[1].x[0], 2.88888847},
		{"speed", p.smoothed[1].x[1], 2.77778806},
		{"first x", p.smoothed[0].x[0], 0.11110041},
		{"first variance", p.smoothed[0].p[0][0], 0.96287024},
		{"second variance", p.smoothed[1].p[0][0], 0.96296282},
		{"y stays", p.smoothed[1].y[0], 7},
	} {
		if math.Abs(c.got-c.want) > 1e-8 {
			t.Errorf("%s = %.9f, want %.9f", c.what, c.got, c.want)
		}
	}
}

// The process noise of the model in closed form (Singer 1970, IEEE Trans AES 6:473-483, from
// memory; position, velocity and acceleration terms of one axis).
func TestProcessNoiseClosedForm(t *testing.T) {
	for _, dt := range []float64{0.3, 1, 4, 20} {
		m := motionModel{sigma: 1.3, tau: 2}
		a := 1 / m.tau
		x := a * dt
		e, e2 := math.Exp(-x), math.Exp(-2*x)
		k := 2 * a * m.sigma * m.sigma
		want := mat3{
			{k / (2 * math.Pow(a, 5)) * (1 - e2 + 2*x + 2*x*x*x/3 - 2*x*x - 4*x*e), k / (2 * math.Pow(a, 4)) * (e2 + 1 - 2*e + 2*x*e - 2*x + x*x), k / (2 * a * a * a) * (1 - e2 - 2*x*e)},
			{0, k / (2 * a * a * a) * (4*e - 3 - e2 + 2*x), k / (2 * a * a) * (e2 + 1 - 2*e)},
			{0, 0, k / (2 * a) * (1 - e2)},
		}
		_, q := m.step(dt)
		for i := range 3 {
			for j := i; j < 3; j++ {
				if rel := math.Abs(q[i][j]/want[i][j] - 1); rel > 1e-8 {
					t.Errorf("dt %g: Q[%d][%d] = %g, want %g", dt, i, j, q[i][j], want[i][j])
				}
			}
		}
	}
}

// Two steps are one: F(a+b) = F(b)F(a) and Q(a+b) = F(b)Q(a)F(b)' + Q(b), from 1 ms to minutes.
func TestStepsCompose(t *testing.T) {
	for _, c := range [][2]float64{{0.001, 0.002}, {0.01, 0.09}, {0.1, 0.1}, {1, 2.5}, {30, 60}} {
		for _, m := range []motionModel{{1, 1}, {2, 10}, {0.3, 0.2}} {
			fa, qa := m.step(c[0])
			fb, qb := m.step(c[1])
			f, q := m.step(c[0] + c[1])
			f2, q2 := fb.mul(fa), fb.mul(qa).mul(fb.transpose()).plus(qb, 1)
			for i := range 3 {
				for j := range 3 {
					if math.Abs(f[i][j]-f2[i][j]) > 1e-9*(1+math.Abs(f[i][j])) || math.Abs(q[i][j]-q2[i][j]) > 1e-8*math.Sqrt(q[i][i]*q[j][j]) {
						t.Errorf("%v %v: step does not compose at %d,%d: %g %g, %g %g", c, m, i, j, f[i][j], f2[i][j], q[i][j], q2[i][j])
					}
				}
			}
		}
	}
}

// twin is the same estimate by brute force: the joint Gaussian of all states, conditioned on all
// fixes at once with a dense solver.
func twin(nodes []node, m motionModel, white float64) (x []float64, cov *mat.Dense) {
	n := len(nodes)
	prior := mat.NewSymDense(n, nil) // positions only
	full := make([]mat3, n)
	full[0] = mat3{{priorPosSD * priorPosSD}, {0, priorVelSD * priorVelSD}, {0, 0, m.sigma * m.sigma}}
	for k := 1; k < n; k++ {
		f, q := m.step(nodes[k].t - nodes[k-1].t)
		full[k] = f.mul(full[k-1]).mul(f.transpose()).plus(q, 1)
	}
	for i := range n {
		c := full[i]
		prior.SetSym(i, i, c[0][0])
		for j := i + 1; j < n; j++ {
			f, _ := m.step(nodes[j].t - nodes[j-1].t)
			c = f.mul(c)
			prior.SetSym(i, j, c[0][0])
		}
	}
	var seen []int
	for i, nd := range nodes {
		if nd.weight > 0 {
			seen = append(seen, i)
		}
	}
	s := mat.NewSymDense(len(seen), nil)
	cross := mat.NewDense(n, len(seen), nil)
	z := mat.NewVecDense(len(seen), nil)
	for a, i := range seen {
		z.SetVec(a, nodes[i].z.X-nodes[0].z.X)
		for b := a; b < len(seen); b++ {
			s.SetSym(a, b, prior.At(i, seen[b]))
		}
		s.SetSym(a, a, prior.At(i, i)+white*white/nodes[i].weight)
		for k := range n {
			cross.Set(k, a, prior.At(k, i))
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(s) {
		panic("twin is not positive definite")
	}
	var w mat.VecDense
	_ = ch.SolveVecTo(&w, z)
	var mean mat.VecDense
	mean.MulVec(cross, &w)
	var sol, red, out mat.Dense
	_ = ch.SolveTo(&sol, cross.T())
	red.Mul(cross, &sol)
	out.Sub(prior, &red)
	for k := range n {
		x = append(x, mean.AtVec(k)+nodes[0].z.X)
	}
	return x, &out
}

func TestSmootherEqualsBatch(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for trial := range 20 {
		m := motionModel{0.3 + 2*rng.Float64(), 0.5 + 5*rng.Float64()}
		var nodes []node
		at := 0.0
		for i := range 40 {
			nd := node{t: at, z: Local{3*at + rng.NormFloat64(), 5}, weight: 1, fix: i}
			if i > 0 && rng.IntN(5) == 0 {
				nd.weight = rng.Float64()
			}
			if i > 0 && rng.IntN(5) == 0 {
				nd.weight, nd.fix = 0, -1
			}
			nodes = append(nodes, nd)
			at += 0.05 + rng.Float64()
			if i == 20 {
				at += 12 // a gap
			}
		}
		var p pass
		run(nodes, m, 0.7, true, &p)
		x, cov := twin(nodes, m, 0.7)
		s := &Smoothed{gain: p.gain}
		for k := range nodes {
			s.States = append(s.States, State{Cov: p.smoothed[k].p})
			s.index = append(s.index, k)
		}
		for k := range nodes {
			if d := math.Abs(p.smoothed[k].x[0] - x[k]); d > 1e-9 {
				t.Fatalf("trial %d: place %d differs from the batch by %g m", trial, k, d)
			}
			for j := range nodes {
				if d := math.Abs(s.PosCov(k, j) - cov.At(k, j)); d > 1e-9*(1+math.Abs(cov.At(k, k))) {
					t.Fatalf("trial %d: covariance %d,%d is %g, batch %g", trial, k, j, s.PosCov(k, j), cov.At(k, j))
				}
			}
		}
	}
}
