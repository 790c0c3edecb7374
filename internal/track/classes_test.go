package track

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"
)

// ridePoints is a ride of straights, corners of 4 m, circles of 18.4 and 8.4 m and halts at 3.2 m/s.
func ridePoints(hz float64) []Local {
	pts, _ := ridePieces(hz)
	return pts
}

// ridePieces also names the piece of each point.
func ridePieces(hz float64) (pts []Local, names []string) {
	type piece struct {
		dur, curve, acc float64
		name            string
	}
	var ride []piece
	for range 3 {
		for range 4 {
			ride = append(ride, piece{5, 0, 0, "straight"}, piece{math.Pi / 2 * 4 / 3.2, 0.25, 0, "corner"})
		}
		ride = append(ride, piece{2 * math.Pi * 9.2 / 3.2, 1 / 9.2, 0, "18 m circle"}, piece{4, 0, 0, "straight"}, piece{2 * math.Pi * 4.2 / 3.2, -1 / 4.2, 0, "8 m circle"},
			piece{3, 0, 0, "straight"}, piece{2, 0, -1.6, "change of speed"}, piece{5, 0, 0, "halt"}, piece{2, 0, 1.6, "change of speed"})
	}
	const dt = 0.001
	var x, y, h, t, next float64
	v := 3.2
	for _, p := range ride {
		for end := t + p.dur; t < end; t += dt {
			if t >= next-1e-9 {
				pts, names = append(pts, Local{x, y}), append(names, p.name)
				next += 1 / hz
			}
			v = math.Max(v+p.acc*dt, 0)
			h += v * p.curve * dt
			x += v * math.Cos(h) * dt
			y += v * math.Sin(h) * dt
		}
	}
	return pts, names
}

// Whether the doubt stated is honest in every piece of a ride, not only over all: the mean of squared errors
// over their variance. At the noise of usable recorders it stays within 0.7 and 1.3.
func TestDoubtByPiece(t *testing.T) {
	cases := []struct{ hz, sd float64 }{{10, 0.02}, {10, 0.3}, {10, 1}}
	if os.Getenv("RINGCRAFT_RIDES") != "" { // the others are for docs/RECORDINGS.md, nothing is asked of them
		cases = append(cases, struct{ hz, sd float64 }{10, 3}, struct{ hz, sd float64 }{1, 0.5}, struct{ hz, sd float64 }{1, 3})
	}
	for _, c := range cases {
		truth, names := ridePieces(c.hz)
		sum, n := map[string]float64{}, map[string]float64{}
		for seed := range 12 {
			tr := noisy(truth, c.hz, c.sd, uint64(seed))
			s, err := Smooth(tr, NoiseFor(map[bool]string{true: ClassRTK, false: ClassPhone}[c.sd < 0.1], tr), SmoothOptions{})
			if err != nil {
				t.Fatal(err)
			}
			for i, st := range s.States {
				sum[names[i]] += (square(st.P.X-truth[i].X) + square(st.P.Y-truth[i].Y)) / (2 * st.PosSD * st.PosSD)
				n[names[i]]++
			}
		}
		line := ""
		for _, k := range []string{"straight", "corner", "18 m circle", "8 m circle", "change of speed", "halt"} {
			v := sum[k] / n[k]
			line += fmt.Sprintf("; %s %.2f", k, v)
			if c.sd <= 1 && c.hz == 10 && (v < 0.7 || v > 1.3) {
				t.Errorf("%g Hz, noise %g m: squared error over variance %.2f in a %s", c.hz, c.sd, v, k)
			}
		}
		t.Logf("%g Hz, noise %g m%s", c.hz, c.sd, line)
	}
}

