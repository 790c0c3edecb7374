package diagnose

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// The chest clinic network, Lauritzen and Spiegelhalter 1988, J. R. Statist. Soc. B 50(2),
// with its published tables (from memory; the marginals below are worked by hand from them).
func chestClinic(t testing.TB) *Network {
	var n Network
	must(t, n.AddTable("asia", nil, []float64{0.01}))
	must(t, n.AddTable("smoke", nil, []float64{0.5}))
	must(t, n.AddTable("tub", []string{"asia"}, []float64{0.01, 0.05}))
	must(t, n.AddTable("lung", []string{"smoke"}, []float64{0.01, 0.1}))
	must(t, n.AddTable("bronc", []string{"smoke"}, []float64{0.3, 0.6}))
	must(t, n.AddTable("either", []string{"tub", "lung"}, []float64{0, 1, 1, 1}))
	must(t, n.AddTable("xray", []string{"either"}, []float64{0.05, 0.98}))
	must(t, n.AddTable("dysp", []string{"either", "bronc"}, []float64{0.1, 0.7, 0.8, 0.9}))
	return &n
}

func TestChestClinicMarginals(t *testing.T) {
	n := chestClinic(t)
	// By hand: tub = .99*.01+.01*.05; lung = .5*.01+.5*.1; either = 1-(1-tub)(1-lung);
	// xray = either*.98+(1-either)*.05; dysp as published, 0.4360.
	for _, c := range []struct {
		name string
		want float64
	}{{"tub", 0.0104}, {"lung", 0.055}, {"bronc", 0.45}, {"either", 0.064828}, {"xray", 0.11029004}, {"dysp", 0.435971}} {
		got, err := n.Posterior(c.name, nil)
		must(t, err)
		if !near(got, c.want, 1e-6) {
			t.Errorf("P(%s) = %.7f, want %.7f", c.name, got, c.want)
		}
	}
}

// The burglar alarm network of Russell and Norvig, Artificial Intelligence: A Modern
// Approach, chapter on probabilistic reasoning: P(burglary | both neighbours call) = 0.284.
func TestBurglarAlarm(t *testing.T) {
	var n Network
	must(t, n.AddTable("burglary", nil, []float64{0.001}))
	must(t, n.AddTable("earthquake", nil, []float64{0.002}))
	must(t, n.AddTable("alarm", []string{"burglary", "earthquake"}, []float64{0.001, 0.94, 0.29, 0.95}))
	must(t, n.AddTable("john", []string{"alarm"}, []float64{0.05, 0.90}))
	must(t, n.AddTable("mary", []string{"alarm"}, []float64{0.01, 0.70}))
	got, err := n.Posterior("burglary", Evidence{"john": {0, 1}, "mary": {0, 1}})
	must(t, err)
	if !near(got, 0.284, 0.0005) {
		t.Errorf("P(burglary | john, mary) = %.4f, want 0.284", got)
	}
}

// The wet grass network as printed in K. Murphy's introduction to graphical models (2001):
// P(sprinkler | wet) = 0.430, P(rain | wet) = 0.708, P(wet) = 0.6471.
func TestWetGrass(t *testing.T) {
	var n Network
	must(t, n.AddTable("cloudy", nil, []float64{0.5}))
	must(t, n.AddTable("sprinkler", []string{"cloudy"}, []float64{0.5, 0.1}))
	must(t, n.AddTable("rain", []string{"cloudy"}, []float64{0.2, 0.8}))
	must(t, n.AddTable("wet", []string{"sprinkler", "rain"}, []float64{0, 0.9, 0.9, 0.99}))
	wet := Evidence{"wet": {0, 1}}
	s, err := n.Posterior("sprinkler", wet)
	must(t, err)
	r, err := n.Posterior("rain", wet)
	must(t, err)
	w, err := n.Posterior("wet", nil)
	must(t, err)
	if !near(s, 0.4298, 5e-5) || !near(r, 0.7079, 5e-5) || !near(w, 0.6471, 5e-5) {
		t.Errorf("sprinkler %.4f rain %.4f wet %.4f", s, r, w)
	}
}

// Two causes, one fault, worked by hand: priors 0.2 and 0.1, links 0.5 and 0.8, leak 0.
// P(fault) = 1-(1-.2*.5)(1-.1*.8) = 0.172; P(a|fault) = .2*(.1*.9+.9*.5)/.172 = .108/.172.
func TestNoisyOrByHand(t *testing.T) {
	var n Network
	must(t, n.AddTable("a", nil, []float64{0.2}))
	must(t, n.AddTable("b", nil, []float64{0.1}))
	must(t, n.AddNoisyOr("fault", 0, []string{"a", "b"}, []float64{0.5, 0.8}))
	got, err := n.Posterior("a", Evidence{"fault": {0, 1}})
	must(t, err)
	if want := 0.2 * (0.1*0.9 + 0.9*0.5) / 0.172; !near(got, want, 1e-12) {
		t.Errorf("P(a | fault) = %v, want %v", got, want)
	}
}

// Elimination must equal summing the whole joint, for random networks and soft evidence.
func TestJointEqualsBruteForce(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n, ev := randomNetwork(rt)
		q := []string{"n0"}
		if len(n.nodes) > 3 {
			q = append(q, fmt.Sprintf("n%d", rapid.IntRange(1, len(n.nodes)-1).Draw(rt, "q")))
		}
		got, err := n.Joint(q, ev)
		if err != nil {
			rt.Fatal(err)
		}
		want, err := n.bruteForce(q, ev)
		if err != nil {
			rt.Fatal(err)
		}
		for i := range want {
			if !near(got[i], want[i], 1e-9) {
				rt.Fatalf("row %d: %v, want %v", i, got[i], want[i])
			}
		}
	})
}

func randomNetwork(rt *rapid.T) (*Network, Evidence) {
	var n Network
	ev := Evidence{}
	p := rapid.Float64Range(0.02, 0.98)
	count := rapid.IntRange(2, 10).Draw(rt, "nodes")
	for i := 0; i < count; i++ {
		var parents []string
		var links []float64
		for j := 0; j < i && len(parents) < 4; j++ {
			if rapid.Bool().Draw(rt, "edge") {
				parents = append(parents, fmt.Sprintf("n%d", j))
				links = append(links, p.Draw(rt, "link"))
			}
		}
		name := fmt.Sprintf("n%d", i)
		if err := n.AddNoisyOr(name, p.Draw(rt, "leak"), parents, links); err != nil {
			rt.Fatal(err)
		}
		if rapid.IntRange(0, 2).Draw(rt, "observe") == 0 {
			ev[name] = Likelihood{p.Draw(rt, "no"), p.Draw(rt, "yes")}
		}
	}
	return &n, ev
}

func TestNetworkRefusesBadNodes(t *testing.T) {
	var n Network
	must(t, n.AddTable("a", nil, []float64{0.5}))
	if n.AddTable("a", nil, []float64{0.5}) == nil || n.AddTable("b", []string{"x"}, []float64{0, 1}) == nil ||
		n.AddTable("c", []string{"a"}, []float64{0.5}) == nil || n.AddTable("d", nil, []float64{1.5}) == nil {
		t.Error("a bad node was accepted")
	}
	if _, err := n.Joint([]string{"nobody"}, nil); err == nil {
		t.Error("an unknown node was answered")
	}
	if _, err := n.Joint([]string{"a"}, Evidence{"a": {0, 0}}); err == nil {
		t.Error("impossible evidence was answered")
	}
}
