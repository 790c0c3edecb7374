package rideplan

import (
	"math"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// TestBoxesEndWithTheirFigures: a box that goes on along letters, or from the letter of a
// circle, begins when the figure of the box before is done (common practice, no source).
func TestBoxesEndWithTheirFigures(t *testing.T) {
	const head = "arena: 20 x 60\n1 A Enter in working trot\n  C Track left\n"
	for _, c := range []struct {
		sheet string
		kind  terms.Kind
	}{
		{head + "2 C Serpentine 3 loops\n3 HK Extended trot\n", terms.Serpentine},
		{head + "2 A Circle left 20 m\n3 Between A and F Medium walk\n", terms.Circle},
		{head + "2 E Circle left 20 m\n3 Between E and K Working canter left\n", terms.Circle},
	} {
		p := CompileText("boxes", c.sheet, Options{})
		if sheet.HasErrors(p.Problems) {
			t.Errorf("%q: %v", c.sheet, p.Problems)
			continue
		}
		box := p.Movements[1]
		for _, f := range box.Figures {
			if f.Kind == c.kind && f.EndM > box.EndM+0.01 {
				t.Errorf("%q: the %s ends at %.1f m, its box at %.1f m", c.sheet, c.kind, float64(f.EndM), float64(box.EndM))
			}
		}
	}
}

// TestNoChangeOfLead: the words say that the lead is kept; nothing is changed.
func TestNoChangeOfLead(t *testing.T) {
	for _, words := range []string{"no change of lead", "without change of leg", "keeping the same lead"} {
		p := CompileText("lead", "arena: 20 x 60\n1 A Enter in working trot\n  C Track right\n2 A Working canter right\n3 C Serpentine 3 loops, "+words+"\n", Options{})
		for _, f := range p.Movements[2].Figures {
			if f.Kind == terms.SimpleChange || f.Kind == terms.FlyingChange {
				t.Errorf("%s: read as a %s", words, f.Kind)
			}
		}
		if strings.Contains(p.Movements[2].Reading, "change") {
			t.Errorf("%s: %s", words, p.Movements[2].Reading)
		}
	}
}

// TestHandBeforeTheHaunches: the hand may stand inside the phrase.
func TestHandBeforeTheHaunches(t *testing.T) {
	p := CompileText("turn", "arena: 20 x 60\n1 A Enter in working trot\n  C Track left\n  C Medium walk\n2 E Turn left on the haunches\n", Options{})
	if sheet.HasErrors(p.Problems) {
		t.Fatal(p.Problems)
	}
	for _, f := range p.Movements[1].Figures {
		if f.Kind == terms.TurnOnHaunches && f.Hand == Left {
			return
		}
	}
	t.Errorf("read as %q", p.Movements[1].Reading)
}

// A circle is ridden out before the next box's letter is looked for, also where that letter
// lies on the circle.
func TestCircleIsRiddenOut(t *testing.T) {
	for _, next := range []string{"M Working canter", "H Working canter", "C-H Working canter", "M Halt", "B Circle right 10 m"} {
		p := compileIn(t, "20 x 40", "right", "1 A Working trot", "2 C Circle right 20 m", "3 "+next, "4 A Halt")
		f := p.MovementByNumber(2).Figures[0]
		if got := turned(p, f); math.Abs(got+360) > 2 {
			t.Errorf("%s: the circle turns %.0f degrees before it", next, got)
		}
	}
}

// What is asked on a letter inside the arena, on the circle or before it closes, happens on it.
func TestActsOnTheCircle(t *testing.T) {
	for _, c := range []struct {
		next string
		x, y float64
	}{
		{"X Working canter", 0, 20.8},
		{"when crossing the centre line working canter", 0, 20.8},
		{"before C working canter", -2.95, 38.7},
		{"Between X and C working canter", -9.2, 30},
	} {
		p := compileIn(t, "20 x 40", "right", "1 A Working trot", "2 C Circle right 20 m", "3 "+c.next, "4 A Halt")
		f := figures(p, "transition")
		if len(f) != 1 || f[0].Place.Dist(arena.Point{X: c.x, Y: c.y}) > 0.4 {
			t.Errorf("%s: %v", c.next, f)
		}
	}
}

// turned is the turn of the line over a figure, in degrees, left positive.
func turned(p *Plan, f Figure) float64 {
	sum := 0.0
	last := p.SampleAt(f.StartS).Heading
	for _, s := range p.Samples {
		if s.T > f.StartS && s.T <= f.EndS {
			sum += s.Heading.Diff(last).Deg()
			last = s.Heading
		}
	}
	return sum + p.SampleAt(f.EndS).Heading.Diff(last).Deg()
}

// A turn at the circle's own letter flows into it or out of it: the circle keeps its size and
// place, and the box of the turn spans it.
func TestTurnFlowsIntoCircle(t *testing.T) {
	for _, c := range []struct {
		name   string
		lines  []string
		centre arena.Point
	}{
		{"C after the entry", sheetOf("1 A Enter in working trot", "2 C Track left", "3 C Circle left 20 m", "4 A Halt"), arena.Point{Y: 50}},
		{"C right", sheetOf("1 A Enter in working trot", "2 C Track right", "3 C Circle right 20 m", "4 A Halt"), arena.Point{Y: 50}},
		{"C without the turn said", sheetOf("1 A Enter in working trot", "2 X Working trot", "3 C Circle left 20 m", "4 A Halt"), arena.Point{Y: 50}},
		{"B after a turn across", sheetOf("1 E Working trot left", "2 E Turn left", "3 B Circle right 20 m", "4 A Halt"), arena.Point{Y: 30}},
		{"turn off after it", sheetOf("1 A Working trot left", "2 E Working trot", "3 E Circle left 20 m", "4 E Turn left", "5 B Track left", "6 C Halt"), arena.Point{Y: 30}},
	} {
		p := compileLines(t, Options{}, c.lines...)
		noErrors(t, p)
		f := figures(p, "circle")[0]
		if math.Abs(math.Abs(turned(p, f))-360) > 2 || f.Centre.Dist(c.centre) > 0.01 || math.Abs(float64(f.Asked)-18.4) > 1e-9 {
			t.Errorf("%s: turns %.0f, %v", c.name, turned(p, f), f)
		}
		for _, m := range p.Movements[:len(p.Movements)-1] {
			if m.EndS-m.StartS < leastBox {
				t.Errorf("%s: box %d lasts %.2f s", c.name, m.Number, float64(m.EndS-m.StartS))
			}
		}
	}
}

func sheetOf(l ...string) []string { return l }

func compileIn(t *testing.T, arena, rein string, l ...string) *Plan {
	t.Helper()
	return CompileText("t", "arena: "+arena+"\nrein: "+rein+"\n"+strings.Join(l, "\n")+"\n", Options{})
}

// A change from circle to circle goes over the point between them, from any circle that has
// one beside it, and both circles keep their size.
func TestChangeCircles(t *testing.T) {
	for _, c := range []struct {
		arena string
		lines []string
		over  arena.Point
	}{
		{"20 x 40", sheetOf("1 A Circle left 20 m", "2 A Change from circle to circle", "3 C Circle right 20 m"), arena.Point{Y: 20}},
		{"20 x 40", sheetOf("1 A Circle left 20 m", "2 X Change out of the circle", "3 C Circle right 20 m"), arena.Point{Y: 20}},
		{"20 x 40", sheetOf("1 A Circle left 20 m", "2 X Change the rein onto a 20 m circle right", "3 C Circle right 20 m"), arena.Point{Y: 20}},
		{"20 x 60", sheetOf("1 B Circle left 20 m", "2 Change from circle to circle", "3 C Circle right 20 m"), arena.Point{Y: 40}},
		{"20 x 60", sheetOf("1 E Circle left 20 m", "2 Change from circle to circle", "3 A Circle right 20 m"), arena.Point{Y: 20}},
		{"20 x 60", sheetOf("1 A Circle left 20 m", "2 Change from circle to circle", "3 B Circle right 20 m"), arena.Point{Y: 20}},
		{"20 x 60", sheetOf("1 B Circle left 10 m", "2 X Change from circle to circle", "3 E Circle right 10 m"), arena.Point{Y: 30}},
	} {
		p := compileIn(t, c.arena, "left", c.lines...)
		noErrors(t, p)
		nearest := math.Inf(1)
		for _, s := range p.Samples {
			nearest = math.Min(nearest, float64(s.Point.Dist(c.over)))
		}
		if nearest > 0.2 {
			t.Errorf("%v: passes %.1f m from %v", c.lines, nearest, c.over)
		}
		last := append(figures(p, "circle"), figures(p, "volte")...)
		if f := last[len(last)-1]; f.Hand != Right || math.Abs(turned(p, f)+360) > 2 {
			t.Errorf("%v: %v", c.lines, f)
		}
	}
}

// Half circles from A over X to C in 20 x 40 end at their letters.
func TestHalfCirclesOverX(t *testing.T) {
	p := compileIn(t, "20 x 40", "right", "1 C Half circle right 20 m to X, X half circle left 20 m to A", "2 A Circle left 20 m", "3 C Halt")
	noErrors(t, p)
	fs := figures(p, "half circle")
	x := p.SampleAtM(fs[0].EndM)
	if len(fs) != 2 || x.Dist(arena.Point{Y: 20}) > 0.1 || math.Abs(x.Heading.Unit().Y) > 0.02 {
		t.Errorf("%v, at %v", fs, x.Point)
	}
}

// Lines of an earlier box are ridden to their end before a figure of the next box, also where
// they pass its letter; what only changes the pace happens on the way.
func TestLinesAreRiddenOut(t *testing.T) {
	for _, c := range []struct {
		box, next string
		metres    float64 // how far the second box goes
	}{
		{"C Serpentine of 3 loops, finishing at A", "B Circle left 10 m", 89},
		{"H-K Shoulder-in left", "E Circle left 8 m", 48},
		{"H-K Medium trot", "E Working trot", 24},
	} {
		p := compileLines(t, Options{}, "1 A Working trot left", "2 "+c.box, "3 "+c.next, "4 A Halt")
		noErrors(t, p)
		m := p.MovementByNumber(2)
		if got := float64(m.EndM - m.StartM); got < c.metres-1 || c.metres < 30 && got > c.metres+1 {
			t.Errorf("%s, %s: the box ends after %.1f m, want %.0f", c.box, c.next, got, c.metres)
		}
	}
}

// A figure of eight from the track is two whole circles that touch, where there is room for both.
func TestFigureOfEightFromTheTrack(t *testing.T) {
	for _, c := range []struct {
		arena, line string
		over        arena.Point
		metres      float64
	}{
		{"20 x 40", "A Figure of eight, 20 m circles", arena.Point{Y: 20}, 118.8},
		{"20 x 60", "E Figure of eight, 20 m circles", arena.Point{Y: 20}, 118.8},
		{"20 x 60", "B Figure of eight, 10 m circles", arena.Point{Y: 30}, 57.8},
	} {
		p := compileIn(t, c.arena, "left", "1 A Working trot", "2 "+c.line, "3 A Halt")
		noErrors(t, p)
		f := figures(p, "figure of eight")[0]
		if got := float64(f.EndM - f.StartM); math.Abs(got-c.metres) > 0.5 || math.Abs(turned(p, f)) > 2 {
			t.Errorf("%s: %.1f m, turned %.0f degrees", c.line, got, turned(p, f))
		}
		met := 0
		for i, s := range p.Samples[1:] {
			if s.Point.Dist(c.over) < 0.15 && p.Samples[i].Point.Dist(c.over) >= 0.15 {
				met++
			}
		}
		if met != 2 {
			t.Errorf("%s: passes %v %d times", c.line, c.over, met)
		}
	}
	if p := compileIn(t, "20 x 40", "left", "1 E Figure of eight, 15 m", "2 A Halt"); !sheet.HasErrors(p.Problems) {
		t.Error("a second circle without room is no error")
	}
}
