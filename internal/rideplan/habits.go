package rideplan

import (
	"fmt"
	"sort"

	"ringcraft/internal/terms"
)

// Habit is a sequence that a horse can learn by heart: every time the first comes, the same
// thing follows, or one thing always comes at one letter.
type Habit struct {
	What    string // the first thing
	Follows string // what always follows, "" for a habit of place
	At      string // letter, for a habit of place
	Places  []HabitPlace
}

// HabitPlace is one time that it happens.
type HabitPlace struct {
	Movement int
	Letter   string
	AtM      float64
}

type skill struct {
	label  string
	letter string
	mov    int
	m      float64
}

// skills lists what is asked of the horse in riding order, as labels.
func (p *Plan) skills() []skill {
	var out []skill
	for _, m := range p.Movements {
		for _, f := range m.Figures {
			if l := skillLabel(f); l != "" {
				out = append(out, skill{l, f.At, m.Number, float64(f.StartM)})
			}
		}
	}
	return out
}

func skillLabel(f Figure) string {
	switch f.Kind {
	case terms.Transition:
		return string(f.Variety)
	case terms.Halt, terms.ReinBack, terms.SimpleChange, terms.FlyingChange, terms.Stretch, terms.Piaffe, terms.ChangeSeries:
		return string(f.Kind)
	case terms.Circle, terms.Volte, terms.HalfCircle:
		return fmt.Sprintf("%s %g m", f.Kind, float64(f.Nominal))
	case terms.ShoulderIn, terms.Travers, terms.Renvers, terms.HalfPass, terms.LegYield, terms.TurnOnHaunches, terms.TurnOnForehand,
		terms.WalkPirouette, terms.CanterPirouette, terms.ZigZag, terms.Serpentine, terms.Loop, terms.CounterCanter:
		return string(f.Kind)
	}
	return ""
}

// Habits finds the sequences that always follow and the things that always come at one letter.
func (p *Plan) Habits() []Habit {
	s := p.skills()
	next := map[string]map[string][]HabitPlace{}
	at := map[string]map[string][]HabitPlace{}
	for i, k := range s {
		place := HabitPlace{k.mov, k.letter, k.m}
		if k.letter != "" {
			add(at, k.label, k.letter, place)
		}
		if i+1 < len(s) && s[i+1].label != k.label {
			add(next, k.label, s[i+1].label, place)
		} else if i+1 < len(s) {
			add(next, k.label, "another "+k.label, place)
		}
	}
	var out []Habit
	for _, label := range sortedKeys(next) {
		if follow, places, ok := only(next[label]); ok {
			out = append(out, Habit{What: label, Follows: follow, Places: places})
		}
	}
	for _, label := range sortedKeys(at) {
		if letter, places, ok := only(at[label]); ok {
			out = append(out, Habit{What: label, At: letter, Places: places})
		}
	}
	return out
}

func add(m map[string]map[string][]HabitPlace, a, b string, p HabitPlace) {
	if m[a] == nil {
		m[a] = map[string][]HabitPlace{}
	}
	m[a][b] = append(m[a][b], p)
}

func sortedKeys[V any](m map[string]V) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// only returns the single key of m when it happens at least twice.
func only(m map[string][]HabitPlace) (string, []HabitPlace, bool) {
	if len(m) != 1 {
		return "", nil, false
	}
	for k, v := range m {
		return k, v, len(v) > 1
	}
	return "", nil, false
}

// String says the habit in words.
func (h Habit) String() string {
	if h.At != "" {
		return fmt.Sprintf("%s always at %s", h.What, h.At)
	}
	return fmt.Sprintf("%s always followed by %s", h.What, h.Follows)
}

func lost(before, after []Habit) []Habit {
	has := map[string]bool{}
	for _, h := range after {
		has[h.String()] = true
	}
	var out []Habit
	for _, h := range before {
		if !has[h.String()] {
			out = append(out, h)
		}
	}
	return out
}