// What each class of recorder leaves after smoothing, on a ride with its usual rate and its declared
// white noise: the table of docs/RECORDINGS.md. The doubt stated must hold the truth.
func TestClassTable(t *testing.T) {
	for _, c := range Classes() {
		hz := 10.0
		if c.Class == ClassPhone || c.Class == ClassUnknown {
			hz = 1
		}
		truth := ridePoints(hz)
		var sum, nees, sd float64
		const runs = 5
		for seed := range runs {
			tr := noisy(truth, hz, c.WhiteSD, uint64(seed))
			s, err := Smooth(tr, NoiseFor(c.Class, tr), SmoothOptions{})
			if err != nil {
				t.Fatal(err)
			}
			e, n := rms(s, truth)
			sum, nees = sum+e*e/2/runs, nees+n/runs
			for _, st := range s.States {
				sd += st.PosSD / float64(len(s.States)) / runs
			}
		}
		drift := float64(c.WanderSD) * math.Sqrt(2*(1-math.Exp(-20/float64(c.WanderTau))))
		got := math.Sqrt(sum)
		t.Logf("%-8s %2.0f Hz: white %.2f m, smoothed %.3f m (said %.3f, squared error over variance %.2f), place %.2f m, within 20 s %.2f m",
			c.Class, hz, c.WhiteSD, got, sd, nees, math.Hypot(got, c.WanderSD), drift)
		if got > c.WhiteSD || nees < 0.6 || nees > 1.4 {
			t.Errorf("%s: smoothed error %.3f m of %.2f m, squared error over variance %.2f", c.Class, got, c.WhiteSD, nees)
		}
	}
}

// The embedded data is whole: every class and place has figures and a source, every name is found.
func TestNoiseData(t *testing.T) {
	if len(Classes()) != 6 || len(Places()) != 4 {
		t.Fatalf("%d classes, %d places", len(Classes()), len(Places()))
	}
	for _, c := range Classes() {
		if got, err := ClassByName(c.Class); err != nil || got != c || c.WhiteSD <= 0 || c.WanderTau <= 0 || c.Doubt < 1 || len(c.Source) < 20 {
			t.Errorf("class %+v: %v", c, err)
		}
	}
	for _, p := range Places() {
		if got, err := PlaceByName(p.Name); err != nil || got != p || p.SD <= 0 || len(p.Source) < 20 {
			t.Errorf("place %+v: %v", p, err)
		}
	}
	if _, err := ClassByName("sundial"); err == nil {
		t.Error("a sundial is a class")
	}
	if _, err := PlaceByName("tail"); err == nil {
		t.Error("the tail is a place")
	}
	var f struct{ Columns []struct{ Role string } }
	if err := json.Unmarshal(columnsJSON, &f); err != nil {
		t.Fatal(err)
	}
	for _, c := range f.Columns {
		if roleNames[c.Role] == roleNone {
			t.Errorf("columns.json has the role %q", c.Role)
		}
	}
}

// The file's own scatter wins over the class's word, both ways, and is said when it is far above it.
func TestNoiseFor(t *testing.T) {
	truth := ridePoints(10)
	for _, c := range []struct {
		class string
		sd    float64
	}{{ClassUWB, 0.075}, {ClassUWB, 0.15}, {ClassUWB, 0.3}, {ClassSport, 0.15}, {ClassSport, 0.6}, {ClassRTK, 0.04}} {
		tr := noisy(truth, 10, c.sd, 3)
		n := NoiseFor(c.class, tr)
		if math.Abs(n.WhiteSD/c.sd-1) > 0.06 {
			t.Errorf("%s with %.3f m: estimated %.3f m", c.class, c.sd, n.WhiteSD)
		}
	}
	if n := NoiseFor(ClassRTK, noisy(truth, 10, 0.3, 3)); len(n.Notes) != 1 {
		t.Errorf("0.3 m from an RTK recorder: notes %q", n.Notes)
	}
	if n := NoiseFor("nonsense", noisy(truth, 10, 0.3, 3)); n.Class != ClassUnknown || len(n.Notes) != 1 {
		t.Errorf("unknown class: %+v", n)
	}
	few := noisy(truth[:30], 10, 0.02, 3)
	if n := NoiseFor(ClassSport, few); n.WhiteSD != 0.3 || n.EstimatedWhite != 0 || len(n.Notes) != 1 {
		t.Errorf("thirty fixes: %+v", n)
	}
}
