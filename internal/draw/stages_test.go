package draw

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/testkit"
)

// compiled is a sheet of the sheets folder.
func compiled(t testing.TB, name string) *rideplan.Plan {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(testkit.Root(t), "sheets", name))
	if err != nil {
		t.Fatal(err)
	}
	return rideplan.CompileText(name, string(text), rideplan.Options{})
}

var realSheets = []string{"willow-ford-elementary.sheet", "published/belgian-m4.sheet", "published/us-fourth-2.sheet", "published/walk-trot-small-arena.sheet", "outlines/grand-prix.sheet"}

// Every movement is in exactly one stage, in riding order, and the bound is kept.
func TestStagesHoldEveryMovementOnce(t *testing.T) {
	for _, name := range realSheets {
		p := compiled(t, name)
		for _, most := range []int{0, 1, 4, 9} {
			next := 0
			stages := Stages(p, most)
			for _, st := range stages {
				if st.First != next || st.Last < st.First {
					t.Fatalf("%s in %d: stage %v follows %d", name, most, st, next)
				}
				next = st.Last + 1
			}
			if next != len(p.Movements) || most > 0 && len(stages) > most {
				t.Errorf("%s in %d: %d stages hold %d of %d movements", name, most, len(stages), next, len(p.Movements))
			}
		}
	}
	if got := Stages(&rideplan.Plan{}, 9); got != nil {
		t.Errorf("an empty plan has stages %v", got)
	}
}

// Twice round the same track is two pictures; once round with a line across is one.
func TestStagesPartWhatIsRiddenTwice(t *testing.T) {
	h := newHand("two laps", arena.Standard60)
	h.at = arena.Pose{Point: arena.Point{X: 9.2, Y: 4}, Heading: arena.Degrees(90)}
	for lap := range 2 {
		for side := range 2 {
			h.movement(2*lap+side+1, "", "side")
			h.ride(arena.Line(h.at.Point, h.at.Point.Add(h.at.Heading.Unit().Mul(52))))
			h.arc(3.2, 90)
			h.ride(arena.Line(h.at.Point, h.at.Point.Add(h.at.Heading.Unit().Mul(12))))
			h.arc(3.2, 90)
		}
	}
	if got := Stages(h.done(), 9); len(got) != 2 || got[0] != (Stage{0, 1}) || got[1] != (Stage{2, 3}) {
		t.Errorf("two laps are cut into %v", got)
	}
}

// Brute-force twin of cutStages: every way to cut a handful of movements.
func TestCutStagesFindsTheCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		most := rapid.IntRange(1, n).Draw(t, "most")
		cost := make([][]float64, n)
		for i := range cost {
			for range n - i {
				cost[i] = append(cost[i], float64(rapid.IntRange(0, 99).Draw(t, "cost")))
			}
		}
		price := func(stages []Stage) float64 {
			sum := 0.0
			for _, s := range stages {
				sum += cost[s.First][s.Last-s.First]
			}
			return sum
		}
		best := math.Inf(1)
		for cuts := range 1 << (n - 1) {
			var all []Stage
			first := 0
			for j := range n {
				if j == n-1 || cuts>>j&1 == 1 {
					all = append(all, Stage{first, j})
					first = j + 1
				}
			}
			if len(all) <= most {
				best = math.Min(best, price(all))
			}
		}
		if got := price(cutStages(cost, n, most)); got != best {
			t.Fatalf("cut for %g, the cheapest is %g", got, best)
		}
	})
}

