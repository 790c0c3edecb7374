package track

import (
	"bytes"
	"math"
	"testing"

	"ringcraft/internal/testkit"
)

// What one radio tag really does, against what the class uwb declares. The recording (uwb-walk: Das et
// al. 2019, DATA'19) is one tag on a person who stands for 116 s, walks in a circle for 55 s and stands again, and a
// ceiling camera. Assumed: the tag's figures are millimetres (the walk is then 0.8 m/s); its clock
// is local time, two hours before the camera's UTC. The camera adds: its own figures are too small by a
// factor that is fitted (it also says that the person is 1.18 m tall), a delay that is fitted, and that
// it sees the head and shoulders while the tag is carried. While the person stands, the camera is not needed.
func TestUWBWalk(t *testing.T) {
	tag, err := importShared(t, "uwb-walk", "raw_uwbtags.csv")
	if err != nil {
		t.Fatal(err)
	}
	const walkFrom, walkTo = 118, 173
	stand := offMiddle(between(tag.Fixes, 0, 116))
	walk, scale, lag := offCamera(t, between(tag.Fixes, walkFrom, walkTo))
	if scale < 1.5 || scale > 2 || lag < 0.2 || lag > 1 {
		t.Errorf("camera: scale %.2f, delay %.1f s; the picture does not fit the tag", scale, lag)
	}
	c, _ := ClassByName(ClassUWB)
	n := NoiseFor(ClassUWB, tag)
	white, wander, tau := fitSlow(stand)
	t.Logf("standing: white %.3f m, slow error %.2f m over %.0f s (class: %.2f, %.2f over %.0f); third differences say white %.3f m", white, wander, tau, c.WhiteSD, c.WanderSD, c.WanderTau, n.EstimatedWhite)
	t.Logf("from its place: standing %.2f m on average, walking beside the camera %.2f m (class: %.2f m; published: 0.37 m)", meanOff(stand), meanOff(walk), meanError(c))
	for _, v := range []struct {
		what               string
		found, says, apart float64
	}{{"white", white, c.WhiteSD, c.Doubt}, {"slow error", wander, c.WanderSD, c.Doubt}, {"its time", tau, float64(c.WanderTau), 3}} {
		if k := v.found / v.says; k > v.apart || k < 1/v.apart {
			t.Errorf("%s: %.3f found, the class says %.3f and may be off by a factor of %g", v.what, v.found, v.says, v.apart)
		}
	}
	// the published mean of another hall (Perrat et al. 2015: 0.37 m) is the class's within a quarter
	if k := meanError(c) / 0.37; k < 0.75 || k > 1.25 {
		t.Errorf("the class means %.2f m on average, published are 0.37 m", meanError(c))
	}
	// and the 95 % circle of the doubt declared holds most of what was recorded
	for what, off := range map[string][]Fix{"standing": stand, "walking": walk} {
		if in := within(off, 2.448*math.Hypot(n.WhiteSD, n.WanderSD)); in < 0.90 {
			t.Errorf("%s: the 95 %% circle of the class holds %.0f %% of the errors", what, 100*in)
		} else {
			t.Logf("%s: the 95 %% circle of the class holds %.0f %%", what, 100*in)
		}
	}
	s, err := Smooth(tag, n, SmoothOptions{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d of %d fixes lie far from their neighbours", s.Outliers, len(tag.Fixes))
	if share := float64(s.Outliers) / float64(len(tag.Fixes)); share > 0.12 {
		t.Errorf("%.0f %% of the fixes are called outliers", 100*share)
	}
}

// meanError is the mean distance from the truth that a class declares (two Gaussian axes).
func meanError(c ClassFigures) float64 {
	return math.Sqrt(math.Pi/2) * math.Hypot(c.WhiteSD, c.WanderSD)
}

func between(f []Fix, from, to Seconds) []Fix {
	var out []Fix
	for _, v := range f {
		if v.T >= from && v.T < to {
			out = append(out, v)
		}
	}
	return out
}

// offMiddle gives the fixes as seen from their median place.
func offMiddle(f []Fix) []Fix {
	x, y := make([]float64, len(f)), make([]float64, len(f))
	for i, v := range f {
		x[i], y[i] = v.P.X, v.P.Y
	}
	mx, my := median(x), median(y)
	out := append([]Fix(nil), f...)
	for i := range out {
		out[i].P = Local{out[i].P.X - mx, out[i].P.Y - my}
	}
	return out
}

// offCamera gives the fixes as seen from the camera's place of the person at the same time, under the
// turn, scale, shift and delay that fit best.
func offCamera(t *testing.T, f []Fix) (off []Fix, scale, lag float64) {
	var cam []row
	for _, id := range []string{"27966", "27984"} { // the camera loses the person once and finds it again
		rd, err := readCSV(bytes.NewReader(testkit.ReadShared(t, "data", "uwb-walk", "raw_xovis.csv")), ImportOptions{Tag: id})
		if err != nil {
			t.Fatal(err)
		}
		cam = append(cam, rd.rows...)
	}
	start := 1557995046.577 // the tag's first fix in UTC
	best := math.Inf(1)
	for l := 0.0; l < 1.5; l += 0.1 {
		if o, k := similar(f, cam, start+l); meanOff(o) < best {
			best, off, scale, lag = meanOff(o), o, k, l
		}
	}
	return off, scale, lag
}

// similar fits the camera's path onto the tag's by least squares in complex numbers: z = a w + b.
func similar(f []Fix, cam []row, start float64) (off []Fix, scale float64) {
	w := make([]complex128, len(f))
	var mz, mw complex128
	j := 0
	for i, v := range f {
		at := start + float64(v.T)
		for j+2 < len(cam) && cam[j+1].t <= at {
			j++
		}
		u := (at - cam[j].t) / (cam[j+1].t - cam[j].t)
		w[i] = complex(cam[j].a+u*(cam[j+1].a-cam[j].a), cam[j].b+u*(cam[j+1].b-cam[j].b))
		mz, mw = mz+complex(v.P.X, v.P.Y)/complex(float64(len(f)), 0), mw+w[i]/complex(float64(len(f)), 0)
	}
	var num complex128
	den := 0.0
	for i, v := range f {
		d := w[i] - mw
		num += (complex(v.P.X, v.P.Y) - mz) * complex(real(d), -imag(d))
		den += real(d)*real(d) + imag(d)*imag(d)
	}
	a := num / complex(den, 0)
	off = append([]Fix(nil), f...)
	for i := range off {
		e := complex(off[i].P.X, off[i].P.Y) - mz - a*(w[i]-mw)
		off[i].P = Local{real(e), imag(e)}
	}
	return off, math.Hypot(real(a), imag(a))
}

func meanOff(f []Fix) float64 {
	s := 0.0
	for _, v := range f {
		s += math.Hypot(v.P.X, v.P.Y) / float64(len(f))
	}
	return s
}

func within(f []Fix, r float64) float64 {
	in := 0.0
	for _, v := range f {
		if math.Hypot(v.P.X, v.P.Y) <= r {
			in += 1 / float64(len(f))
		}
	}
	return in
}

// fitSlow finds the white error, slow error and memory under which errors about nought are most
// likely, over a grid in steps of a tenth; both axes share them, and a fix further off than 3.5
// standard deviations counts as at that distance.
func fitSlow(f []Fix) (white, wander, tau float64) {
	best := math.Inf(1)
	for w := 0.02; w < 0.5; w *= 1.1 {
		for s := 0.02; s < 1; s *= 1.1 {
			for m := 2.0; m < 100; m *= 1.25 {
				if v := slowCost(f, w, s, m); v < best {
					best, white, wander, tau = v, w, s, m
				}
			}
		}
	}
	return white, wander, tau
}

// slowCost is the negative log likelihood of white noise on an Ornstein-Uhlenbeck process.
func slowCost(f []Fix, white, wander, tau float64) float64 {
	var x, y, cost float64
	p := wander * wander
	for i, v := range f {
		if i > 0 {
			k := math.Exp(-float64(v.T-f[i-1].T) / tau)
			x, y, p = k*x, k*y, k*k*p+(1-k*k)*wander*wander
		}
		all := p + white*white
		dx, dy := v.P.X-x, v.P.Y-y
		z := (dx*dx + dy*dy) / all
		gain := p / all
		if z > 3.5*3.5 {
			gain *= 3.5 / math.Sqrt(z)
			z = 3.5 * 3.5
		}
		cost += math.Log(all) + z/2
		x, y, p = x+gain*dx, y+gain*dy, p*(1-p/all)
	}
	return cost
}
