package draw

import (
	"ringcraft/internal/arena"
	"ringcraft/internal/rideplan"
)

// Signature draws a test as a sign to recognise it by: the bare line in its boards, without
// letters, rhythm or signs, so that it stays clean at the size of a thumb.
func Signature(p *rideplan.Plan, width float64) *Scene {
	b := p.Board
	if b == nil {
		b = arena.Standard60
	}
	const rim = 1.0
	f := frame{board: b, k: (width - 2*rim) / float64(b.Width), ox: rim, oy: rim, u: width / 46}
	s := &Scene{W: width, H: float64(b.Length)*f.k + 2*rim, Title: planTitle(p, Options{})}
	s.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, 0, s.W, s.H)}, Closed: true})
	var line []Pt
	for _, q := range p.Samples {
		line = append(line, f.pt(q.Point))
	}
	if len(line) > 1 {
		s.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.55 * f.u, Round: true}, Lines: [][]Pt{simplify(line, 0.06)}})
	}
	s.Add(Path{Style: Style{Class: "edge", Stroke: InkMain, Width: 0.9 * f.u}, Lines: [][]Pt{box(rim, rim, s.W-2*rim, s.H-2*rim)}, Closed: true})
	return s
}
