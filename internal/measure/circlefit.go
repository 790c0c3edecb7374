package measure

import (
	"errors"
	"math"

	"ringcraft/internal/arena"
)

// circle is a fitted circle.
type circle struct {
	centre arena.Point
	radius float64
	rms    float64 // of the radial distances
}

var errNoCircle = errors.New("the points lie on a line or are too few for a circle")

// fitHyper fits a circle by the algebraic fit without essential bias of Al-Sharadqah and
// Chernov, Electron J Stat 3 (2009) 886-911: the smallest root of its characteristic
// polynomial by Newton's method from 0.
func fitHyper(ps []arena.Point) (circle, error) {
	if len(ps) < 3 {
		return circle{}, errNoCircle
	}
	n := float64(len(ps))
	var mean arena.Point
	for _, p := range ps {
		mean = mean.Add(p.Mul(1 / n))
	}
	var xx, yy, xy, xz, yz, zz float64
	for _, p := range ps {
		q := p.Sub(mean)
		z := q.Dot(q)
		xx, yy, xy = xx+q.X*q.X/n, yy+q.Y*q.Y/n, xy+q.X*q.Y/n
		xz, yz, zz = xz+q.X*z/n, yz+q.Y*z/n, zz+z*z/n
	}
	mz, cov := xx+yy, xx*yy-xy*xy
	varz := zz - mz*mz
	a2 := 4*cov - 3*mz*mz - zz
	a1 := varz*mz + 4*cov*mz - xz*xz - yz*yz
	a0 := xz*(xz*yy-yz*xy) + yz*(yz*xx-xz*xy) - varz*cov
	root, value := 0.0, a0
	for range 60 {
		slope := a1 + root*(2*a2+16*root*root)
		next := root - value/slope
		if next == root || math.IsNaN(next) || math.IsInf(next, 0) {
			break
		}
		v := a0 + next*(a1+next*(a2+4*next*next))
		if math.Abs(v) >= math.Abs(value) {
			break
		}
		root, value = next, v
	}
	det := root*root - root*mz + cov
	if math.Abs(det) < 1e-12*mz*mz {
		return circle{}, errNoCircle
	}
	c := arena.Point{X: (xz*(yy-root) - yz*xy) / det / 2, Y: (yz*(xx-root) - xz*xy) / det / 2}
	out := circle{centre: c.Add(mean), radius: math.Sqrt(math.Max(0, c.Dot(c)+mz-2*root))}
	out.rms = out.scatter(ps)
	return out, nil
}

func (c circle) scatter(ps []arena.Point) float64 {
	var ss float64
	for _, p := range ps {
		d := float64(p.Dist(c.centre)) - c.radius
		ss += d * d
	}
	return math.Sqrt(ss / float64(len(ps)))
}

// refine turns a circle into the geometric least-squares one (smallest sum of squared
// distances) by Gauss-Newton steps, halved until they help.
func (c circle) refine(ps []arena.Point) circle {
	for range 100 {
		inv, grad, ok := c.normal(ps)
		if !ok {
			return c
		}
		step := inv.mul(grad)
		better := false
		for k := 1.0; k > 1e-6; k /= 2 {
			try := circle{c.centre.Add(arena.Point{X: k * step[0], Y: k * step[1]}), c.radius + k*step[2], 0}
			if try.rms = try.scatter(ps); try.rms < c.rms {
				better = c.rms-try.rms > 1e-13*c.rms
				c = try
				break
			}
		}
		if !better {
			return c
		}
	}
	return c
}

// normal returns the inverse of the normal matrix of the geometric fit and its right side.
func (c circle) normal(ps []arena.Point) (inv m3, grad [3]float64, ok bool) {
	var a m3
	for _, p := range ps {
		d := p.Sub(c.centre)
		r := float64(d.Norm())
		if r < 1e-9 {
			continue
		}
		row := [3]float64{d.X / r, d.Y / r, 1}
		for i := range 3 {
			for j := range 3 {
				a[i][j] += row[i] * row[j]
			}
			grad[i] += row[i] * (r - c.radius)
		}
	}
	inv, ok = a.inverse()
	return inv, grad, ok
}

// sensitivities returns how centre x, centre y and radius move with each point along its own
// radius: first-order errors, which all usual fits share.
func (c circle) sensitivities(ps []arena.Point) (g [][3]float64, ok bool) {
	inv, _, ok := c.normal(ps)
	if !ok {
		return nil, false
	}
	g = make([][3]float64, len(ps))
	for k, p := range ps {
		d := p.Sub(c.centre)
		r := float64(d.Norm())
		if r < 1e-9 {
			continue
		}
		g[k] = inv.mul([3]float64{d.X / r, d.Y / r, 1})
	}
	return g, true
}

// m3 is a symmetric 3 x 3 matrix.
type m3 [3][3]float64

func (a m3) mul(v [3]float64) (out [3]float64) {
	for i := range 3 {
		for j := range 3 {
			out[i] += a[i][j] * v[j]
		}
	}
	return out
}

// inverse by cofactors; ok is false when the matrix is singular to working accuracy.
func (a m3) inverse() (inv m3, ok bool) {
	co := func(i, j int) float64 {
		i1, i2, j1, j2 := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return a[i1][j1]*a[i2][j2] - a[i1][j2]*a[i2][j1]
	}
	det := a[0][0]*co(0, 0) + a[0][1]*co(0, 1) + a[0][2]*co(0, 2)
	scale := (a[0][0] + a[1][1] + a[2][2]) / 3
	if math.Abs(det) < 1e-12*scale*scale*scale {
		return inv, false
	}
	for i := range 3 {
		for j := range 3 {
			inv[j][i] = co(i, j) / det
		}
	}
	return inv, true
}
