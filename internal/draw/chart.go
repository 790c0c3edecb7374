package draw

import (
	"fmt"
	"math"

	"ringcraft/internal/rideplan"
)

// Value is one place of a series: T in seconds on the strip's clock (or any count for a
// Trend), SD its doubt. A NaN value is a hole.
type Value struct{ T, V, SD float64 }

// Series is a line of values over time. Asked is drawn broken, what was ridden unbroken.
type Series struct {
	Label  string
	Values []Value
	Ridden bool
}

// SpeedAsked is the planned speed over the time of the test, in metres per second.
func SpeedAsked(p *rideplan.Plan) Series {
	s := Series{Label: "asked"}
	for _, x := range p.Samples {
		s.Values = append(s.Values, Value{T: float64(x.T), V: float64(x.Speed)})
	}
	return s
}

// Over draws series over the time of the test under the movements' bands, with unit at the
// axis: speed, tempo, distance from the line. With StripOptions.Ride it lies on a ride's clock.
func Over(p *rideplan.Plan, what, unit string, series []Series, o StripOptions) *Scene {
	st := newStrip(p, o, planTitle(p, Options{})+": "+what+" over time", "")
	st.frame(o.Highlight)
	lo, hi := extent(series)
	y := func(v float64) float64 { return st.bottom - (st.bottom-st.top)*(v-lo)/(hi-lo) }
	g := &Group{Class: "graph", Title: what}
	for _, v := range roundSteps(lo, hi) {
		g.Add(Path{Style: Style{Class: "hair", Stroke: InkFaint, Width: 0.15}, Lines: [][]Pt{{{st.ax.x0, y(v)}, {st.ax.x1, y(v)}}}},
			Text{At: Pt{st.ax.x0 - 0.8, y(v) + 0.9}, Size: 2.6, Anchor: End, Class: "soft", Ink: InkSoft, Words: num(v)})
	}
	g.Add(Text{At: Pt{0.5, st.top - 1.6}, Size: 2.6, Class: "soft", Ink: InkSoft, Words: unit})
	for _, s := range series {
		g.Add(seriesGroup(s, st.ax.x, y))
	}
	st.s.Add(g)
	st.clock()
	if o.Mono {
		return st.s.Mono()
	}
	return st.s
}

func seriesGroup(s Series, x, y func(float64) float64) *Group {
	g := &Group{Class: "series", Title: s.Label}
	style := Style{Class: "edge", Stroke: InkMain, Width: 0.45, Dash: []float64{1.6, 0.9}}
	if s.Ridden {
		style = Style{Class: "ridden", Stroke: InkRidden, Width: 0.5, Round: true}
	}
	for _, piece := range unbroken(s.Values) {
		var line, band []Pt
		doubt := false
		for _, v := range piece {
			line = append(line, Pt{x(v.T), y(v.V)})
			band = append(band, Pt{x(v.T), y(v.V + v.SD)})
			doubt = doubt || v.SD > 0
		}
		for i := len(piece) - 1; i >= 0; i-- {
			band = append(band, Pt{x(piece[i].T), y(piece[i].V - piece[i].SD)})
		}
		if doubt {
			g.Add(Path{Style: Style{Class: "doubt", Fill: InkDoubt}, Lines: [][]Pt{band}, Closed: true})
		}
		g.Add(Path{Style: style, Lines: [][]Pt{simplify(line, 0.03)}})
	}
	return g
}

func unbroken(vs []Value) [][]Value {
	var out [][]Value
	a := 0
	for i := 0; i <= len(vs); i++ {
		if i == len(vs) || math.IsNaN(vs[i].V) || math.IsInf(vs[i].V, 0) || math.IsNaN(vs[i].T) {
			if i-a > 1 {
				out = append(out, vs[a:i])
			}
			a = i + 1
		}
	}
	return out
}

func extent(series []Series) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, s := range series {
		for _, v := range s.Values {
			if !math.IsNaN(v.V) && !math.IsInf(v.V, 0) {
				lo, hi = math.Min(lo, v.V-v.SD), math.Max(hi, v.V+v.SD)
			}
		}
	}
	if !(hi > lo) {
		if math.IsInf(lo, 0) {
			return 0, 1
		}
		return lo - 1, lo + 1
	}
	pad := (hi - lo) * 0.06
	return lo - pad, hi + pad
}

