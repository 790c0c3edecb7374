package strides

import (
	"bytes"
	"math"
	"math/cmplx"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"

	"ringcraft/internal/gait"
	"ringcraft/internal/testkit"
	"ringcraft/internal/track"
)

var pockets = []struct {
	file          string
	steps         int     // counted by a foot device
	line, between float64 // README: strongest spectral line in Hz; steps a second between first and last step
}{
	{"user1_frontpocket_1506422223341.csv", 327, 1.707, 1.712},
	{"user2_backpocket_1506422483834.csv", 337, 1.855, 1.828},
}

// trueSteps reads the foot device's running count at each row.
func trueSteps(t *testing.T, b []byte) (n []int) {
	for i, l := range strings.Split(strings.TrimSpace(string(b)), "\n") {
		f := strings.Split(strings.TrimSpace(l), ",")
		c, err := strconv.Atoi(f[5])
		if err != nil {
			t.Fatalf("row %d: %q", i+1, l)
		}
		n = append(n, c)
	}
	return n
}

// People with a phone in the pocket, steps counted by a foot device (Oxford step counter data set):
// a person's two steps are a stride, as a horse's two beats of the walk are.
func TestPocketSteps(t *testing.T) {
	for _, p := range pockets {
		b := testkit.ReadShared(t, "data", "pocket-steps", p.file)
		tr, err := track.Import(bytes.NewReader(b), track.ImportOptions{File: p.file})
		if err != nil {
			t.Fatal(err)
		}
		n := trueSteps(t, b)
		if n[len(n)-1] != p.steps {
			t.Fatalf("%s: %d true steps, README has %d", p.file, n[len(n)-1], p.steps)
		}
		r := Detect(tr, Options{})
		counted := 0.0
		var longest Span
		for _, sp := range r.Spans {
			t.Logf("  %6.1f to %6.1f s %-6s %.3f strides/s, %.1f strides (SD %.1f), CV %.3f, regularity %.2f, P %.2f %s", float64(sp.Start), float64(sp.End), sp.Pace, sp.StrideHz, sp.Count, sp.CountSD, sp.DurationCV, sp.Regularity, sp.Probability, sp.Reason)
			if sp.Pace == gait.Walk {
				counted += 2 * sp.Count
			}
			if sp.End-sp.Start > longest.End-longest.Start {
				longest = sp
			}
		}
		off := counted/float64(p.steps) - 1
		rateOff := 2*longest.StrideHz/p.between - 1
		line := strongest(tr)
		t.Logf("%s: counted %.0f of %d steps (%+.1f %%), rate %.3f of %.3f steps/s (%+.1f %%), strongest line %.3f Hz (README %.3f)", p.file, counted, p.steps, 100*off, 2*longest.StrideHz, p.between, 100*rateOff, line, p.line)
		if longest.Pace != gait.Walk || longest.Probability < 0.95 {
			t.Errorf("%s: a person walking is taken for %s", p.file, longest.Pace)
		}
		if math.Abs(off) > 0.015 || math.Abs(rateOff) > 0.015 {
			t.Errorf("%s: step count %+.1f %%, rate %+.1f %%: more than 1.5 %% off", p.file, 100*off, 100*rateOff)
		}
		if math.Abs(line-p.line) > 0.006 { // one line of a 193 s record
			t.Errorf("%s: strongest line %.3f Hz, README has %.3f", p.file, line, p.line)
		}
		within := math.Abs(longest.Count - float64(p.steps)/2)
		if within > 2.5*longest.CountSD {
			t.Errorf("%s: %.1f strides (SD %.1f), truth about %.1f", p.file, longest.Count, longest.CountSD, float64(p.steps)/2)
		}
	}
}

// strongest is the strongest line of the size of the acceleration between 0.5 and 4 Hz, by one FFT under a Hann window.
func strongest(tr *track.Track) float64 {
	s := newSignal(tr)
	mean := 0.0
	for _, v := range s.raw {
		mean += v / float64(len(s.raw))
	}
	x := make([]float64, len(s.raw))
	for i, v := range s.raw {
		x[i] = v - mean
	}
	x = window.Hann(x)
	f := fourier.NewFFT(len(x))
	c := f.Coefficients(nil, x)
	best, at := 0.0, 0.0
	for i, v := range c {
		hz := f.Freq(i) * rate
		if a := cmplx.Abs(v); hz > 0.5 && hz < 4 && a > best {
			best, at = a, hz
		}
	}
	return math.Round(at*1000) / 1000
}
