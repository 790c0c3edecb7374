package rideplan

import (
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// words that random sheets are made of: every figure, pace and way of naming a place.
var (
	someLetters = []string{"A", "K", "V", "E", "S", "H", "C", "M", "R", "B", "P", "F", "D", "L", "X", "I", "G"}
	someActs    = []string{"enter in working trot", "halt", "halt, salute", "proceed in collected trot", "track left", "track right",
		"turn left", "turn right", "turn", "down the centre line", "change rein", "circle left 20 m", "circle right 10 m", "volte left 6 m",
		"circle", "half circle left 10 m", "half circle right 15 m returning to the track", "half circle right 20 m", "figure of eight 10 m",
		"serpentine 3 loops", "serpentine 4 loops", "serpentine 5 loops 5 m either side of the centre line", "loop 5 m", "double loop 3 m",
		"change through the circle", "change out of the circle", "leg-yield left", "leg-yield right to the track", "shoulder-in right",
		"shoulder-in left", "travers", "renvers", "half-pass right", "half-pass left to the centre line", "half-pass left to the quarter line",
		"zig-zag 4-8-8-4", "5 half-passes to either side of the centre line", "turn on the haunches", "half-pirouette left", "pirouette right",
		"quarter pirouette", "rein back 4 steps", "rein back 12 steps", "working canter left", "collected canter", "medium walk",
		"free walk on a long rein", "medium trot", "extended canter", "simple change", "flying change", "3 flying changes every 4th stride",
		"15 flying changes every stride", "counter-canter", "allow the horse to stretch", "give and retake the reins", "lengthen strides",
		"piaffe 12 steps", "passage", "quarter line", "out of the corner turn back", "straight ahead", "once round", "3-5 walk steps",
		"change leg through trot", "change", "leave the arena"}
	someForms = []string{"%s %a", "%s-%s %a", "%s%s%s %a", "between %s and %s %a", "before %s %a", "after %s %a", "over %s %a", "%a",
		"%s %a, %a", "%s %a at %s", "%s %a. %a", "%s %a to %s", "%a, at %s %a", "each time crossing the centre line %a", "%s %a, in the first half of the circle %a"}
)

func randomSheet(t *rapid.T) string {
	var b strings.Builder
	b.WriteString(rapid.SampledFrom([]string{"arena: 20 x 60\n", "arena: 20 x 40\n"}).Draw(t, "arena"))
	if rapid.Bool().Draw(t, "enter") {
		b.WriteString("1 A Enter in working trot\n")
	}
	n := rapid.IntRange(1, 14).Draw(t, "lines")
	for i := 0; i < n; i++ {
		f := rapid.SampledFrom(someForms).Draw(t, "form")
		for strings.Contains(f, "%s") {
			f = strings.Replace(f, "%s", rapid.SampledFrom(someLetters).Draw(t, "letter"), 1)
		}
		for strings.Contains(f, "%a") {
			f = strings.Replace(f, "%a", rapid.SampledFrom(someActs).Draw(t, "act"), 1)
		}
		if rapid.Bool().Draw(t, "numbered") {
			b.WriteString(string(rune('0'+(i+2)%10)) + " ")
		} else {
			b.WriteString("  ")
		}
		b.WriteString(f + "\n")
	}
	return b.String()
}

// saysSo reports whether an error names the impossible line: a random sheet may ask for one.
func saysSo(p *Plan) bool {
	for _, q := range p.Problems {
		if strings.Contains(q.Message, "no horse can make it") || strings.Contains(q.Message, "leave the arena here") {
			return true
		}
	}
	return false
}

// Any sheet, however contradictory, gives a line that keeps its promises, or an error that
// says where the line cannot be ridden.
func TestAnySheetKeepsThePromises(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := randomSheet(rt)
		inset := rapid.SampledFrom([]float64{0, 0.8, 1.2}).Draw(rt, "inset")
		p := CompileText("random", text, at(inset))
		inner := &recorder{}
		checkInto(inner, p)
		if inner.first != "" && !saysSo(p) {
			rt.Fatalf("%s\n%s", inner.first, text)
		}
	})
}

func FuzzCompile(f *testing.F) {
	for _, path := range sheetFiles(f) {
		b, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(b))
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 5000 {
			return
		}
		p := CompileText("fuzz", text, Options{})
		inner := &recorder{}
		checkInto(inner, p)
		if inner.first != "" && !saysSo(p) {
			t.Fatal(inner.first)
		}
	})
}
