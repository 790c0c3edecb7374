package rideplan

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ringcraft/internal/gait"
	"ringcraft/internal/sheet"
)

// Stretches on opposite reins are exchanged in the mirror; what comes out is ridden without
// errors and has fewer habits.
func TestReorderMirrors(t *testing.T) {
	text := lines("1 C Working trot left", "2 E Circle left 10 m", "3 A Circle left 15 m", "4 FXH Change the rein", "5 B Circle right 15 m", "6 A Circle right 20 m", "7 KXM Change the rein",
		"8 E Circle left 10 m", "9 A Circle left 15 m", "10 C Halt")
	p := CompileText("t", text, Options{})
	noErrors(t, p)
	r, ok := Reorder(parse(text), Options{})
	if !ok {
		t.Fatalf("no other order; habits %v", p.Habits())
	}
	q := Compile(r.File, Options{})
	noErrors(t, q)
	checkLine(t, "mirror", q)
	if !r.Mirrored || len(q.Habits()) >= len(p.Habits()) || len(q.Movements) != len(p.Movements) {
		t.Errorf("mirrored %v, %d habits, before %d", r.Mirrored, len(q.Habits()), len(p.Habits()))
	}
}

// Stretches that do not stand side by side change places and keep what lies between.
func TestSwapApart(t *testing.T) {
	f := parse(lines("1 A Working trot left", "2 E Circle left 10 m", "3 A Circle left 15 m", "4 B Circle left 20 m", "5 C Halt"))
	g := swap{1, 2, 3, 4, false}.apply(f, mirrored(f))
	var order []string
	for _, m := range g.Movements {
		order = append(order, fmt.Sprint(m.Number, " ", m.Parts[0].Text))
	}
	want := "1 Working trot left; 2 Circle left 20 m; 3 Circle left 15 m; 4 Circle left 10 m; 5 Halt"
	if got := strings.Join(order, "; "); got != want {
		t.Errorf("%s", got)
	}
}

// Each way of exchanging is found by the states at the borders alone.
func TestSwaps(t *testing.T) {
	l, r := state{rein: Left}, state{rein: Right}
	walk := state{rein: Left, variety: "medium walk"}
	count := func(b ...state) (near, apart, mirror int) {
		for _, s := range swaps(&Plan{begins: b}) {
			switch {
			case s.mirror:
				mirror++
			case s.j == s.k:
				near++
			default:
				apart++
			}
		}
		return near, apart, mirror
	}
	if n, _, _ := count(l, l, l, l); n != 1 {
		t.Errorf("%d neighbours", n)
	}
	if n, a, _ := count(l, l, walk, l, walk); n != 0 || a != 1 {
		t.Errorf("%d neighbours, %d apart", n, a)
	}
	if n, a, m := count(l, l, l, r, r); n != 0 || a != 0 || m != 1 {
		t.Errorf("%d neighbours, %d apart, %d mirrored", n, a, m)
	}
}

// A mirrored wording exchanges hands and letters across, keeps the rest, and is its own inverse.
func TestMirrorText(t *testing.T) {
	for in, want := range map[string]string{
		"K-X-M":                            "F-X-H",
		"Shoulder-in left":                 "Shoulder-in right",
		"Between C & H working canter":     "Between C & M working canter",
		"Half circle right 10 m to X, E–K": "Half circle left 10 m to X, B–F",
		"Circle Left 20 m, on A":           "Circle Right 20 m, on A",
	} {
		if got := mirrorText(in); got != want || mirrorText(got) != in {
			t.Errorf("%q: %q", in, got)
		}
	}
	if p := sheet.Parse("t", []byte("1 "+mirrorText("F-B Shoulder-in left")+"\n")); !strings.Contains(p.Movements[0].Parts[0].Text, "right") {
		t.Error("the mirrored wording is not read")
	}
}

// A sheet in the mirror is ridden in the mirror: same times, same line with the sides changed.
func TestMirroredSheetsAreRiddenMirrored(t *testing.T) {
	for _, path := range sheetFiles(t) {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f := sheet.Parse("t", b)
		p, q := Compile(f, Options{}), Compile(mirrored(f), Options{})
		if math.Abs(float64(p.Total-q.Total)) > 0.01 || len(p.Movements) != len(q.Movements) {
			t.Errorf("%s: %.2f s, in the mirror %.2f s", filepath.Base(path), float64(p.Total), float64(q.Total))
			for i := range p.Movements {
				if i < len(q.Movements) && math.Abs(float64(p.Movements[i].EndS-q.Movements[i].EndS)) > 0.01 {
					t.Logf("first in movement %d: %s | %s", p.Movements[i].Number, p.Movements[i].Reading, q.Movements[i].Reading)
					break
				}
			}
			continue
		}
		for s := gait.Seconds(0); s < p.Total; s += 0.5 {
			a, z := p.SampleAt(s), q.SampleAt(s)
			if math.Abs(a.X+z.X) > 0.02 || math.Abs(a.Y-z.Y) > 0.02 {
				t.Errorf("%s: at %.1f s %v, in the mirror %v", filepath.Base(path), float64(s), a.Point, z.Point)
				break
			}
		}
	}
}
