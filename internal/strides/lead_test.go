package strides

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ringcraft/internal/gait"
)

// The probability of a side against a count: pairs drawn as the model says, witnesses drawn from each,
// and how often the side that more of them speak for was right, for every count of witnesses.
func TestAgreedIsHowOftenRight(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 7))
	for _, n := range []int{1, 2, 3, 5} {
		right, all := make([]float64, n+1), make([]float64, n+1)
		for range 200000 {
			q := math.Pow(rng.Float64(), 1/leadWith) // Beta(leadWith, 1)
			with := 0
			for range n {
				if rng.Float64() < q {
					with++
				}
			}
			most := max(with, n-with)
			all[most]++
			if with == most {
				right[most]++
			}
		}
		for most := n/2 + 1; most <= n; most++ {
			p := agreed(float64(most), float64(n-most))
			got, sd := right[most]/all[most], math.Sqrt(p*(1-p)/all[most])
			if math.Abs(got-p) > 4*sd+1e-9 {
				t.Errorf("%d of %d agree: said %.4f, right %.4f of %.0f", most, n, p, got, all[most])
			}
		}
	}
}

// Canter on one lead that turns to both sides and changes its stride is one group, not two: no lead is
// made of the difference. Fails where the sides are parted by the turns alone.
func TestOneLeadIsOneGroup(t *testing.T) {
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 5))
		h := newHorse(rng)
		tk, _ := h.ride([]act{
			{pace: gait.Canter, lead: LeadRight, dur: 12, hz: 1.6, turn: -0.4}, {pace: gait.Canter, lead: LeadRight, dur: 8, hz: 1.72},
			{pace: gait.Canter, lead: LeadRight, dur: 10, hz: 1.55, turn: 0.4}, {pace: gait.Trot, dur: 8, hz: 1.3}}, 50, rng, true)
		for _, sp := range Detect(tk, Options{}).Spans {
			if sp.Pace == gait.Canter && (sp.Lead != "" || sp.LeadGroup != 0 || sp.LeadReason == "") {
				t.Errorf("seed %d: canter from %.0f s has lead %q, group %d (%q)", seed, float64(sp.Start), sp.Lead, sp.LeadGroup, sp.LeadReason)
			}
		}
	}
}

// cantersOf strings canter and trot together, each canter on a lead and turning to a side (1 left).
func cantersOf(leads []string, turns []float64) (acts []act) {
	for i := range leads {
		acts = append(acts, act{pace: gait.Trot, dur: 7, hz: 1.3}, act{pace: gait.Canter, lead: leads[i], dur: 12, hz: 1.65, turn: 0.4 * turns[i]})
	}
	return acts
}

// A pair that is on the wrong lead in half of its canters: two groups, but no names; a change of one
// canter among seven leaves the names, and the wrong one is named as ridden.
func TestTurnsThatDisagree(t *testing.T) {
	l, r := LeadLeft, LeadRight
	half, _ := one(cantersOf([]string{l, r, r, l}, []float64{1, 1, -1, -1}), 50, true, nil)
	for _, sp := range half.Spans {
		if sp.Pace == gait.Canter && (sp.Lead != "" || sp.LeadGroup == 0 || !strings.Contains(sp.LeadReason, "too few turns agree")) {
			t.Errorf("half on the wrong lead: %q, group %d, %q", sp.Lead, sp.LeadGroup, sp.LeadReason)
		}
	}
	leads := []string{l, r, l, r, r, r, l}
	most, _ := one(cantersOf(leads, []float64{1, -1, 1, -1, 1, -1, 1}), 50, true, nil)
	k := 0
	for _, sp := range most.Spans {
		if sp.Pace != gait.Canter {
			continue
		}
		if sp.Lead != leads[k] || math.Abs(sp.LeadProbability-agreed(6, 1)) > 1e-9 {
			t.Errorf("canter %d: lead %q (%.3f), want %q", k, sp.Lead, sp.LeadProbability, leads[k])
		}
		k++
	}
	if k != len(leads) {
		t.Errorf("%d canters, want %d", k, len(leads))
	}
}
