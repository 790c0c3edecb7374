package rideplan

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
)

// Every sheet of the project, at several insets and for several horses: the promises of the
// line hold.
func TestPromisesOfTheLine(t *testing.T) {
	for _, path := range sheetFiles(t) {
		for _, inset := range []float64{0, 0.4, 0.8, 1.2} {
			p := compileFile(t, path, at(inset))
			checkLine(t, filepath.Base(path), p)
		}
		pony := Options{Horse: gait.Profile{Pony: true}}
		checkLine(t, "pony "+filepath.Base(path), compileFile(t, path, pony))
	}
}

// Every sheet of the project compiles without an error: published facts, outlines, and the
// wordings of several countries.
func TestSheetsCompileWithoutErrors(t *testing.T) {
	for _, path := range sheetFiles(t) {
		p := compileFile(t, path, Options{})
		noErrors(t, p)
		for _, m := range p.Movements {
			if m.Reading == "" {
				t.Errorf("%s: movement %d has no reading", filepath.Base(path), m.Number)
			}
		}
	}
}

// Closed forms at inset 0 (facts of the arena: rules of national bodies and FEI; the derived
// lengths are plain geometry). One figure is ridden, its span is the length.
func TestClosedForms(t *testing.T) {
	round := func(d float64) float64 { return math.Pi * d }
	tests := []struct {
		name   string
		sheet  []string
		kind   string
		length float64
		tol    float64
		radius float64 // of the rounding at both ends of a slanting line
		angle  float64 // degrees of the kinks there
	}{
		{"circle 20 at A", []string{"1 A Working trot left", "2 A Circle left 20 m"}, "circle", round(20), 1e-6, 0, 0},
		{"circle 15 at C", []string{"1 C Working trot left", "2 C Circle left 15 m"}, "circle", round(15), 1e-6, 0, 0},
		{"volte 10 at B", []string{"1 B Collected trot left", "2 B Volte left 10 m"}, "volte", round(10), 1e-6, 0, 0},
		{"volte 8 at E", []string{"1 E Collected trot right", "2 E Volte right 8 m"}, "volte", round(8), 1e-6, 0, 0},
		{"volte 6 at X", []string{"1 A Enter in collected trot", "2 X Volte left 6 m"}, "volte", round(6), 1e-6, 0, 0},
		{"half circle 10 B to X", []string{"1 F Collected trot left", "2 B Half circle left 10 m to X"}, "half circle", round(10) / 2, 1e-6, 0, 0},
		{"half circle 20 E to B", []string{"1 K Working trot right", "2 E Half circle right 20 m to B"}, "half circle", round(20) / 2, 1e-6, 0, 0},
		{"long diagonal", []string{"1 C Working trot right", "2 MXK Change rein", "3 A Working trot"}, "diagonal", 52.0, 1e-3, 5, 22.62},
		{"short diagonal H-B", []string{"1 C Working trot left", "2 H-B Change rein", "3 F Working trot"}, "diagonal", math.Hypot(20, 24), 1e-3, 5, 39.81},
		{"diagonal over three gaps M-V", []string{"1 C Working trot right", "2 M-V Change rein", "3 K Working trot"}, "diagonal", math.Hypot(20, 36), 1e-3, 5, 29.05},
		{"half-pass K-X", []string{"1 A Collected trot right", "2 K-X Half-pass right", "3 G Collected trot"}, "half-pass", 26.0, 1e-3, 3, 22.62},
		{"half-pass D-H", []string{"1 A Enter in collected trot", "2 D-H Half-pass left", "3 C Collected trot"}, "half-pass", math.Hypot(10, 48), 1e-3, 3, 11.77},
		{"entry to X", []string{"1 A Enter in working trot", "2 X Halt, salute"}, "entry", 30, 1e-6, 0, 0},
	}
	for _, c := range tests {
		p := compileLines(t, at(0), c.sheet...)
		noErrors(t, p)
		fs := figures(p, c.kind)
		if len(fs) != 1 {
			t.Errorf("%s: %d figures of kind %s", c.name, len(fs), c.kind)
			continue
		}
		// The figure runs from the middle of one rounding to the middle of the other; each
		// half arc is r*a/2 long where the two straights were r*tan(a/2).
		a := c.angle * math.Pi / 180
		want := c.length - 2*(c.radius*math.Tan(a/2)-c.radius*a/2)
		if got := float64(fs[0].EndM - fs[0].StartM); math.Abs(got-want) > c.tol {
			t.Errorf("%s: %.4f m, want %.4f (%.4f before rounding)", c.name, got, want, c.length)
		}
	}
}

