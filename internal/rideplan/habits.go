package rideplan

import (
	"fmt"
	"sort"

	"ringcraft/internal/sheet"
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
	case terms.ShoulderIn, terms.Travers, terms.Renvers, terms.HalfPass, terms.LegYield, terms.TurnOnHaunches,
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

// state is what one movement hands to the next; movements may be exchanged where it is equal.
type state struct {
	rein    Hand
	onTrack bool
	variety string
	lead    Hand
	halted  bool
}

// Reordered is the sheet with two stretches exchanged, so that a horse cannot count on what
// comes next; for schooling, not for the show.
type Reordered struct {
	File    *sheet.File
	First   [2]int // numbers of the first and last movement of the stretch now later
	Second  [2]int // of the stretch now earlier
	Broken  []Habit
	Reasons []string
}

const maxReorders = 300 // compiles tried

// Reorder looks for an order of the same movements in which fewer sequences always follow
// and which compiles without errors. ok is false when there is none among neighbouring
// stretches that begin and end alike.
func Reorder(f *sheet.File, o Options) (best Reordered, ok bool) {
	base := Compile(f, o)
	habits := base.Habits()
	n := len(f.Movements)
	tries := 0
	bestLeft := len(habits)
	errs := countErrors(base)
	for i := 1; i < n-1; i++ {
		for j := i + 1; j < n && tries < maxReorders; j++ {
			for k := j + 1; k < n && tries < maxReorders; k++ { // never the last movement
				if base.begins[i] != base.begins[j] || base.begins[j] != base.begins[k] {
					continue
				}
				tries++
				g := exchange(f, i, j, k)
				p := Compile(g, o)
				if left := len(p.Habits()); countErrors(p) <= errs && left < bestLeft {
					bestLeft, ok = left, true
					best = Reordered{File: g, First: [2]int{f.Movements[i].Number, f.Movements[j-1].Number},
						Second: [2]int{f.Movements[j].Number, f.Movements[k-1].Number}, Broken: lost(habits, p.Habits())}
				}
			}
		}
	}
	if ok {
		best.Reasons = append(best.Reasons, fmt.Sprintf("movements %d to %d and %d to %d begin and end on the same rein in the same pace", best.First[0], best.First[1], best.Second[0], best.Second[1]))
		for _, h := range best.Broken {
			best.Reasons = append(best.Reasons, h.String()+" no longer holds")
		}
	}
	return best, ok
}

// String says the habit in words.
func (h Habit) String() string {
	if h.At != "" {
		return fmt.Sprintf("%s always at %s", h.What, h.At)
	}
	return fmt.Sprintf("%s always followed by %s", h.What, h.Follows)
}

func countErrors(p *Plan) int {
	n := 0
	for _, q := range p.Problems {
		if q.Severity == sheet.Error {
			n++
		}
	}
	return n
}

// exchange swaps the stretches i..j-1 and j..k-1; the numbers stay in order.
func exchange(f *sheet.File, i, j, k int) *sheet.File {
	g := *f
	g.Problems = nil
	g.Movements = nil
	g.Movements = append(g.Movements, f.Movements[:i]...)
	g.Movements = append(g.Movements, f.Movements[j:k]...)
	g.Movements = append(g.Movements, f.Movements[i:j]...)
	g.Movements = append(g.Movements, f.Movements[k:]...)
	for m := range g.Movements {
		g.Movements[m].Number = f.Movements[m].Number
	}
	return &g
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