// In work on two tracks no part of a drawn horse stands outside the boards, in a drawing large
// enough to show it to scale.
func TestBodiesStayInsideTheBoards(t *testing.T) {
	sheetOf := func(line string) *rideplan.Plan {
		return rideplan.CompileText("t", "name: T\narena: 20 x 60\n1 A Enter in collected trot\nC Track right\n2 "+line+"\n", rideplan.Options{})
	}
	plans := map[string]*rideplan.Plan{}
	for _, line := range []string{"M-B shoulder-in right", "M-B travers right", "M-B renvers right", "M-B shoulder-out", "M-B leg-yield", "M-X half-pass right"} {
		plans[line] = sheetOf(line)
	}
	for _, name := range realSheets {
		plans[name] = compiled(t, name)
	}
	for name, p := range plans {
		f := newFrame(p.Board, 0, 0, 110)
		pl := newPlotter(f, p, Options{NoLanes: true})
		lo, hi := f.pt(arena.Point{X: -float64(p.Board.Width) / 2, Y: float64(p.Board.Length)}), f.pt(arena.Point{X: float64(p.Board.Width) / 2})
		seen := 0
		for i, s := range p.Samples {
			if math.Abs(float64(s.Angle)) < 0.03 {
				continue
			}
			seen++
			if bar := pl.body(i); math.Abs(float64(s.Pivot)) > 1 { // forehand or hind legs stay on the line
				if end := min(dist(bar[0], pl.at[i]), dist(bar[len(bar)-1], pl.at[i])); end > 0.25*f.k {
					t.Fatalf("%s: at %.1f m neither end of the body is on the line: %.2f m", name, float64(s.M), end/f.k)
				}
			}
			for _, q := range pl.body(i) {
				if q.X < lo.X || q.X > hi.X || q.Y < lo.Y || q.Y > hi.Y {
					t.Fatalf("%s: at %.1f m a body stands outside: %v", name, float64(s.M), q)
				}
			}
		}
		if seen == 0 && len(name) < 24 {
			t.Errorf("%s: no work on two tracks", name)
		}
	}
}

// What is written on a strip never runs into something else that is written there, and every
// movement has its number or a tick.
func TestStripWordsKeepApart(t *testing.T) {
	for _, name := range realSheets {
		p := compiled(t, name)
		for _, width := range []float64{90, 120, 182} {
			for _, s := range []*Scene{Strip(p, StripOptions{Width: width}), Over(p, "speed", "m/s", []Series{SpeedAsked(p)}, StripOptions{Width: width})} {
				var words []Text
				eachText(s.Items, func(x Text) { words = append(words, x) })
				for i, a := range words {
					for _, b := range words[:i] {
						if boxOf(a).meets(boxOf(b)) {
							t.Errorf("%s, %.0f mm wide, %s: %q at %.1f,%.1f runs into %q at %.1f,%.1f", name, width, s.Title, a.Words, a.At.X, a.At.Y, b.Words, b.At.X, b.At.Y)
						}
					}
				}
			}
		}
	}
}

func eachText(items []Item, f func(Text)) {
	for _, it := range items {
		switch it := it.(type) {
		case Text:
			f(it)
		case *Group:
			eachText(it.Items, f)
		}
	}
}

// Marks at the same place are said on lines of their own.
func TestMarksKeepApart(t *testing.T) {
	p := willow()
	at := p.Samples[300].Point
	s := Plan(p, Options{NoNumbers: true, Marks: []Mark{{Point: at, Kind: "fault", Label: "too large"}, {Point: at, Kind: "fault", Label: "too slow"}, {Point: at, Kind: "note", Label: "crooked"}}})
	var words []Text
	eachText(s.Items, func(x Text) {
		if len(x.Words) > 4 {
			words = append(words, x)
		}
	})
	if len(words) != 3 {
		t.Fatalf("%d words", len(words))
	}
	for i, a := range words {
		for _, b := range words[:i] {
			if boxOf(a).meets(boxOf(b)) {
				t.Errorf("%q is written over %q", a.Words, b.Words)
			}
		}
	}
}

