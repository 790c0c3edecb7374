package measure

import "math"

// egg is the part of a closed path's radius that goes round twice a turn.
type egg struct {
	size    float64 // longest less shortest diameter, in metres, the errors' own share included
	rest    float64 // mean square of what lies off the circle and is no egg, in square metres
	weights []weight
}

// eggOf reads the egg of some fixes about their best circle. Every fix counts by the way that it
// stands for: a slower half has more fixes, not more circle. Centre and radius come from the same
// fixes, so that an error which moves or widens the whole circle is none of its egg.
func (c circle) eggOf(os []obs) egg {
	ps := pointsOf(os)
	share := wayShares(os)
	var re, im, all float64
	for i, p := range ps {
		d := p.Sub(c.centre)
		out := float64(d.Norm()) - c.radius
		sin, cos := math.Sincos(2 * float64(d.Heading()))
		re, im, all = re+2*share[i]*out*cos, im+2*share[i]*out*sin, all+share[i]*out*out
	}
	amp, phase := math.Hypot(re, im), math.Atan2(im, re)
	k := make([]float64, len(os))
	for i, p := range ps {
		k[i] = 8 * share[i] * math.Cos(2*float64(p.Sub(c.centre).Heading())-phase)
	}
	return egg{size: 4 * amp, rest: all - amp*amp/2, weights: c.besideFit(os, k)}
}

// besideFit turns weights on the distances from the circle into weights on the fixes, less what the
// circle itself moves with them.
func (c circle) besideFit(os []obs, k []float64) []weight {
	ps := pointsOf(os)
	var x, y, radius float64 // how much the sum moves with the centre and the radius
	us := make([]weight, len(os))
	for i, p := range ps {
		d := p.Sub(c.centre)
		u := d.Mul(1 / math.Max(float64(d.Norm()), 1e-9))
		us[i] = weight{os[i].t, os[i].at, u.X, u.Y}
		x, y, radius = x+k[i]*u.X, y+k[i]*u.Y, radius+k[i]
	}
	g, ok := c.sensitivities(ps)
	for i := range us {
		w := k[i]
		if ok {
			w -= x*g[i][0] + y*g[i][1] + radius*g[i][2]
		}
		us[i].wx, us[i].wy = us[i].wx*w, us[i].wy*w
	}
	return us
}
