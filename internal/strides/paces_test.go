package strides

import (
	"math"
	"testing"

	"ringcraft/internal/gait"
)

// The embedded forms are whole, and their stride times agree with the varieties of gait (Clayton, as
// cited there): each lies within two and a half spreads of its form.
func TestPacesData(t *testing.T) {
	for _, m := range models {
		if m.Name == "" || len(m.Source) < 20 || m.Stride[1] <= 0 || m.RMS[0] <= 0 || m.Weight <= 0 {
			t.Errorf("form %+v is not whole", m)
		}
	}
	for _, v := range gait.Varieties() {
		f, _ := gait.Lookup(v)
		if f.Speed == 0 || v == gait.Piaffe || f.Pace == gait.ReinBack {
			continue
		}
		best := math.Inf(1)
		for _, m := range models {
			if m.Pace == f.Pace {
				best = math.Min(best, math.Abs(float64(f.Duration())-m.Stride[0])/m.Stride[1])
			}
		}
		if best > 2.5 {
			t.Errorf("%s: a stride of %.2f s lies %.1f spreads from every form of its pace", v, float64(f.Duration()), best)
		}
	}
}

// A Butterworth filter at its corner passes half the power, once forward and once backward a quarter, a
// sine far inside the band whole and in phase (the filter's definition).
func TestFilters(t *testing.T) {
	gain := func(hz float64, f func([]float64) []float64) (size, lag float64) {
		n := int(40 * rate)
		x := make([]float64, n)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * hz * float64(i) / rate)
		}
		y := f(x)
		var ss, sc float64
		for i := n / 4; i < 3*n/4; i++ {
			sn, cs := math.Sincos(2 * math.Pi * hz * float64(i) / rate)
			ss += y[i] * sn * 2 / float64(n/2)
			sc += y[i] * cs * 2 / float64(n/2)
		}
		return math.Hypot(ss, sc), math.Atan2(sc, ss)
	}
	band := func(x []float64) []float64 { return bandpass(x, 0.5, 8) }
	for _, c := range []struct{ hz, want float64 }{{2, 1}, {8, 0.5}, {0.5, 0.5}, {0.05, 0}, {20, 0}} {
		if size, lag := gain(c.hz, band); math.Abs(size-c.want) > 0.012 || c.want > 0 && math.Abs(lag) > 0.01 {
			t.Errorf("%g Hz: gain %.3f, want %.2f; lag %.4f rad", c.hz, size, c.want, lag)
		}
	}
}
