package measure

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/match"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
	"ringcraft/internal/track"
)

// handRide is a ride made from the plan's samples without the simulator: time and place.
type handRide struct {
	t []float64
	p []arena.Point
}

func byHand(p *rideplan.Plan) handRide {
	var h handRide
	for _, s := range p.Samples {
		h.t, h.p = append(h.t, float64(s.T)), append(h.p, s.Point)
	}
	return h
}

// csv records the ride at a rate with white noise and a slow sinusoid of either sign.
func (h handRide) csv(rate, white, slow float64, seed uint64) []byte {
	rng := rand.New(rand.NewPCG(seed, 4))
	phase := rng.Float64() * 6
	var b strings.Builder
	b.WriteString("t_s,x_m,y_m\n")
	k := 0
	for t := 0.0; t <= h.t[len(h.t)-1]; t += 1 / rate {
		for k+2 < len(h.t) && h.t[k+1] < t {
			k++
		}
		f := 0.0
		if d := h.t[k+1] - h.t[k]; d > 0 {
			f = math.Min(1, math.Max(0, (t-h.t[k])/d))
		}
		q := h.p[k].Lerp(h.p[k+1], f)
		w := slow * math.Sin(t/40+phase)
		fmt.Fprintf(&b, "%.3f,%.4f,%.4f\n", t, q.X+w+white*rng.NormFloat64(), q.Y-w+white*rng.NormFloat64())
	}
	return []byte(b.String())
}

// measuredByHand measures a recording written by hand; it must be placed and aligned.
func measuredByHand(t *testing.T, p *rideplan.Plan, csv []byte, class string) Set {
	t.Helper()
	rec, err := track.Import(bytes.NewReader(csv), track.ImportOptions{File: "hand.csv"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := match.Align(context.Background(), p, rec, match.Options{Class: class})
	if err != nil {
		t.Fatal(err)
	}
	return Ride(p, r, Options{})
}

func figureOf(t *testing.T, p *rideplan.Plan, movement int, kind terms.Kind) rideplan.Figure {
	t.Helper()
	for _, f := range p.MovementByNumber(movement).Figures {
		if f.Kind == kind {
			return f
		}
	}
	t.Fatalf("movement %d has no %s", movement, kind)
	return rideplan.Figure{}
}

// TestByHand changes the planned line by simple means of its own (a circle shrunk about its
// centre, a line shifted with a step, a halt and a change of pace carried on further) and
// checks the values against their doubt at several noises and rates.
func TestByHand(t *testing.T) {
	p := compiled(t, smallSheet)
	circle, halt := figureOf(t, p, 3, terms.Circle), figureOf(t, p, 1, terms.Halt)
	line, change := figureOf(t, p, 14, terms.CentreLine), figureOf(t, p, 7, terms.Transition)
	for _, n := range []struct {
		rate, white, slow float64
		class             string
		named             bool
	}{{10, 0.05, 0, "survey", true}, {10, 0.05, 0, "", true}, {10, 0.05, 0.03, "rtk", true}, {5, 0.1, 0.05, "uwb", false}, {1, 0.5, 0, "sport", false}, {10, 1, 0.5, "sport", false}, {1, 3, 1, "phone", false}, {10, 3, 0, "phone", false}} {
		h := byHand(p)
		for i, s := range p.Samples {
			switch {
			case s.M > circle.StartM && s.M < circle.EndM:
				h.p[i] = circle.Centre.Add(h.p[i].Sub(circle.Centre).Mul(17 / 18.4))
			case s.M > line.StartM && s.M <= line.EndM && math.Abs(s.X) < 0.05:
				h.p[i].X += 0.6
			}
		}
		h.carryOn(p, float64(halt.StartM), 1.5, true)
		h.carryOn(p, float64(change.StartM), 4, false)
		set := measuredByHand(t, p, h.csv(n.rate, n.white, n.slow, 3), n.class)
		for _, w := range []struct {
			movement int
			what     string
			truth    float64
			fault    string
		}{{3, "circle diameter", 17, "too small"}, {14, "centre line offset", 0.6, "right of the line"}, {1, "halt place", 1.5, "late"}, {7, "transition place", 4, "late"}, {1, "halt duration", 6.2, OK}} {
			m := find(set.Of(w.movement), w.what)
			if m == nil || m.Value == nil {
				if n.named || m == nil {
					t.Errorf("%+v: no %s", n, w.what)
				}
				continue
			}
			t.Logf("%+v: %s %.3f ± %.3f, truth %.2f: %s", n, w.what, *m.Value, *m.Sigma, w.truth, m.Verdict)
			// the step of the hand-made line and its sharp changes of speed are worth a tenth
			if off := math.Abs(*m.Value - w.truth); off > 3.3**m.Sigma+0.1 {
				t.Errorf("%+v: %s %.3f ± %.3f, truth %.2f", n, w.what, *m.Value, *m.Sigma, w.truth)
			}
			if n.named && m.Verdict != w.fault || !n.named && m.Verdict != w.fault && m.Verdict != CannotTell {
				t.Errorf("%+v: %s is %q, want %q", n, w.what, m.Verdict, w.fault)
			}
		}
	}
}

func find(ms []Measure, what string) *Measure {
	for i := range ms {
		if ms[i].What == what {
			return &ms[i]
		}
	}
	return nil
}

// carryOn lets what happens to the speed around metre m happen late metres further on: the
// clock of the metres around it is shifted, with as much time made up before and after.
func (h handRide) carryOn(p *rideplan.Plan, m, late float64, halt bool) {
	const reach = 8.0
	at := func(want float64) float64 { // time of the plan's motion at a metre, halts left out
		for i := 1; i < len(p.Samples); i++ {
			if a, b := float64(p.Samples[i-1].M), float64(p.Samples[i].M); b >= want && b > a {
				return float64(p.Samples[i-1].T) + (want-a)/(b-a)*float64(p.Samples[i].T-p.Samples[i-1].T)
			}
		}
		return float64(p.Total)
	}
	v1, v2 := 2/(at(m-6)-at(m-8)), 2/(at(m+8)-at(m+6))
	old := append([]float64(nil), h.t...)
	if halt {
		// stand late metres further on: move the places of the samples around it, not the times
		for i, s := range p.Samples {
			d := float64(s.M) - m
			if d > -reach && d < reach {
				share := 1 - math.Max(0, math.Abs(d)-2)/(reach-2)
				h.p[i] = h.p[i].Add(s.Heading.Unit().Mul(late * share))
			}
		}
		return
	}
	// ride v1 on for late metres, then change as planned; afterwards everything is earlier or later
	gain := late/v1 - late/v2
	for i, s := range p.Samples {
		switch d := float64(s.M) - m; {
		case d > -reach && d <= reach:
			src := float64(s.M) - late
			h.t[i] = at(src) + late/v1
			if d < late-reach {
				h.t[i] = old[i]
			}
		case d > reach:
			h.t[i] = old[i] + gain
		}
	}
	for i := 1; i < len(h.t); i++ {
		h.t[i] = math.Max(h.t[i], h.t[i-1]+1e-4)
	}
}
