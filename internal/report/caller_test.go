package report

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/judging"
	"ringcraft/internal/rideplan"
)

// Whatever the sheet: every movement is called once, in order, with its own words; calls do
// not overlap; no call holds more than two movements; while one is spoken no more than two
// announced movements have not begun; and a call that is not tight keeps the lead.
func TestCallerRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &rideplan.Plan{Board: arena.Small40}
		at := 0.0
		n := rapid.IntRange(0, 25).Draw(t, "movements")
		for i := 1; i <= n; i++ {
			m := rideplan.Movement{Number: i, Letters: "B", Text: strings.TrimSpace(strings.Repeat("word ", rapid.IntRange(1, 30).Draw(t, "words")))}
			m.StartS = gait.Seconds(at)
			at += rapid.Float64Range(0.5, 40).Draw(t, "length")
			m.EndS = gait.Seconds(at)
			p.Movements = append(p.Movements, m)
		}
		p.Total = gait.Seconds(at)
		lead := rapid.Float64Range(0, 10).Draw(t, "lead")
		s := Caller(p, CallOptions{LeadS: &lead})
		var called []int
		for i, c := range s.Calls {
			called = append(called, c.Movements...)
			if len(c.Movements) > 2 {
				t.Fatalf("call %d joins %v", i, c.Movements)
			}
			if i > 0 && c.SpeakS < s.Calls[i-1].EndS-0.011 {
				t.Fatalf("call %d begins before the one before it has ended", i)
			}
			ahead := 0
			for _, num := range called {
				if float64(p.MovementByNumber(num).StartS) > c.SpeakS+0.011 {
					ahead++
				}
			}
			if ahead > 2 {
				t.Fatalf("%d movements ahead at call %d", ahead, i)
			}
			if !c.Tight && c.LeadS < lead-0.02 {
				t.Fatalf("call %d has a lead of %.2f of %.2f and is not marked", i, c.LeadS, lead)
			}
			if len(c.Movements) == 1 && c.Words != CallWords(p.MovementByNumber(c.Movements[0])) {
				t.Fatalf("call %d says %q", i, c.Words)
			}
		}
		want := make([]int, n)
		for i := range want {
			want[i] = i + 1
		}
		if !slices.Equal(called, want) {
			t.Fatalf("called %v", called)
		}
	})
}

func TestCallerScript(t *testing.T) {
	p := tinyPlan()
	var o CallOptions
	o.Allowed, o.Why = CallingUnder(&judging.Rules{Name: "House rules", Calling: "not allowed: ridden from memory"})
	s := Caller(p, o)
	var got []string
	for _, c := range s.Calls {
		got = append(got, fmt.Sprintf("%v %q lead %.1f tight %v", c.Movements, c.Words, c.LeadS, c.Tight))
	}
	want := []string{
		`[1] "A Enter in working trot; C Track right" lead 3.0 tight false`,
		`[2] "B Circle right 15 m" lead 3.0 tight false`,
		`[3] "F Medium walk" lead 3.0 tight false`,
		`[4] "X Halt. Salute" lead 3.0 tight false`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("calls:\n%s", strings.Join(got, "\n"))
	}
	if s.Allowed || s.Why != "House rules: not allowed: ridden from memory" || len(s.Notes) != 1 || !strings.Contains(s.Notes[0], "at home only") {
		t.Errorf("allowed %v, why %q, notes %q", s.Allowed, s.Why, s.Notes)
	}
	if s.Calls[0].SpeakS >= 0 {
		t.Error("the first call does not come before the entry")
	}
}

// Every rule set that comes with Ringcraft is read one way or the other.
func TestCallingOfEveryRuleSet(t *testing.T) {
	for _, r := range judging.AllRules() {
		allowed, why := CallingUnder(r)
		open := r.Calling == "see the class rules"
		if why == "" || allowed && open || !allowed && !open && !strings.HasPrefix(r.Calling, "not allowed") {
			t.Errorf("%s: %q is read as allowed %v", r.ID, r.Calling, allowed)
		}
	}
	if allowed, why := CallingUnder(nil); allowed || why == "" {
		t.Error("no rule set allows calling")
	}
}

// Words of one's own make a script for training, whatever the rules say.
func TestOwnWordsAreForTraining(t *testing.T) {
	p := tinyPlan()
	s := Caller(p, CallOptions{Allowed: true, Own: map[int]string{2: "now the circle", 99: "nowhere"}})
	if s.Allowed || !s.Training || s.Calls[1].Words != "now the circle" {
		t.Errorf("allowed %v, training %v, words %q", s.Allowed, s.Training, s.Calls[1].Words)
	}
	if s = Caller(p, CallOptions{Allowed: true, Own: map[int]string{2: " "}}); !s.Allowed || s.Training {
		t.Error("no word of one's own, and still not allowed")
	}
}