// Board sizes and asked sizes: the inset comes off once per wall touched.
func TestAskedSizes(t *testing.T) {
	tests := []struct {
		name          string
		sheet         []string
		nominal, want float64
		centre        arena.Point
	}{
		{"20 m at A: both long sides", []string{"1 A Working trot left", "2 A Circle left 20 m"}, 20, 18.4, arena.Point{X: 0, Y: 10}},
		{"20 m at C", []string{"1 C Working trot right", "2 C Circle right 20 m"}, 20, 18.4, arena.Point{X: 0, Y: 50}},
		{"20 m at E: both long sides", []string{"1 E Working trot left", "2 E Circle left 20 m"}, 20, 18.4, arena.Point{X: 0, Y: 30}},
		{"20 m at B", []string{"1 B Working trot left", "2 B Circle left 20 m"}, 20, 18.4, arena.Point{X: 0, Y: 30}},
		{"15 m at A: one wall", []string{"1 A Working trot left", "2 A Circle left 15 m"}, 15, 14.2, arena.Point{X: 0, Y: 7.9}},
		{"10 m at B: one wall", []string{"1 B Working trot left", "2 B Circle left 10 m"}, 10, 9.2, arena.Point{X: 4.6, Y: 30}},
		{"8 m at E: one wall", []string{"1 E Collected trot left", "2 E Circle left 8 m"}, 8, 7.2, arena.Point{X: -5.6, Y: 30}},
		{"8 m at X: no wall", []string{"1 A Enter in collected trot", "2 X Circle right 8 m"}, 8, 8, arena.Point{X: 4, Y: 30}},
		{"10 m at X: one wall", []string{"1 A Enter in collected trot", "2 X Circle left 10 m"}, 10, 9.2, arena.Point{X: -4.6, Y: 30}},
	}
	for _, c := range tests {
		p := compileLines(t, at(0.8), c.sheet...)
		noErrors(t, p)
		fs := append(figures(p, "circle"), figures(p, "volte")...)
		if len(fs) != 1 {
			t.Errorf("%s: %d circles", c.name, len(fs))
			continue
		}
		f := fs[0]
		if float64(f.Nominal) != c.nominal || math.Abs(float64(f.Asked)-c.want) > 1e-9 || f.Centre.Dist(c.centre) > 1e-6 {
			t.Errorf("%s: nominal %.2f asked %.3f centre %v, want %.2f %.3f %v", c.name, f.Nominal, f.Asked, f.Centre, c.nominal, c.want, c.centre)
		}
	}
}

// On a diagonal a transition is asked when the nose reaches the track.
func TestTransitionAtTheEndOfADiagonal(t *testing.T) {
	p := compileLines(t, at(0.8), "1 M Working trot right", "2 MXK Change rein in medium trot", "  K Working trot", "3 A Walk")
	noErrors(t, p)
	tr := figures(p, "transition")
	k := arena.Point{X: -9.2, Y: 6}
	if d := float64(tr[1].Place.Dist(k)); math.Abs(d-gait.DefaultNoseToBody) > 0.01 {
		t.Errorf("transition asked %.3f m before K, want %.3f", d, gait.DefaultNoseToBody)
	}
	s := p.SampleAtM(tr[1].StartM + 0.05)
	if s.Variety != gait.WorkingTrot {
		t.Errorf("variety just after the place is %s", s.Variety)
	}
}

// A change of speed has its middle at the letter.
func TestMiddleOfAChangeOfSpeed(t *testing.T) {
	p := compileLines(t, at(0.8), "1 C Working trot left", "2 S-V Medium trot", "  V Working trot", "3 A Walk")
	fast, _ := gait.Lookup(gait.MediumTrot)
	slow, _ := gait.Lookup(gait.WorkingTrot)
	for _, f := range figures(p, "transition")[:2] {
		if v := float64(p.SampleAtM(f.StartM).Speed); math.Abs(v-float64(fast.Speed+slow.Speed)/2) > 0.05 {
			t.Errorf("speed at %s is %.2f, want the middle of %.2f and %.2f", f.At, v, fast.Speed, slow.Speed)
		}
	}
}