// roundSteps returns up to six round numbers between lo and hi.
func roundSteps(lo, hi float64) []float64 {
	raw := (hi - lo) / 4
	pow := math.Pow(10, math.Floor(math.Log10(raw)))
	step := 10 * pow
	for _, k := range []float64{1, 2, 5} {
		if raw <= k*pow {
			step = k * pow
			break
		}
	}
	var out []float64
	for v := math.Ceil(lo/step) * step; v <= hi && len(out) < 8; v += step {
		out = append(out, v)
	}
	return out
}

// TrendPoint is one ride in a trend: its label (a date), value and standard deviation.
type TrendPoint struct {
	Label string
	V, SD float64
}

// Trend draws values over rides as dots with their two-thirds intervals, joined in order.
func Trend(title, unit string, pts []TrendPoint, width float64) *Scene {
	if width <= 0 {
		width = 90
	}
	s := &Scene{W: width, H: 46, Title: title, Desc: trendDesc(unit, pts)}
	s.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, 0, s.W, s.H)}, Closed: true},
		Text{At: Pt{2, 5}, Size: 3.6, Bold: true, Class: "ink", Ink: InkMain, Words: title})
	ser := Series{Ridden: true}
	for i, p := range pts {
		ser.Values = append(ser.Values, Value{T: float64(i), V: p.V, SD: p.SD})
	}
	lo, hi := extent([]Series{ser})
	y := func(v float64) float64 { return 38 - 28*(v-lo)/(hi-lo) }
	ax := timeAxis{t0: -0.5, t1: float64(len(pts)) - 0.5, x0: 11, x1: width - 4}
	for _, v := range roundSteps(lo, hi) {
		s.Add(Path{Style: Style{Class: "hair", Stroke: InkFaint, Width: 0.15}, Lines: [][]Pt{{{ax.x0, y(v)}, {ax.x1, y(v)}}}},
			Text{At: Pt{ax.x0 - 1, y(v) + 0.9}, Size: 2.6, Anchor: End, Class: "soft", Ink: InkSoft, Words: num(v)})
	}
	line := []Pt{}
	lastX := -1e9
	for i, p := range pts {
		if math.IsNaN(p.V) {
			continue
		}
		x := ax.x(float64(i))
		line = append(line, Pt{x, y(p.V)})
		s.Add(Path{Style: Style{Class: "ridden", Stroke: InkRidden, Width: 0.4}, Lines: [][]Pt{{{x, y(p.V - p.SD)}, {x, y(p.V + p.SD)}}}},
			Path{Style: Style{Class: "ridden-fill", Fill: InkRidden}, Lines: [][]Pt{disc(Pt{x, y(p.V)}, 1)}, Closed: true})
		if w := TextWidth(p.Label, 2.6, false); x-w/2 > lastX+1 {
			s.Add(Text{At: Pt{x, 43}, Size: 2.6, Anchor: Middle, Class: "soft", Ink: InkSoft, Words: p.Label})
			lastX = x + w/2
		}
	}
	s.Add(Path{Style: Style{Class: "ridden", Stroke: InkRidden, Width: 0.25, Dash: []float64{1, 1}}, Lines: [][]Pt{line}})
	return s
}

func trendDesc(unit string, pts []TrendPoint) string {
	out := ""
	for _, p := range pts {
		out += fmt.Sprintf("%s: %.1f, give or take %.1f %s. ", p.Label, p.V, p.SD, unit)
	}
	return out
}

// ShareBar is a bar of which a share from 0 to 1 is filled; pattern 0 is full, 1 striped, 2
// dotted, so that bars are told apart without colour.
func ShareBar(w, h, share float64, pattern int) *Scene {
	s := &Scene{W: w, H: h, Title: fmt.Sprintf("%.0f %%", 100*share)}
	fill := w * min(max(share, 0), 1)
	edge := Style{Class: "edge", Stroke: InkMain, Width: 0.3}
	switch pattern {
	case 0:
		s.Add(Path{Style: Style{Class: "ink", Fill: InkMain}, Lines: [][]Pt{box(0, 0, fill, h)}, Closed: true})
	case 1:
		s.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.35}, Lines: hatch(0, 0, fill, h)})
	default:
		var dots [][]Pt
		for x := 1.2; x < fill-0.5; x += 2 {
			for y := 1.2; y < h-0.5; y += 2 {
				dots = append(dots, disc(Pt{x, y}, 0.35))
			}
		}
		s.Add(Path{Style: Style{Class: "ink", Fill: InkMain}, Lines: dots, Closed: true})
	}
	s.Add(Path{Style: Style{Class: "hair", Stroke: InkFaint, Width: 0.2}, Lines: [][]Pt{box(0, 0, w, h)}, Closed: true},
		Path{Style: edge, Lines: [][]Pt{box(0, 0, fill, h)}, Closed: true})
	return s
}
