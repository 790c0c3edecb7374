package draw

import (
	"bytes"
	"fmt"
	"image"
	"math"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"ringcraft/internal/gait"
)

// Letters of names in the languages that dressage sheets are read in most; what the embedded
// face lacks is listed in docs/LOOK.md.
func TestFontCoversLatinGreekCyrillic(t *testing.T) {
	missing := func(from, to rune, tab *unicode.RangeTable) []string {
		var out []string
		for r := from; r <= to; r++ {
			if unicode.Is(tab, r) && unicode.IsLetter(r) && !Covers(r) {
				out = append(out, fmt.Sprintf("%c U+%04X", r, r))
			}
		}
		return out
	}
	for _, c := range []struct {
		name     string
		from, to rune
		tab      *unicode.RangeTable
		lacks    string // known gaps, all outside current alphabets
	}{
		{"Basic Latin and Latin-1", 0x20, 0xFF, unicode.Latin, ""},
		{"Latin Extended-A", 0x100, 0x17F, unicode.Latin, ""},
		{"Greek", 0x386, 0x3CE, unicode.Greek, ""},
		{"Cyrillic", 0x400, 0x45F, unicode.Cyrillic, ""},
		{"Ukrainian Ghe", 0x490, 0x491, unicode.Cyrillic, ""},
	} {
		if got := strings.Join(missing(c.from, c.to, c.tab), ", "); got != c.lacks {
			t.Errorf("%s lacks %q, want %q", c.name, got, c.lacks)
		}
	}
	for _, name := range []string{"Štěpánka Nováková", "Łukasz Żółć", "Jürgen Weiß", "Søren Ærø", "Ağa İnce", "Ελένη Παπαδοπούλου", "Щербакова Ёлка", "Љубица Ђорђевић", "Їжак Ґанок", "–—·…°×±"} {
		for _, r := range name {
			if r != ' ' && !Covers(r) {
				t.Errorf("%s: no shape for %c U+%04X", name, r, r)
			}
		}
	}
	if Covers('馬') {
		t.Error("Covers says yes to everything")
	}
}