// Corners are a quarter of a 6 m volte in collected paces and larger in the others.
func TestCornerRadius(t *testing.T) {
	for _, c := range []struct {
		v    string
		want float64
	}{{"collected trot", 3}, {"collected canter", 3}, {"medium trot", 5}, {"working trot", 5}, {"medium walk", 3}} {
		start := "1 F " + c.v + " left"
		if c.v == "medium trot" {
			start = "1 F Working trot left\n F-M medium trot"
		}
		p := compileLines(t, at(0.8), start, "2 E Halt")
		r := math.Inf(1)
		for _, g := range p.Path {
			if g.Curvature != 0 {
				r = math.Min(r, 1/math.Abs(g.Curvature))
			}
		}
		if math.Abs(r-c.want) > 1e-6 {
			t.Errorf("%s: corner radius %.3f, want %.1f", c.v, r, c.want)
		}
	}
}

// A horse's own figures and a pony's height rescale time and strides.
func TestHorseRescales(t *testing.T) {
	l := []string{"1 A Enter in working trot", "2 C Track left", "3 HXF Change rein", "4 A Down the centre line", "  X Halt, salute"}
	usual := compileLines(t, Options{}, l...)
	quick := Options{Horse: gait.Profile{Varieties: map[gait.Variety]gait.ProfileFigures{gait.WorkingTrot: {StrideM: 2.2, TempoHz: 1.5}}}}
	own := compileLines(t, quick, l...)
	pony := compileLines(t, Options{Horse: gait.Profile{HeightM: 1.30}}, l...)
	if own.Total <= usual.Total || pony.Total <= usual.Total {
		t.Errorf("slower horses are not slower: usual %.1f own %.1f pony %.1f s", usual.Total, own.Total, pony.Total)
	}
	sum := func(p *Plan) (n float64) {
		for _, m := range p.Movements {
			n += m.Strides
		}
		return n
	}
	if sum(pony) <= sum(usual)*1.1 {
		t.Errorf("a pony takes %.0f strides, the usual horse %.0f", sum(pony), sum(usual))
	}
}

// Speed never changes faster than the data allows, and never jumps.
func TestSpeedIsContinuous(t *testing.T) {
	p := compileLines(t, Options{}, "1 A Enter in collected canter", " X Halt, salute, collected trot", "2 C Track left", "3 HXF extended trot", " F collected trot", "4 A Halt")
	for i := 1; i < len(p.Samples); i++ {
		a, b := p.Samples[i-1], p.Samples[i]
		if acc := math.Abs(float64(b.Speed-a.Speed)) / float64(b.T-a.T); acc > 1.6 {
			t.Errorf("speed changes at %.2f m/s^2 at %.1f s", acc, b.T)
		}
	}
}

// Lateral stance: shoulder-in right is bent right with the forehand to the right of the line;
// half-pass right is bent right and travels right of the body.
func TestLateralStance(t *testing.T) {
	p := compileLines(t, Options{}, "1 M Collected trot right", "2 M-B Shoulder-in right", "3 K-X Half-pass right", "4 G Collected trot")
	noErrors(t, p)
	si := p.SampleAtM((figures(p, "shoulder-in")[0].StartM + figures(p, "shoulder-in")[0].EndM) / 2)
	if si.Bend != Right || si.Side != Right || math.Abs(si.Angle.Deg()-30) > 1e-9 {
		t.Errorf("shoulder-in right: bend %s side %s angle %.1f", si.Bend, si.Side, si.Angle.Deg())
	}
	hp := figures(p, "half-pass")[0]
	s := p.SampleAtM((hp.StartM + hp.EndM) / 2)
	body := s.Heading + s.Angle // forehand left of the line of travel
	if s.Bend != Right || s.Side != Left || math.Abs(body.Diff(arena.Degrees(90)).Deg()) > 0.01 {
		t.Errorf("half-pass right: bend %s side %s body %.1f", s.Bend, s.Side, body.Deg())
	}
}

// A sheet of 500 movements and one of a megabyte end in diagnostics, not in a crash.
func TestLargeSheets(t *testing.T) {
	var text strings.Builder
	text.WriteString("arena: 20 x 60\n")
	for i := 1; i <= 500; i += 2 {
		fmt.Fprintf(&text, "%d C Working trot left\n%d A Circle left 20 m\n", i, i+1)
	}
	p := CompileText("big", text.String(), Options{})
	if len(p.Movements) != 500 {
		t.Errorf("%d movements", len(p.Movements))
	}
	checkLine(t, "big", p)
	mega := "arena: 20 x 60\r1 A Enter in working trot\r\n" + strings.Repeat("   Ω половина круга ∂ 20 m\n", 1<<20/40)
	q := CompileText("mega", mega, Options{})
	if !sheet.HasErrors(q.Problems) && len(q.Problems) == 0 {
		t.Error("a megabyte of other words gives no problem")
	}
}
