package track

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"ringcraft/internal/testkit"
)

// noisy adds white noise to positions at a fixed rate.
func noisy(pts []Local, hz, sd float64, seed uint64) *Track {
	rng := rand.New(rand.NewPCG(seed, 2))
	t := &Track{Frame: FrameLocal}
	for i, p := range pts {
		t.Fixes = append(t.Fixes, Fix{T: Seconds(float64(i) / hz), P: Local{p.X + sd*rng.NormFloat64(), p.Y + sd*rng.NormFloat64()}})
	}
	return t
}

func circlePoints(r, v, hz, seconds float64) []Local {
	var out []Local
	for i := range int(seconds * hz) {
		a := v * float64(i) / hz / r
		out = append(out, Local{r * math.Cos(a), r * math.Sin(a)})
	}
	return out
}

// rms returns the root mean square distance of the states from the truth and the mean of squared
// errors over their variance (1 when the doubt is honest).
func rms(s *Smoothed, truth []Local) (rmse, nees float64) {
	for i, st := range s.States {
		d2 := square(st.P.X-truth[i].X) + square(st.P.Y-truth[i].Y)
		rmse += d2
		nees += d2 / (2 * st.PosSD * st.PosSD)
	}
	n := float64(len(s.States))
	return math.Sqrt(rmse / n), nees / n
}

// The table of the project's facts (science, 3.1): a point at 3.2 m/s on a circle, white noise;
// "published" is the RTS column there, a constant-velocity smoother whose process noise was chosen
// with the truth in hand. Ours is told nothing but the recording.
var smoothingTable = []struct {
	r, hz, sd, published float64
	hopeless             bool
}{
	{10, 1, 1, 0.73, false}, {10, 1, 3, 1.90, false}, {10, 10, 0.3, 0.09, false}, {10, 10, 1, 0.26, false}, {10, 10, 3, 0.70, false},
	{4, 1, 1, 0.99, false}, {4, 1, 3, 2.41, true}, {4, 10, 1, 0.35, false},
}

func TestSmoothingAgainstTable(t *testing.T) {
	for _, c := range smoothingTable {
		truth := circlePoints(c.r, 3.2, c.hz, 120)
		var sum, nees float64
		const runs = 20
		for seed := range runs {
			tr := noisy(truth, c.hz, c.sd, uint64(seed))
			s, err := Smooth(tr, NoiseFor(ClassUnknown, tr), SmoothOptions{})
			if err != nil {
				t.Fatal(err)
			}
			e, n := rms(s, truth)
			sum += e * e / runs
			nees += n / runs
		}
		got := math.Sqrt(sum)
		t.Logf("R %g m, %g Hz, noise %g m: %.3f m, table %.2f, ratio %.2f, squared error over variance %.2f", c.r, c.hz, c.sd, got, c.published, got/c.published, nees)
		if c.hopeless {
			// two minutes of nothing but voltes, 8 fixes a turn, each 3 m off: the recording alone does not
			// tell a volte from standing still with a worse receiver. Told the motion, we equal the table.
			if got < c.published {
				t.Errorf("R %g m, %g Hz, noise %g m: %.3f m no longer falls short; take the exception away", c.r, c.hz, c.sd, got)
			}
			continue
		}
		if got > c.published+0.005 {
			t.Errorf("R %g m, %g Hz, noise %g m: %.3f m is worse than the table's %.2f", c.r, c.hz, c.sd, got, c.published)
		}
	}
}

func TestSmoothingToldTheMotion(t *testing.T) {
	truth := circlePoints(4, 3.2, 1, 120)
	sum := 0.0
	const runs = 20
	for seed := range runs {
		tr := noisy(truth, 1, 3, uint64(seed))
		s, err := Smooth(tr, Noise{WhiteSD: 3}, SmoothOptions{AccSD: 4, AccTau: 3, Plain: true})
		if err != nil {
			t.Fatal(err)
		}
		e, _ := rms(s, truth)
		sum += e * e / runs
	}
	if got := math.Sqrt(sum); got > 2.45 {
		t.Errorf("told the motion: %.3f m, the table has 2.41", got)
	} else {
		t.Logf("told the motion: %.3f m, table 2.41", got)
	}
}