// TestWordsLeaveSignsInSight: the words of a mark beside the sign of another one go to its other side or
// to another line, and no words are written over a sign.
func TestWordsLeaveSignsInSight(t *testing.T) {
	p := willow()
	middle := float64(p.Board.Length) / 2
	marks := []Mark{{Point: arena.Point{X: -5, Y: middle}, Kind: "fault", Label: "too large", Movement: 3},
		{Point: arena.Point{Y: middle}, Kind: "fault", Label: "too small", Movement: 7}, {Point: arena.Point{X: 4, Y: middle}, Kind: "note", Label: "late", Movement: 5}}
	f := newFrame(p.Board, 0, 0, 100)
	words := 0
	eachText(Plan(p, Options{Width: 100, NoNumbers: true, Marks: marks}).Items, func(x Text) {
		if !strings.Contains(x.Words, ": ") {
			return
		}
		words++
		for _, m := range marks {
			if boxOf(x).near(signRadius * f.u)(f.pt(m.Point)) {
				t.Errorf("%q is written over the sign at %v", x.Words, m.Point)
			}
		}
	})
	if words < 2 {
		t.Errorf("%d marks have words", words)
	}
}

func TestLongWordsBreakAtDashes(t *testing.T) {
	lines := Wrap("the transitions passage–piaffe–passage", 3, 30, false)
	for _, l := range lines {
		if TextWidth(l, 3, false) > 30 {
			t.Errorf("%q is wider than 30 mm: %q", l, lines)
		}
	}
}

// A way of riding never hides a halt: the square at X of an entry is seen in every size.
func TestHaltsStayInSight(t *testing.T) {
	for _, name := range realSheets {
		p := compiled(t, name)
		for _, st := range Stages(p, 9) {
			for _, width := range []float64{30, 60, 110} {
				pl := newPlotter(newFrame(p.Board, 0, 0, width), p, Options{Stage: &st})
				g := &Group{}
				pl.into(g)
				eachPath(g.Items, func(q Path) {
					if len(q.Class) > 3 && q.Class[:4] == "way " && len(q.Lines[0]) == 3 {
						tip := q.Lines[0][0]
						for _, h := range pl.halted {
							if dist(tip, h) < 1.2*pl.u {
								t.Errorf("%s, %s, %.0f mm wide: an arrow on the halt at %v", name, st.Words(p), width, h)
							}
						}
					}
				})
			}
		}
	}
}

func eachPath(items []Item, f func(Path)) {
	for _, it := range items {
		switch it := it.(type) {
		case Path:
			f(it)
		case *Group:
			eachPath(it.Items, f)
		}
	}
}

// Words of marks at the boards stay inside them, apart, begin with their movement and stand within a
// line of their place: of many marks at one place the later ones keep their sign alone, since words that
// wander off are read as those of another sign.
func TestMarksStayInside(t *testing.T) {
	p := willow()
	half := float64(p.Board.Width) / 2
	var marks []Mark
	for i := range 4 {
		marks = append(marks, Mark{Point: arena.Point{X: half, Y: float64(p.Board.Length) / 2}, Kind: "fault", Label: "too little difference between the paces", Movement: i + 1},
			Mark{Point: arena.Point{X: 1.5, Y: 1}, Kind: "fault", Label: "not in its place", Movement: i + 1})
	}
	for _, width := range []float64{60, 100, 180} {
		f := newFrame(p.Board, 0, 0, width)
		lo, hi := f.corners()
		s := Plan(p, Options{Width: width, NoNumbers: true, Marks: marks})
		var said []area
		eachText(s.Items, func(x Text) {
			if len(x.Words) <= 4 {
				return
			}
			b := boxOf(x)
			if !strings.Contains(x.Words, ": ") || b.x0 < lo.X || b.x1 > hi.X || b.y0 < lo.Y || b.y1 > hi.Y || slices.ContainsFunc(said, b.meets) {
				t.Errorf("width %g: %q at %+v, boards %+v %+v", width, x.Words, b, lo, hi)
			}
			said = append(said, b)
			if y := min(math.Abs(x.At.Y-f.pt(marks[0].Point).Y), math.Abs(x.At.Y-f.pt(marks[1].Point).Y)); y > 2.5*x.Size {
				t.Errorf("width %g: %q stands %.1f mm above or below its place", width, x.Words, y)
			}
		})
		if len(said) < 3 {
			t.Errorf("width %g: %d words for %d marks at two places", width, len(said), len(marks))
		}
	}
}
