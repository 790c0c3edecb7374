package diagnose

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/measure"
	"ringcraft/internal/terms"
	"ringcraft/internal/testkit"
)

// ride builds a ride of n movements with one mark each and one measure each, off by miss.
func ride(judge string, n int, mark, miss, sigma float64) RideFacts {
	r := RideFacts{Sheet: "Willow Ford 2"}
	for i := 1; i <= n; i++ {
		mf := MovementFacts{Number: i, Coefficient: 1, Kinds: []terms.Kind{terms.Circle}, Measures: []measure.Measure{m("circle diameter", 18.4+miss, sigma, 18.4, 0.6, "m", measure.OK)}}
		if judge != "" {
			mf.Marks = []JudgeMark{{judge, mark}}
		}
		r.Movements = append(r.Movements, mf)
	}
	return r
}

func compare(t testing.TB, before, after RideFacts) Comparison {
	t.Helper()
	c, err := Compare(before, after)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The noise of one movement with one judge each time, facts on judging: SD of the
// difference 0.85 (0.6 x sqrt 2), 95 % about 1.7 marks; a group of four 0.42.
func TestMarkNoiseAgainstTheWorkedFigures(t *testing.T) {
	n := noiseModel{MarkSD: 0.6, OffsetSD: 0}
	if got := n.markChangeSD(1, 1, false); !near(got, 0.85, 0.005) || !near(1.96*got, 1.7, 0.05) {
		t.Errorf("one movement: %v", got)
	}
	if got := n.markChangeSD(4, 4, false); !near(got, 0.42, 0.005) {
		t.Errorf("four together: %v", got)
	}
}

// The judging-noise table worked from sigma 1.25: differences of two rides with 1, 2, 3 and 5
// judges have SD 1.8, 1.25, 1.0, 0.8. Here half of 1.25 squared is the offset, half the marks of
// about 40 equal movements.
func TestTotalNoiseAgainstTheWorkedTable(t *testing.T) {
	n := noise
	n.MarkSD, n.OffsetSD = 0.56, 1.25/math.Sqrt2
	r := ride("C", 40, 6, 0, 0.2)
	for judges, want := range map[int]float64{1: 1.8, 2: 1.25, 3: 1.0, 5: 0.8} {
		if got := math.Sqrt2 * n.percentSD(r, judges); !near(got, want, 0.05) {
			t.Errorf("%d judges: %.3f, want %.2f", judges, got, want)
		}
	}
}

func TestMeasureVerdicts(t *testing.T) {
	for _, c := range []struct {
		name                        string
		before, after, asked, sigma float64
		want                        string
		what                        string
	}{
		{"closer", 16, 18.2, 18.4, 0.2, Better, "circle diameter"},
		{"farther", 18.4, 16, 18.4, 0.2, Worse, "circle diameter"},
		{"inside the doubt", 17.8, 18.2, 18.4, 0.3, NoiseOnly, "circle diameter"},
		{"other side, no nearer", 17, 19.8, 18.4, 0.2, NoiseOnly, "circle diameter"},
		{"longer halt than asked is no fault", 1.2, 5, 3, 0.2, Better, "halt duration"},
		{"both longer than asked", 3.5, 6, 3, 0.2, NoiseOnly, "halt duration"},
	} {
		got := compareMeasure(m(c.what, c.before, c.sigma, c.asked, 0.5, "m", ""), m(c.what, c.after, c.sigma, c.asked, 0.5, "m", ""))
		if got.Verdict != c.want {
			t.Errorf("%s: %s (%s), want %s", c.name, got.Verdict, got.Reason, c.want)
		}
		if !near(*got.Change, c.after-c.before, 1e-3) || !near(*got.Sigma, c.sigma*math.Sqrt2, 1e-3) {
			t.Errorf("%s: change %v sigma %v", c.name, *got.Change, *got.Sigma)
		}
	}
}

func TestCannotTellHasItsReason(t *testing.T) {
	none := measure.Measure{What: "tempo", Verdict: measure.CannotTell, LimitedBy: "positions alone do not show tempo"}
	got := compareMeasure(none, m("tempo", 1.3, 0.01, 1.32, 0.05, "Hz", measure.OK))
	if got.Verdict != measure.CannotTell || got.Change != nil || got.Reason != none.LimitedBy {
		t.Errorf("%+v", got)
	}
	free := m("speed", 3, 0.1, 0, 0, "m/s", "")
	free.Asked = nil
	if got := compareMeasure(free, free); got.Verdict != measure.CannotTell || !strings.Contains(got.Reason, "nothing is asked") {
		t.Errorf("%+v", got)
	}
}

// Marks of the person who taught never make a ride better; measures do, and chance does not.
func TestWhoMarkedDecidesWhatCounts(t *testing.T) {
	no := false
	taught := func(r RideFacts, v bool) RideFacts { r.Taught = &v; return r }
	for _, c := range []struct {
		name          string
		before, after RideFacts
		want          string
	}{
		{"trainer's marks alone", ride("Trainer", 20, 6, 1.5, 0.2), ride("Trainer", 20, 7.5, 1.5, 0.2), NoiseOnly},
		{"trainer's marks, nothing measured", ride("Trainer", 20, 6, 1.5, 9), withoutMeasures(ride("Trainer", 20, 7.5, 0, 0.2)), measure.CannotTell},
		{"trainer's marks and measures", ride("Trainer", 20, 6, 1.5, 0.2), ride("Trainer", 20, 7, 0.1, 0.2), Better},
		{"two show judges, clear", show(ride("A", 20, 6, 0, 0.2)), show(ride("B", 20, 7, 0, 0.2)), Better},
		{"two show judges, inside the scatter", show(ride("A", 20, 6.4, 0, 0.2)), show(ride("B", 20, 6.5, 0, 0.2)), NoiseOnly},
		{"marks up, measures down", show(ride("A", 20, 6, 0.1, 0.2)), show(ride("B", 20, 7.5, 1.5, 0.2)), measure.CannotTell},
		{"no marks, measured better", ride("", 20, 0, 1.5, 0.2), ride("", 20, 0, 0, 0.2), Better},
		{"no marks, measured worse", ride("", 20, 0, 0, 0.2), ride("", 20, 0, 1.5, 0.2), Worse},
		{"someone else taught", ride("Friend", 20, 6, 0, 0.2), taught(ride("Friend", 20, 7.5, 0, 0.2), no), Better},
	} {
		got := compare(t, c.before, c.after)
		if got.Total.Verdict != c.want {
			t.Errorf("%s: %s (%s), want %s", c.name, got.Total.Verdict, got.Total.Reason, c.want)
		}
	}
	c := compare(t, ride("Trainer", 20, 6, 1.5, 0.2), ride("Trainer", 20, 7.5, 1.5, 0.2))
	if !anyContains(c.Caution, "prone to expectation") || c.Blind == nil {
		t.Errorf("caution %q", c.Caution)
	}
}

func show(r RideFacts) RideFacts { r.Show = true; return r }

func withoutMeasures(r RideFacts) RideFacts {
	for i := range r.Movements {
		r.Movements[i].Measures = nil
	}
	return r
}

func TestDifferentSheetsAreRefused(t *testing.T) {
	a, b := ride("C", 5, 6, 0, 0.2), ride("C", 5, 6, 0, 0.2)
	b.Sheet = "Another"
	if _, err := Compare(a, b); err == nil || !strings.Contains(err.Error(), "different sheets") {
		t.Errorf("other name: %v", err)
	}
	b = ride("C", 6, 6, 0, 0.2)
	if _, err := Compare(a, b); err == nil || !strings.Contains(err.Error(), "differ") {
		t.Errorf("other length: %v", err)
	}
	if _, err := Compare(a, RideFacts{Sheet: a.Sheet}); err == nil {
		t.Error("empty ride was compared")
	}
	b = ride("C", 5, 6, 0, 0.2)
	b.Movements[2].Coefficient = 2
	if _, err := Compare(a, b); err == nil {
		t.Error("other coefficient was compared")
	}
}

// Two rides without any change, with the stated noise, are called changed in few of many
// cases: the ride's verdict keeps its error rate.
func TestFalseAlarmRate(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	const cases = 400
	measuredWrong, marksWrong := 0, 0
	for range cases {
		c := compare(t, noisyRide(rng, "A"), noisyRide(rng, "B"))
		if c.Measured.Verdict != NoiseOnly {
			measuredWrong++
		}
		if math.Abs(*c.Total.Change) > noise.Z**c.Total.Sigma {
			marksWrong++
		}
	}
	// Both verdicts are two-sided at about 5 % (the measures' union of two tests up to 10 %).
	if measuredWrong > cases*12/100 || marksWrong > cases*8/100 || marksWrong < cases*2/100 {
		t.Errorf("of %d: measures %d, marks %d", cases, measuredWrong, marksWrong)
	}
}

// noisyRide has marks of 6.5 with the model's offset and scatter, and measures with theirs.
func noisyRide(rng *rand.Rand, judge string) RideFacts {
	offset := rng.NormFloat64() * noise.OffsetSD / 10
	r := show(ride(judge, 24, 0, 0, 0.3))
	for i := range r.Movements {
		mf := &r.Movements[i]
		mf.Marks[0].Mark = 6.5 + offset + rng.NormFloat64()*noise.MarkSD
		v := 17.6 + rng.NormFloat64()*0.3
		mf.Measures[0].Value = &v
	}
	return r
}

// A recording misplaced by two metres moves every place alike: that is one vote, not twenty.
func TestSharedPlacingErrorIsOneVote(t *testing.T) {
	mk := func(common, shift float64) RideFacts {
		r := RideFacts{Sheet: "Willow Ford 2", CommonSDM: common}
		for i := 1; i <= 20; i++ {
			r.Movements = append(r.Movements, MovementFacts{Number: i, Coefficient: 1, Measures: []measure.Measure{m("transition place", 0.5+shift, 1.55, 0, 1, "m", "")}})
		}
		return r
	}
	c := compare(t, mk(2, 4.5), mk(2, 0))
	if c.Measured.Better != 20 || c.Measured.Verdict != NoiseOnly {
		t.Errorf("shared error: %+v", c.Measured)
	}
	// Twenty places that are each as doubtful but on their own cannot all move by chance.
	if c := compare(t, mk(0, 4.5), mk(0, 0)); c.Measured.Verdict != Better {
		t.Errorf("own errors: %+v", c.Measured)
	}
}

func TestComparisonIsDeterministic(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	a, b := noisyRide(rng, "A"), noisyRide(rng, "B")
	if x, y := compare(t, a, b), compare(t, a, b); !reflect.DeepEqual(x, y) {
		t.Error("two results from one input")
	}
}

// Swapping the rides swaps better and worse and the sign of every change.
func TestSwapMirrorsTheComparison(t *testing.T) {
	opposite := map[string]string{Better: Worse, Worse: Better, NoiseOnly: NoiseOnly, measure.CannotTell: measure.CannotTell}
	rapid.Check(t, func(rt *rapid.T) {
		mk := func() RideFacts {
			return show(ride("A", 6, rapid.Float64Range(3, 9).Draw(rt, "mark"), rapid.Float64Range(-3, 3).Draw(rt, "miss"), 0.2))
		}
		a, b := mk(), mk()
		x, _ := Compare(a, b)
		y, _ := Compare(b, a)
		for i := range x.Movements {
			if x.Movements[i].Measures[0].Verdict != opposite[y.Movements[i].Measures[0].Verdict] {
				rt.Fatalf("%+v\n%+v", x.Movements[i], y.Movements[i])
			}
		}
		if x.Total.Verdict != opposite[y.Total.Verdict] || !near(*x.Total.Change, -*y.Total.Change, 1e-9) {
			rt.Fatalf("%+v\n%+v", x.Total, y.Total)
		}
	})
}

func TestBlindOrder(t *testing.T) {
	rides := []RideFacts{ride("A", 12, 6, 0, 1), ride("A", 12, 6, 0, 1)}
	x, y, z := BlindOrder(rides, 7), BlindOrder(rides, 7), BlindOrder(rides, 8)
	if len(x) != 24 || !reflect.DeepEqual(x, y) || reflect.DeepEqual(x, z) {
		t.Fatalf("%v\n%v", x, z)
	}
	seen := map[Clip]bool{}
	for i, c := range x {
		seen[c] = true
		if i > 0 && x[i-1].Movement == c.Movement {
			t.Errorf("movement %d beside itself at %d", c.Movement, i)
		}
	}
	if len(seen) != 24 {
		t.Errorf("%d clips", len(seen))
	}
}

// NIST Statistical Reference Datasets, Norris (linear, 36 observations): certified slope
// 1.00211681802045 with standard deviation 0.429796848199937E-03.
func TestTrendAgainstNorris(t *testing.T) {
	var ps []TrendPoint
	lines := strings.Split(string(testkit.ReadShared(t, "data", "nist-strd", "Norris.dat")), "\n")
	for _, l := range lines[60:] {
		var y, x float64
		if n, _ := fmt.Sscan(l, &y, &x); n == 2 {
			ps = append(ps, TrendPoint{Day: x, Value: y})
		}
	}
	f, ok := fitLine(ps)
	if !ok || len(ps) != 36 || !near(f.slope, 1.00211681802045, 1e-12) || !near(f.slopeSD, 0.429796848199937e-3, 1e-13) || !near(f.at(0), -0.262323073774029, 1e-9) {
		t.Errorf("%d points, slope %.14f (%.15f), at 0 %.12f", len(ps), f.slope, f.slopeSD, f.at(0))
	}
}

func TestTrendSpeaksOnlyOfWhatItKnows(t *testing.T) {
	up := []TrendPoint{{0, 5, 0.3}, {7, 5.6, 0.3}, {14, 6.1, 0.3}, {21, 6.4, 0.3}, {28, 7.2, 0.3}}
	if got := Trend("kind", "circle", up, true); got.Verdict != Better || *got.PerWeek < 0.4 || *got.PerWeek > 0.6 {
		t.Errorf("%+v", got)
	}
	if got := Trend("fault", "late at the letter", up, false); got.Verdict != Worse {
		t.Errorf("%+v", got)
	}
	if got := Trend("kind", "circle", up[:2], true); got.Verdict != measure.CannotTell || got.PerWeek != nil {
		t.Errorf("%+v", got)
	}
	flat := []TrendPoint{{0, 6, 0.6}, {7, 6.4, 0.6}, {14, 5.9, 0.6}}
	if got := Trend("kind", "circle", flat, true); got.Verdict != NoiseOnly {
		t.Errorf("%+v", got)
	}
	same := []TrendPoint{{3, 6, 0.6}, {3, 6.4, 0.6}, {3, 5.9, 0.6}}
	if got := Trend("kind", "circle", same, true); got.Verdict != measure.CannotTell {
		t.Errorf("%+v", got)
	}
}

func TestTrendsOverRides(t *testing.T) {
	var rides []RideFacts
	for i := range 6 {
		r := ride("A", 10, 5.5+0.4*float64(i), 0, 0.2)
		r.Day, r.Show = 7*float64(i), true
		for k := range r.Movements {
			if k < 6-i {
				r.Movements[k].Faults = []terms.Fault{"late at the letter"}
			}
		}
		rides = append(rides, r)
	}
	ts := Trends(rides)
	if len(ts) != 2 || ts[0].What != "circle" || ts[0].Verdict != Better || ts[1].Of != "fault" || ts[1].Verdict != Better {
		t.Errorf("%+v", ts)
	}
}

// Marks of the person who taught in between never make a line better, as in Compare; what was seen
// less often may.
func TestTrendOfTaughtMarksIsNoProof(t *testing.T) {
	var rides []RideFacts
	for i := range 6 {
		r := ride("Mia", 10, 5.5+0.4*float64(i), 0, 0.2)
		r.Day = 7 * float64(i)
		rides = append(rides, r)
	}
	ts := Trends(rides)
	if len(ts) != 1 || ts[0].Verdict != measure.CannotTell || !strings.Contains(ts[0].Words, "also taught") {
		t.Errorf("%+v", ts)
	}
	no := false
	for i := range rides {
		rides[i].Taught = &no
	}
	if ts := Trends(rides); ts[0].Verdict != Better {
		t.Errorf("not taught: %+v", ts[0].Words)
	}
}

func BenchmarkCompare200(b *testing.B) {
	rng := rand.New(rand.NewPCG(2, 2))
	var rides []RideFacts
	for i := range 200 {
		r := noisyRide(rng, "A")
		r.Day = 7 * float64(i)
		rides = append(rides, r)
	}
	for b.Loop() {
		for i := 1; i < len(rides); i++ {
			if _, err := Compare(rides[i-1], rides[i]); err != nil {
				b.Fatal(err)
			}
		}
		Trends(rides)
	}
}