// readTruth imports the mower's ground truth.
func readTruth(t testing.TB) *Track {
	tr, err := Import(bytes.NewReader(testkit.ReadShared(t, "data", "mower-plaza1", "ground_truth.csv")), ImportOptions{File: "ground_truth.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// A real path (robot mower, centimetre truth, 5 Hz) with noise of our own: the smoothed error, and
// that the stated doubt holds the truth as often as it says.
func TestSmoothMower(t *testing.T) {
	truth := readTruth(t)
	pts := make([]Local, len(truth.Fixes))
	for i, f := range truth.Fixes {
		pts[i] = f.P
	}
	for _, c := range []struct {
		class    string
		sd, most float64 // most: the share of the raw error that may remain
	}{{ClassRTK, 0.05, 0.46}, {ClassUWB, 0.3, 0.30}, {ClassSport, 1, 0.24}, {ClassPhone, 3, 0.20}} {
		rng := rand.New(rand.NewPCG(11, uint64(c.sd*100)))
		tr := &Track{Frame: FrameLocal}
		for _, f := range truth.Fixes {
			f.P.X += c.sd * rng.NormFloat64()
			f.P.Y += c.sd * rng.NormFloat64()
			tr.Fixes = append(tr.Fixes, f)
		}
		s, err := Smooth(tr, NoiseFor(c.class, tr), SmoothOptions{})
		if err != nil {
			t.Fatal(err)
		}
		e, nees := rms(s, pts)
		in := 0
		for i, st := range s.States {
			if math.Abs(st.P.X-pts[i].X) < 1.96*st.PosSD {
				in++
			}
		}
		cover := 100 * float64(in) / float64(len(pts))
		raw := c.sd * math.Sqrt2
		t.Logf("noise %g m: white %.3f, raw %.3f, smoothed %.3f (%.2f of raw), squared error over variance %.2f, 95 %% interval holds %.1f %%, acc %.2f tau %.1f", c.sd, s.Noise.WhiteSD, raw, e, e/raw, nees, cover, s.AccSD, s.AccTau)
		if e/raw > c.most {
			t.Errorf("noise %g m: %.2f of the raw error remains, at most %.2f", c.sd, e/raw, c.most)
		}
		if cover < 92 || cover > 98.5 {
			t.Errorf("noise %g m: the 95 %% interval holds %.1f %% of the truths", c.sd, cover)
		}
	}
}

// Every twentieth fix lies 8 m off (a reflection): they get little weight and do no harm.
func TestSmoothOutliers(t *testing.T) {
	truth := circlePoints(10, 3.2, 10, 120)
	clean := noisy(truth, 10, 0.3, 3)
	dirty := noisy(truth, 10, 0.3, 3)
	bad := 0
	for i := 7; i < len(dirty.Fixes); i += 20 {
		dirty.Fixes[i].P.X += 8
		bad++
	}
	n := NoiseFor(ClassSport, dirty)
	errOf := func(tr *Track, o SmoothOptions) (float64, *Smoothed) {
		s, err := Smooth(tr, n, o)
		if err != nil {
			t.Fatal(err)
		}
		e, _ := rms(s, truth)
		return e, s
	}
	a, _ := errOf(clean, SmoothOptions{})
	b, s := errOf(dirty, SmoothOptions{})
	plain, _ := errOf(dirty, SmoothOptions{Plain: true})
	t.Logf("white %.3f m; without outliers %.3f m, with %.3f m, with and no robust weights %.3f m; %d of %d found", n.WhiteSD, a, b, plain, s.Outliers, bad)
	if b > 1.15*a || s.Outliers != bad {
		t.Errorf("outliers cost %.3f against %.3f m; %d of %d found", b, a, s.Outliers, bad)
	}
	if plain < 2*b {
		t.Errorf("the outliers are too mild for this test: plain %.3f m, robust %.3f m", plain, b)
	}
}

// Bursts: every ten seconds the fixes lie 3 m off for a second and a half, as radio tags do behind a
// body. They agree among themselves; only that no horse moves so gives them away.
func TestSmoothBursts(t *testing.T) {
	truth := circlePoints(10, 3.2, 10, 120)
	clean, dirty := noisy(truth, 10, 0.15, 6), noisy(truth, 10, 0.15, 6)
	for i := range dirty.Fixes {
		if i%100 >= 40 && i%100 < 55 {
			dirty.Fixes[i].P.Y += 3
		}
	}
	n := NoiseFor(ClassUWB, dirty)
	a, err1 := Smooth(clean, n, SmoothOptions{})
	b, err2 := Smooth(dirty, n, SmoothOptions{})
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	ea, _ := rms(a, truth)
	eb, nees := rms(b, truth)
	t.Logf("bursts: %.3f m, without %.3f m; squared error over variance %.2f; %d of 180 found", eb, ea, nees, b.Outliers)
	if eb > 0.25 || b.Outliers < 170 || nees > 2 {
		t.Errorf("bursts: %.3f m (without %.3f m), squared error over variance %.2f, %d of 180 found", eb, ea, nees, b.Outliers)
	}
}

// A gap of 4 s: the doubt grows inside it, the states there are flagged, and the truth stays within
// three standard deviations.
func TestSmoothGap(t *testing.T) {
	truth := circlePoints(10, 3.2, 10, 60)
	full := noisy(truth, 10, 0.3, 4)
	tr := &Track{Frame: FrameLocal}
	for _, f := range full.Fixes {
		if f.T <= 20 || f.T >= 24 {
			tr.Fixes = append(tr.Fixes, f)
		}
	}
	s, err := Smooth(tr, NoiseFor(ClassSport, tr), SmoothOptions{RateHz: 10})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Gaps) != 1 || s.Gaps[0] != (Gap{20, 24}) {
		t.Fatalf("gaps %v, want one from 20 to 24 s", s.Gaps)
	}
	if len(s.States) != len(truth) {
		t.Fatalf("%d states on the grid, want %d", len(s.States), len(truth))
	}
	for i, st := range s.States {
		inside := st.T > 20.01 && st.T < 23.99
		if st.Gap != inside {
			t.Errorf("state at %.2f s: gap %v", float64(st.T), st.Gap)
		}
		d := math.Hypot(st.P.X-truth[i].X, st.P.Y-truth[i].Y)
		if inside && d > 3.5*st.PosSD {
			t.Errorf("at %.2f s the truth is %.2f m off, SD %.2f m", float64(st.T), d, st.PosSD)
		}
	}
	if mid, edge := s.At(22).PosSD, s.At(15).PosSD; mid < 3*edge {
		t.Errorf("doubt in the gap %.3f m, before it %.3f m: it must grow", mid, edge)
	}
}

// The grid of a fixed rate and the states at the fixes are the same estimate.
func TestSmoothGridAgrees(t *testing.T) {
	truth := circlePoints(8, 3.2, 7, 40)
	tr := noisy(truth, 7, 0.4, 9)
	n := NoiseFor(ClassSport, tr)
	a, err := Smooth(tr, n, SmoothOptions{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Smooth(tr, n, SmoothOptions{RateHz: 20, AccSD: a.AccSD, AccTau: a.AccTau})
	if err != nil {
		t.Fatal(err)
	}
	for _, st := range a.States {
		if st.T > b.States[len(b.States)-1].T {
			continue // beyond the last instant of the grid
		}
		at := b.At(st.T)
		if d := math.Hypot(at.P.X-st.P.X, at.P.Y-st.P.Y); d > 0.002 {
			t.Errorf("at %.3f s grid and fixes differ by %.4f m", float64(st.T), d)
		}
	}
}

// Means of smoothed places: their real scatter over many runs is what EffectiveCount says.
func TestEffectiveCount(t *testing.T) {
	truth := circlePoints(10, 3.2, 10, 30)
	var sum, sq, said float64
	const runs = 400
	for seed := range runs {
		tr := noisy(truth, 10, 0.3, uint64(seed))
		s, err := Smooth(tr, Noise{WhiteSD: 0.3}, SmoothOptions{AccSD: 1, AccTau: 3, Plain: true})
		if err != nil {
			t.Fatal(err)
		}
		m, v := 0.0, 0.0
		for i := 100; i < 150; i++ {
			m += (s.States[i].P.X - truth[i].X) / 50
			v += s.States[i].Cov[0][0] / 50
		}
		sum += m
		sq += m * m
		said += v / s.EffectiveCount(100, 150) / runs
	}
	got := sq/runs - square(sum/runs)
	t.Logf("variance of a mean over 5 s: %.6f m2, said %.6f m2", got, said)
	if r := got / said; r < 0.8 || r > 1.25 {
		t.Errorf("variance of a mean %.6f, said %.6f", got, said)
	}
}

// Headings that cross the half turn and carry 4 degrees of noise.
func TestSmoothHeading(t *testing.T) {
	truth := circlePoints(10, 3.2, 10, 60)
	tr := noisy(truth, 10, 0.1, 8)
	rng := rand.New(rand.NewPCG(8, 8))
	for i := range tr.Fixes {
		h := 3.2*float64(i)/10/10 + math.Pi/2 + 4*degree*rng.NormFloat64()
		if i%97 == 5 {
			h += 2 // the sensor slips for one reading
		}
		tr.Fixes[i].Heading, tr.Fixes[i].HasHeading = math.Remainder(h, 2*math.Pi), i > 20
	}
	s, err := Smooth(tr, NoiseFor(ClassUWB, tr), SmoothOptions{RateHz: 5})
	if err != nil {
		t.Fatal(err)
	}
	var sq, nees float64
	n := 0
	for _, st := range s.States {
		if st.HasHeading != (st.T > 2.05) {
			t.Fatalf("heading at %.2f s: %v", float64(st.T), st.HasHeading)
		}
		if !st.HasHeading {
			continue
		}
		d := math.Remainder(st.Heading-(3.2*float64(st.T)/10+math.Pi/2), 2*math.Pi)
		sq += d * d
		nees += d * d / square(st.HeadingSD)
		n++
	}
	got := math.Sqrt(sq/float64(n)) / degree
	t.Logf("heading error %.2f degrees of 4.00, squared error over variance %.2f", got, nees/float64(n))
	if got > 1.6 || nees/float64(n) > 1.5 {
		t.Errorf("heading error %.2f degrees, squared error over variance %.2f", got, nees/float64(n))
	}
}

func TestSmoothRefuses(t *testing.T) {
	ok := noisy(circlePoints(10, 3, 10, 5), 10, 0.1, 1)
	bad := noisy(circlePoints(10, 3, 10, 5), 10, 0.1, 1)
	bad.Fixes[5].P.X = math.NaN()
	back := noisy(circlePoints(10, 3, 10, 5), 10, 0.1, 1)
	back.Fixes[5].T = 0
	for name, c := range map[string]struct {
		t *Track
		n Noise
	}{"few": {&Track{Fixes: ok.Fixes[:5]}, Noise{WhiteSD: 1}}, "no noise": {ok, Noise{}}, "NaN": {bad, Noise{WhiteSD: 1}}, "backwards": {back, Noise{WhiteSD: 1}}} {
		if s, err := Smooth(c.t, c.n, SmoothOptions{}); err == nil || s != nil {
			t.Errorf("%s: not refused", name)
		}
	}
}

func BenchmarkSmooth6min10Hz(b *testing.B) {
	tr := noisy(circlePoints(10, 3.2, 10, 360), 10, 0.3, 1)
	n := NoiseFor(ClassSport, tr)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Smooth(tr, n, SmoothOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSmooth1h10Hz(b *testing.B) {
	tr := noisy(circlePoints(10, 3.2, 10, 3600), 10, 0.3, 1)
	n := NoiseFor(ClassSport, tr)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Smooth(tr, n, SmoothOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
