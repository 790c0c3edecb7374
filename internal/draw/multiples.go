package draw

import (
	"fmt"

	"ringcraft/internal/rideplan"
)

// MultiplesOptions say how to set the pictures of the movements side by side.
type MultiplesOptions struct {
	Width   float64 // mm of the whole; 0: 180
	Columns int     // 0: 6 movements or 3 stages
	Ridden  *Overlay
	Mono    bool
}

// Multiples draws every movement in an arena of its own, in riding order.
func Multiples(p *rideplan.Plan, o MultiplesOptions) *Scene {
	if o.Columns <= 0 {
		o.Columns = 6
	}
	var cells []Options
	for i := range p.Movements {
		cells = append(cells, Options{Movement: p.Movements[i].Number})
	}
	return sideBySide(p, o, cells, ", movement by movement", func(c Options) string { return fmt.Sprint(c.Movement) })
}

// sideBySide sets pictures in rows, each under its heading.
func sideBySide(p *rideplan.Plan, o MultiplesOptions, cells []Options, what string, heading func(Options) string) *Scene {
	if o.Width <= 0 {
		o.Width = 180
	}
	s := &Scene{W: o.Width, Title: p.Name + what}
	paper := &Group{}
	s.Add(paper)
	w, y, rowH := o.Width/float64(o.Columns), 0.0, 0.0
	for i, c := range cells {
		if i%o.Columns == 0 {
			y, rowH = y+rowH, 0
		}
		c.Width, c.Ridden = w-2, o.Ridden
		one := Plan(p, c)
		x := float64(i%o.Columns) * w
		s.Add(Text{At: Pt{x + w/2, y + 5}, Size: 4, Anchor: Middle, Bold: true, Class: "ink", Ink: InkMain, Words: heading(c)})
		s.Embed(one, x+1, y+5, 1)
		rowH = max(rowH, one.H+7)
	}
	s.H = max(y+rowH, 10)
	paper.Add(Path{Style: Style{Class: "paper", Fill: Paper}, Lines: [][]Pt{box(0, 0, s.W, s.H)}, Closed: true})
	if o.Mono {
		return s.Mono()
	}
	return s
}
