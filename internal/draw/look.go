package draw

import (
	_ "embed"
	"strings"

	"ringcraft/internal/gait"
)

// CSS restyles drawings inside a web page for light and dark: it sets the custom properties
// of the look and ties them to the classes of the SVG. Drawings outside a page do not need it.
//
//go:embed look.css
var CSS string

// The inks of the look on white paper (docs/LOOK.md). Every one that carries a line or words
// has a contrast of at least 7:1; a test holds them to it.
const (
	Paper     Ink = "#ffffff"
	InkMain   Ink = "#14181a"
	InkSoft   Ink = "#4a5256"
	InkFaint  Ink = "#aab3b7"
	InkShade  Ink = "#eef1f2"
	InkWalk   Ink = "#0b4f5c"
	InkTrot   Ink = "#14181a"
	InkCanter Ink = "#8a2f0f"
	InkRidden Ink = "#6d1a60"
	InkDoubt  Ink = "#ead9e8"
	InkGlow   Ink = "#ffd469"
)

// pace classes as they appear in SVG.
func paceClass(v gait.Variety) string {
	p := v.PaceOf()
	if p == "" {
		p = gait.Trot
	}
	return "pace-" + string(p)
}

func paceInk(v gait.Variety) Ink {
	switch v.PaceOf() {
	case gait.Walk:
		return InkWalk
	case gait.Canter:
		return InkCanter
	}
	return InkTrot
}

// Rhythm returns the dashes of a pace in mm: one group of dashes is one stride, four beats
// in walk, two in trot, three in canter with the last one long. The longer the stride of the
// variety, the longer the group. u scales the pattern; it is not to the scale of the arena.
func Rhythm(v gait.Variety, u float64) []float64 {
	var beats []float64
	switch v.PaceOf() {
	case gait.Walk:
		beats = []float64{.13, .075, .13, .075, .13, .075, .13, .255}
	case gait.Trot:
		beats = []float64{.34, .08, .34, .24}
	case gait.Canter:
		beats = []float64{.12, .08, .12, .08, .36, .24}
	default:
		return nil
	}
	f, _ := gait.Lookup(v)
	group := min(max(1.6+f.StrideM*2, 4.6), 8.6) * u
	out := make([]float64, len(beats))
	for i, b := range beats {
		out[i] = b * group
	}
	return out
}

// lineWidth grows with the ground the strides cover, in mm at u = 1.
func lineWidth(v gait.Variety) float64 {
	f, _ := gait.Lookup(v)
	switch f.Form {
	case "collected":
		return 0.75
	case "lengthened":
		return 1.05
	case "medium":
		if f.Pace == gait.Walk {
			return 0.9
		}
		return 1.2
	case "extended":
		return 1.45
	case "free":
		return 1.15
	case "piaffe", "passage":
		return 1.3
	}
	if f.Pace == gait.ReinBack {
		return 0.45
	}
	return 0.9
}

// lineStyle is the style of a variety's line.
func lineStyle(v gait.Variety, u float64) Style {
	return Style{
		Class:  "line " + paceClass(v) + " " + strings.ReplaceAll(string(v), " ", "-"),
		Stroke: paceInk(v), Width: lineWidth(v) * u, Dash: Rhythm(v, u),
	}
}