// Contrast of WCAG 2.1 (W3C 2018), relative luminance by its formula; two known pairs check
// the formula: black on white is 21, #777777 on white 4.48.
func TestContrast(t *testing.T) {
	for _, c := range []struct {
		a, b Ink
		want float64
	}{{"#000000", "#ffffff", 21}, {"#777777", "#ffffff", 4.48}} {
		if got := Contrast(c.a, c.b); got < c.want-0.01 || got > c.want+0.01 {
			t.Errorf("Contrast(%s, %s) = %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
	for _, k := range []Ink{InkMain, InkSoft, InkWalk, InkTrot, InkCanter, InkRidden} {
		if c := Contrast(k, Paper); c < 7 {
			t.Errorf("%s on paper has a contrast of %.2f, want 7", k, c)
		}
	}
	for _, k := range []Ink{InkWalk, InkTrot, InkCanter} {
		if c := Contrast(k, InkGlow); c < 4.5 {
			t.Errorf("%s on a lit movement has a contrast of %.2f, want 4.5", k, c)
		}
	}
}

// The page's own light and dark tokens keep the same contrasts.
func TestTokensContrast(t *testing.T) {
	token := regexp.MustCompile(`--rc-([a-z]+): (#[0-9a-f]{6})`)
	themes := regexp.MustCompile(`\{[^{}]*--rc-paper:[^{}]*\}`).FindAllString(CSS, -1)
	if len(themes) != 4 { // light, dark by system, dark by choice, print
		t.Fatalf("%d themes found", len(themes))
	}
	for i, block := range themes {
		v := map[string]Ink{}
		for _, m := range token.FindAllStringSubmatch(block, -1) {
			v[m[1]] = Ink(m[2])
		}
		for _, name := range []string{"ink", "soft", "walk", "trot", "canter", "ridden"} {
			if c := Contrast(v[name], v["paper"]); c < 7 {
				t.Errorf("theme %d: %s %s on %s has a contrast of %.2f, want 7", i, name, v[name], v["paper"], c)
			}
		}
		for _, back := range []string{"doubt", "shade", "glow"} {
			for _, name := range []string{"ink", "walk", "trot", "canter"} {
				if c := Contrast(v[name], v[back]); c < 4.5 {
					t.Errorf("theme %d: %s on %s has a contrast of %.2f, want 4.5", i, name, back, c)
				}
			}
		}
	}
}

// A pace is told by its beats before its colour: dashes in a group, one group a stride.
func TestRhythmTellsThePaces(t *testing.T) {
	beats := map[gait.Pace]int{gait.Walk: 4, gait.Trot: 2, gait.Canter: 3}
	for _, v := range gait.Varieties() {
		r := Rhythm(v, 1)
		if want := beats[v.PaceOf()]; len(r) != 2*want {
			t.Errorf("%s has %d dashes in a group, want %d", v, len(r)/2, want)
			continue
		}
		for i, gap := 1, 0.0; i+2 < len(r); i += 2 {
			if gap = r[i]; gap*2 > r[len(r)-1] {
				t.Errorf("%s: the gap between strides (%.2f) is not twice the gap between beats (%.2f)", v, r[len(r)-1], gap)
			}
		}
	}
	if w, c := Rhythm(gait.CollectedCant, 1), Rhythm(gait.ExtendedCant, 1); w[4] >= c[4] {
		t.Error("extended canter is not drawn longer than collected canter")
	}
}

func TestMonoHasNoColour(t *testing.T) {
	s := Plan(willow(), Options{Mono: true, Legend: true, Highlight: 2})
	var walk func(it Item)
	walk = func(it Item) {
		switch it := it.(type) {
		case Path:
			for _, k := range []Ink{it.Stroke, it.Fill} {
				if r, g, b, ok := k.rgb(); ok && (r != g || g != b) {
					t.Fatalf("%s is a colour", k)
				}
			}
		case Text:
			if r, g, b, _ := it.Ink.rgb(); r != g || g != b {
				t.Fatalf("%s is a colour", it.Ink)
			}
		case *Group:
			for _, c := range it.Items {
				walk(c)
			}
		}
	}
	for _, it := range s.Items {
		walk(it)
	}
}

// Without any colour no two signs of the legend look alike: each pair is painted in black
// and white on the same spot, and where only one of them has ink must be a fair share.
func TestSignsDifferWithoutColour(t *testing.T) {
	es := allEntries()
	pictures := make([]image.Image, len(es))
	for i, e := range es {
		s := &Scene{W: 14, H: 7}
		e.draw(&s.Group, 1, 3.5, 1)
		var b bytes.Buffer
		if err := s.Mono().PNG(&b, 280); err != nil {
			t.Fatal(err)
		}
		pictures[i] = decode(t, b.Bytes())
	}
	for i := range es {
		for j := range es[:i] {
			both, one := 0.0, 0.0
			for y := 0; y < 140; y++ {
				for x := 0; x < 280; x++ {
					a, b := darkness(pictures[i], x, y), darkness(pictures[j], x, y)
					both += max(a, b)
					one += math.Abs(a - b)
				}
			}
			if one/both < 0.12 {
				t.Errorf("%q and %q differ in only %.0f %% of their ink", es[i].words, es[j].words, 100*one/both)
			}
		}
	}
}

func TestMissingLetters(t *testing.T) {
	if got := Missing("Štěpánka Ελένη Щербакова 馬場 馬 \u200e\t"); string(got) != "馬場" {
		t.Errorf("missing %q", string(got))
	}
}

// A banner stands above the picture, which keeps its size, and is in the words for screen readers.
func TestBanner(t *testing.T) {
	s := Plan(willow(), Options{Width: 90})
	b := Banner(s, "Not to be ridden from")
	if b.W != s.W || b.H <= s.H || !strings.HasPrefix(b.Desc, "Not to be ridden from") {
		t.Errorf("%g x %g mm: %s", b.W, b.H, b.Desc)
	}
	if Banner(s, "") != s {
		t.Error("no words changed the picture")
	}
}
