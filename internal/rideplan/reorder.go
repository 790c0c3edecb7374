package rideplan

import (
	"fmt"
	"strings"
	"unicode"

	"ringcraft/internal/sheet"
)

// state is what one movement hands to the next; stretches may be exchanged where it is equal.
type state struct {
	rein    Hand
	onTrack bool
	variety string
	lead    Hand
	halted  bool
}

func (s state) mirrored() state {
	s.rein, s.lead = other(s.rein), other(s.lead)
	return s
}

// Reordered is the sheet with two stretches exchanged, so that a horse cannot count on what
// comes next; for schooling, not for the show.
type Reordered struct {
	File     *sheet.File
	First    [2]int // numbers of the first and last movement of the stretch now later
	Second   [2]int // of the stretch now earlier
	Mirrored bool   // both are ridden on the other rein, with the letters across
	Broken   []Habit
	Reasons  []string
}

const triesPerWay = 120 // compiles tried of each way to exchange stretches

// swap is the exchange of the stretches i..j-1 and k..l-1.
type swap struct {
	i, j, k, l int
	mirror     bool
}

// Reorder looks for an order of the same movements in which fewer sequences always follow and
// which compiles without new errors. It exchanges two stretches, neighbours or not, that begin
// alike and end alike; or, where they do so on opposite reins, each in the mirror. The first
// and last movement keep their place. ok is false when there is no such order.
func Reorder(f *sheet.File, o Options) (best Reordered, ok bool) {
	base := Compile(f, o)
	habits := base.Habits()
	left, errs := len(habits), countErrors(base)
	across := mirrored(f)
	for _, s := range swaps(base) {
		g := s.apply(f, across)
		p := Compile(g, o)
		h := p.Habits()
		if len(h) >= left || countErrors(p) > errs || len(p.Movements) != len(base.Movements) {
			continue
		}
		left, ok = len(h), true
		number := func(i int) int { return f.Movements[i].Number }
		best = Reordered{File: g, First: [2]int{number(s.i), number(s.j - 1)}, Second: [2]int{number(s.k), number(s.l - 1)},
			Mirrored: s.mirror, Broken: lost(habits, h)}
	}
	if ok {
		best.explain()
	}
	return best, ok
}

func (r *Reordered) explain() {
	how := "they begin and end on the same rein in the same pace"
	if r.Mirrored {
		how = "they begin and end alike on opposite reins; both are ridden on the other rein, with the letters across"
	}
	r.Reasons = append(r.Reasons, fmt.Sprintf("%s and %s change places: %s", stretchWords(r.First), stretchWords(r.Second), how))
	for _, h := range r.Broken {
		r.Reasons = append(r.Reasons, h.String()+" no longer holds")
	}
}

func stretchWords(s [2]int) string {
	if s[0] == s[1] {
		return fmt.Sprintf("movement %d", s[0])
	}
	return fmt.Sprintf("movements %d to %d", s[0], s[1])
}

// swaps lists the exchanges to try: neighbours, then stretches apart, then mirrored ones.
func swaps(p *Plan) []swap {
	var near, apart, mirror []swap
	n, b := len(p.begins), p.begins
	for i := 1; i < n-1; i++ {
		for j := i + 1; j < n; j++ {
			for k := j; k < n; k++ {
				for l := k + 1; l < n; l++ { // never the last movement
					s := swap{i, j, k, l, false}
					switch {
					case b[i] == b[k] && b[j] == b[l] && j == k:
						near = append(near, s)
					case b[i] == b[k] && b[j] == b[l]:
						apart = append(apart, s)
					case b[i] == b[k].mirrored() && b[j] == b[l].mirrored():
						s.mirror = true
						mirror = append(mirror, s)
					}
				}
			}
		}
	}
	out := some(near)
	out = append(out, some(apart)...)
	return append(out, some(mirror)...)
}

// some keeps triesPerWay exchanges, spread evenly.
func some(s []swap) []swap {
	if len(s) <= triesPerWay {
		return s
	}
	out := make([]swap, triesPerWay)
	for i := range out {
		out[i] = s[i*len(s)/triesPerWay]
	}
	return out
}

// apply is the sheet with the stretches exchanged; the numbers stay in order.
func (s swap) apply(f, mirror *sheet.File) *sheet.File {
	g := *f
	g.Problems, g.Movements = nil, nil
	ms, from := f.Movements, f.Movements
	if s.mirror {
		from = mirror.Movements
	}
	first, second := from[s.i:s.j], from[s.k:s.l]
	for _, part := range [][]sheet.Movement{ms[:s.i], second, ms[s.j:s.k], first, ms[s.l:]} {
		g.Movements = append(g.Movements, part...)
	}
	for m := range g.Movements {
		g.Movements[m].Number = ms[m].Number
	}
	return &g
}

// mirrored is the sheet with hands and letters across, understood anew so that acts and wording
// agree; where it is not understood alike, the sheet itself, so that no mirror is tried.
func mirrored(f *sheet.File) *sheet.File {
	g := *f
	g.Movements = append([]sheet.Movement(nil), f.Movements...)
	for i, m := range g.Movements {
		parts := append([]sheet.Part(nil), m.Parts...)
		for j := range parts {
			parts[j].Letters, parts[j].Text = mirrorText(parts[j].Letters), mirrorText(parts[j].Text)
		}
		g.Movements[i].Parts = parts
	}
	if out := sheet.Parse(f.Path, []byte(sheet.Print(&g))); len(out.Movements) == len(f.Movements) {
		return out
	}
	return f
}

// across are the letters of the boards with the letter opposite.
var across = strings.NewReplacer("K", "F", "F", "K", "V", "P", "P", "V", "E", "B", "B", "E", "S", "R", "R", "S", "H", "M", "M", "H")

var otherWord = map[string]string{"left": "right", "right": "left", "Left": "Right", "Right": "Left", "LEFT": "RIGHT", "RIGHT": "LEFT"}

// mirrorText exchanges left and right and the letters across in a wording.
func mirrorText(text string) string {
	var b strings.Builder
	word := func(w string) string {
		if o, ok := otherWord[w]; ok {
			return o
		}
		if strings.Trim(w, "AKVESHCMRBPFDLXIG") == "" {
			return across.Replace(w)
		}
		return w
	}
	start := -1
	for i, r := range text + " " {
		if unicode.IsLetter(r) {
			if start < 0 {
				start = i
			}
			continue
		}
		if start >= 0 {
			b.WriteString(word(text[start:i]))
			start = -1
		}
		if i < len(text) {
			b.WriteRune(r)
		}
	}
	return b.String()
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
