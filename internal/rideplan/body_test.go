package rideplan

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"ringcraft/internal/arena"
)

// In work along the boards no part of the horse is outside them, and the part that should
// stay on the track does.
func TestBodyInsideTheBoards(t *testing.T) {
	for _, c := range []struct {
		line  string
		pivot float64
	}{{"F-M Shoulder-in left", -0.75}, {"F-M Travers left", 0.55}, {"F-M Renvers", -0.75}, {"F-M Shoulder-out", 0.55}} {
		p := compileLines(t, Options{}, "1 A Collected trot left", "2 "+c.line, "3 C Halt")
		f := p.MovementByNumber(2).Figures[0]
		s := p.SampleAtM((f.StartM + f.EndM) / 2)
		if math.Abs(float64(s.Pivot)-c.pivot) > 1e-9 || s.BodyPoint(s.Pivot).Dist(s.Point) > 1e-9 {
			t.Errorf("%s: pivot %.2f, want %.2f", c.line, float64(s.Pivot), c.pivot)
		}
		if far := s.BodyPoint(-arena.Metres(c.pivot)); far.X > s.X-0.3 {
			t.Errorf("%s: the other legs are at %.2f, the track at %.2f", c.line, far.X, s.X)
		}
		for _, s := range p.Samples {
			for ahead := -1.2; ahead <= 1.2; ahead += 0.3 {
				if q := s.BodyPoint(arena.Metres(ahead)); s.Angle > 0 && math.Abs(q.X) > 10 {
					t.Fatalf("%s: at %.1f m the body is at x %.2f", c.line, float64(s.M), q.X)
				}
			}
		}
	}
}

// The middle of a change of speed is at the letter on a straight, and near it on a bend.
func TestMiddleOfChange(t *testing.T) {
	for _, c := range []struct {
		letter string
		within float64
	}{{"E", 0.26}, {"C", 6}} {
		p := compileLines(t, Options{}, "1 A Working trot left", "2 "+c.letter+" Working canter left", "3 A Halt")
		f := figures(p, "transition")[0]
		v1, v2 := 3.6, 3.91
		got := p.MiddleOfChange(SpeedChange{float64(f.StartM), v1, v2, 1.1}, 0, p.Length)
		if off := math.Abs(float64(got - f.StartM)); off > c.within {
			t.Errorf("%s: middle %.2f m from the letter", c.letter, off)
		}
	}
}

// The tolerances by which a ride is judged are those that the plan shows as visible.
func TestTolerancesAgree(t *testing.T) {
	b, err := os.ReadFile("../measure/tolerances.json")
	if err != nil {
		t.Fatal(err)
	}
	var ts []struct {
		What          string
		Within, Share float64
	}
	if err := json.Unmarshal(b, &ts); err != nil {
		t.Fatal(err)
	}
	tied := 0
	for _, v := range visibles {
		for _, m := range ts {
			if m.What != v.What {
				continue
			}
			tied++
			if v.Value == "count" { // counted exactly: less than one off
				m.Within = math.Floor(m.Within)
			}
			if m.Within != v.Tolerance || m.Share != v.Share {
				t.Errorf("%s: %g + %g of the size in the plan, %g + %g in measure", v.What, v.Tolerance, v.Share, m.Within, m.Share)
			}
		}
	}
	if tied < 10 {
		t.Errorf("only %d tolerances are tied", tied)
	}
}
