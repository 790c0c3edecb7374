package draw

import (
	"slices"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// FontRegular and FontBold are the typefaces of every PDF and PNG: the Go fonts by Bigelow
// and Holmes (BSD licence). They cover Latin, Greek and Cyrillic (the WGL4 set; the
// coverage test lists what was checked). Letters of other scripts are shown as boxes there;
// in SVG and HTML the reader's own system fonts are used.
var (
	FontRegular = goregular.TTF
	FontBold    = gobold.TTF
)

type typeface struct {
	font *opentype.Font
	mu   sync.Mutex
	buf  sfnt.Buffer
}

var loadFonts = sync.OnceValue(func() [2]*typeface {
	var out [2]*typeface
	for i, ttf := range [][]byte{FontRegular, FontBold} {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic("draw: embedded font: " + err.Error()) // fixed bytes; a test parses them
		}
		out[i] = &typeface{font: f}
	}
	return out
})

func face(bold bool) *typeface {
	if bold {
		return loadFonts()[1]
	}
	return loadFonts()[0]
}

// Covers reports whether the embedded typeface has a shape for r.
func Covers(r rune) bool {
	f := face(false)
	f.mu.Lock()
	defer f.mu.Unlock()
	i, err := f.font.GlyphIndex(&f.buf, r)
	return err == nil && i != 0
}

// Missing returns the characters of words for which the embedded typeface has no shape, each once
// in the order of their first place: on paper and in PNG they are boxes. Spaces, controls and marks
// of direction need none.
func Missing(words string) []rune {
	var out []rune
	for _, r := range words {
		if unicode.IsSpace(r) || unicode.In(r, unicode.C) || Covers(r) || slices.Contains(out, r) {
			continue
		}
		out = append(out, r)
	}
	return out
}

// TextWidth returns the width of one line of text in the unit of size, as set in the
// embedded typeface. System fonts of a browser may be up to about a tenth wider.
func TextWidth(words string, size float64, bold bool) float64 {
	f := face(bold)
	f.mu.Lock()
	defer f.mu.Unlock()
	ppem := fixed.I(1000)
	var sum fixed.Int26_6
	for _, r := range words {
		i, err := f.font.GlyphIndex(&f.buf, r)
		if err != nil {
			continue
		}
		a, err := f.font.GlyphAdvance(&f.buf, i, ppem, font.HintingNone)
		if err == nil {
			sum += a
		}
	}
	return float64(sum) / 64 / 1000 * size
}

// Wrap breaks text into lines no wider than width, at spaces; a longer word is broken after a
// hyphen or dash where it has one and stands alone where it has none.
func Wrap(words string, size, width float64, bold bool) []string {
	var lines []string
	cur := ""
	for _, w := range splitSpaces(words) {
		for i, piece := range hyphenPieces(w, size, width, bold) {
			next := piece
			if cur != "" && i == 0 {
				next = cur + " " + piece
			} else if cur != "" {
				next = cur + piece
			}
			if cur != "" && TextWidth(next, size, bold) > width {
				lines = append(lines, cur)
				next = piece
			}
			cur = next
		}
	}
	if cur != "" {
		lines = append(lines, cur)
	}
	return lines
}

// hyphenPieces cuts a word that is wider than width after its hyphens and dashes.
func hyphenPieces(w string, size, width float64, bold bool) []string {
	if TextWidth(w, size, bold) <= width {
		return []string{w}
	}
	var out []string
	from := 0
	for i, r := range w {
		if end := i + utf8.RuneLen(r); (r == '-' || r == '–' || r == '‑') && end < len(w) {
			out = append(out, w[from:end])
			from = end
		}
	}
	return append(out, w[from:])
}
