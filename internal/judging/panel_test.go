package judging

import (
	"encoding/csv"
	"math"
	"math/big"
	"os"
	"testing"

	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
	"ringcraft/internal/testkit"
)

// Six targets by four judges of Shrout and Fleiss, Psychological Bulletin 86 (1979)
// 420-428, published as .17 .29 .71 .44 .62 .91; six decimals recomputed with SciPy in the
// shared folder's reference-values.
func TestAgreementOfShroutAndFleiss(t *testing.T) {
	a, ok := Agree([][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}})
	if !ok {
		t.Fatal("not ok")
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"ICC(1,1)", a.One1, 0.165742}, {"ICC(2,1)", a.Two1, 0.289764}, {"ICC(3,1)", a.Three1, 0.714841},
		{"ICC(1,4)", a.OneK, 0.442797}, {"ICC(2,4)", a.TwoK, 0.620051}, {"ICC(3,4)", a.ThreeK, 0.909316},
		{"targets", a.Between, 11.241667}, {"judges", a.JudgesMS, 32.486111}, {"within", a.Within, 6.263889}, {"error", a.Error, 1.019444},
	} {
		if math.Abs(c.got-c.want) > 1e-6 {
			t.Errorf("%s = %.6f, want %.6f", c.name, c.got, c.want)
		}
	}
	if _, ok := Agree([][]float64{{1, 2}}); ok {
		t.Error("one row is not enough")
	}
	if _, ok := Agree([][]float64{{1, 2}, {1}}); ok {
		t.Error("a short row must be refused")
	}
}

// Men's skating of the 2018 Olympic Winter Games, nine judges (BuzzFeed News, CC BY 4.0; the
// shared folder's skating-judges-men): the panel's score of every component is the mean of
// the nine marks without the highest and the lowest, to 0.01.
func TestTrimmedMeansOfARealPanel(t *testing.T) {
	aspects := readCSV(t, "judged-aspects.csv")
	scores := map[string][]*big.Rat{}
	for _, r := range readCSV(t, "judge-scores.csv") {
		v, ok := new(big.Rat).SetString(r["score"])
		if !ok {
			t.Fatalf("score %q", r["score"])
		}
		scores[r["aspect_id"]] = append(scores[r["aspect_id"]], v)
	}
	seen := 0
	var table [][]float64
	for _, a := range aspects {
		if a["section"] != "components" {
			continue
		}
		want, ok := new(big.Rat).SetString(a["scores_of_panel"])
		marks := scores[a["aspect_id"]]
		if !ok || len(marks) != 9 {
			t.Fatalf("aspect %v: %d marks", a["aspect_id"], len(marks))
		}
		got := TrimmedMean(marks, 1)
		if d, _ := new(big.Rat).Sub(got, want).Float64(); math.Abs(d) > 0.005001 {
			t.Errorf("%s: %s, panel %s", a["aspect_id"], got.FloatString(4), a["scores_of_panel"])
		}
		seen++
		row := make([]float64, 9)
		for i, m := range marks {
			row[i], _ = m.Float64()
		}
		table = append(table, row)
	}
	if seen < 200 {
		t.Fatalf("only %d components", seen)
	}
	ag, _ := Agree(table)
	t.Logf("%d components: ICC(2,1) %.3f, ICC(2,9) %.3f, one judge's SD %.2f", seen, ag.Two1, ag.TwoK, ag.JudgeSD)
	if ag.Two1 < 0.7 || ag.TwoK < ag.Two1 || ag.JudgeSD > 0.6 {
		t.Errorf("nine trained judges agree better than that: %+v", ag)
	}
}

func readCSV(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(testkit.Shared(t, "data", "skating-judges-men", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, r := range recs[1:] {
		m := map[string]string{}
		for i, h := range recs[0] {
			m[h] = r[i]
		}
		out = append(out, m)
	}
	return out
}

// Worked by hand. Halts: differences 1, 1, 1, 1 (mean 1); circles: 0, 0, 0, 0 (mean 0).
// Within sum of squares 0, df 6: v = (0 + 4*0.7225)/10 = 0.289. Weights n/v = 13.8408 each,
// m = 0.5, Q = 2*13.8408*0.25 = 6.9204, c = 27.6817 - 383.137/27.6817... = 13.8408, so
// (Q-1)/c = 0.42775; tau² = (1*0.42775 + 4*0.09)/5 = 0.15755. Each kind's weight is
// 1/(0.15755+0.07225) = 4.35161; offset 0.5, its variance 1/8.70322 = 0.114900. Shrinkage
// b = 0.15755/0.2298 = 0.685596, halts 0.685596 + 0.314404*0.5 = 0.842798,
// sd = sqrt(0.685596*0.07225 + 0.314404²*0.1149) = sqrt(0.049534+0.011358) = 0.246763.
func TestEyeByHand(t *testing.T) {
	var ps []PairedMark
	for i := 0; i < 4; i++ {
		ps = append(ps, PairedMark{Kind: terms.Halt, Trainer: 7, Judge: 6}, PairedMark{Kind: terms.Circle, Trainer: 6.5, Judge: 6.5})
	}
	e := JudgeEye(ps)
	near := func(name string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 2e-5 {
			t.Errorf("%s = %.6f, want %.6f", name, got, want)
		}
	}
	near("spread", e.Spread, math.Sqrt(0.289))
	near("between", e.Between*e.Between, 0.157550)
	near("offset", e.Offset, 0.5)
	near("halts", e.Kinds[0].Offset, 0.842798)
	near("halts low", e.Kinds[0].Low, 0.842798-1.96*0.246763)
	near("circles", e.Kinds[1].Offset, 0.157202)
	if !e.Kinds[0].LookHarder || e.Kinds[1].LookHarder || len(e.Kinds[0].Prone) == 0 {
		t.Errorf("look harder at halts only: %+v", e.Kinds)
	}
	if JudgeEye(nil).Note == "" {
		t.Error("no pairs must be said")
	}
}

// One pair says nearly nothing: the offset is drawn most of the way to the common one and
// the interval is wide.
func TestEyeShrinks(t *testing.T) {
	ps := []PairedMark{{Kind: terms.HalfPass, Trainer: 9, Judge: 6}}
	for i := 0; i < 40; i++ {
		ps = append(ps, PairedMark{Kind: terms.Circle, Trainer: 6 + 0.5*float64(i%3-1), Judge: 6})
	}
	e := JudgeEye(ps)
	h := e.Kinds[0]
	if h.Offset > 0.7*h.Raw || h.High-h.Low < 0.8 {
		t.Errorf("one pair is believed too much: %+v", h)
	}
}

func TestRisks(t *testing.T) {
	p := &rideplan.Plan{Movements: []rideplan.Movement{
		{Number: 1, Figures: []rideplan.Figure{{Kind: terms.FreeWalk}}},
		{Number: 2, Figures: []rideplan.Figure{{Kind: terms.Circle}}},
		{Number: 3, Figures: []rideplan.Figure{{Kind: terms.FlyingChange}}},
	}}
	got := Risks(p, map[int][]terms.Fault{1: {"jogging"}, 2: {"circle too large"}}, Card{Marks: []Mark{{Movement: 3, Judge: "C", Mark: 30}}})
	if len(got) != 2 || got[0].Movement != 1 || got[0].Rescue == "" || got[1].Movement != 3 || got[1].Risk != "change not shown" {
		t.Errorf("%+v", got)
	}
}
