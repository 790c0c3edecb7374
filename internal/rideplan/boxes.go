package rideplan

import (
	"math"
	"strings"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/terms"
)

// leastBox is the shortest time a box that asks something spans, seconds: what a judge can
// see of a change of pace that leads up to its letter (common practice, no source).
const leastBox = 1.0

// border is where one box ends and the next begins.
type border struct {
	t gait.Seconds
	m float64
}

// movements fills the boxes with their spans; together they cover the whole line.
func (c *compiler) movements(tl *timeline) {
	bs := c.borders(tl)
	for i, m := range c.file.Movements {
		mv := Movement{Number: m.Number, Coefficient: m.Coefficient, MaxMark: m.MaxMark, Line: m.Line, Reading: strings.Join(c.reading[i], " ")}
		mv.Letters, mv.Text = joinParts(m)
		mv.Words = wordsInOrder(m)
		for _, p := range m.Parts {
			if p.Directive != "" {
				mv.Directives = append(mv.Directives, p.Directive)
			}
		}
		mv.StartS, mv.StartM = bs[i].t, arena.Metres(bs[i].m)
		mv.EndS, mv.EndM = bs[i+1].t, arena.Metres(bs[i+1].m)
		c.plan.Movements = append(c.plan.Movements, mv)
	}
}

// borders puts the beginnings of the boxes on the clock. A box whose letter is also the next
// one's would have no length. With a turn ("C track left", then "C circle left") it takes the
// turn that leads up to its letter, with a change of pace also the second after it, in the new
// pace; anything else takes the second before.
func (c *compiler) borders(tl *timeline) []border {
	n := len(c.file.Movements)
	bs := make([]border, n+1)
	for i := 1; i < n; i++ {
		bs[i].t, bs[i].m = tl.at(c.starts[i])
	}
	bs[n] = border{tl.total, tl.length()}
	for i := range n {
		if bs[i+1].t-bs[i].t < leastBox && c.asks(i) {
			c.widen(tl, bs, i)
		}
	}
	return bs
}

// asks reports whether something is ridden in box i.
func (c *compiler) asks(i int) bool {
	for _, a := range c.acts {
		if a.mov == i && a.Kind != "judged" {
			return true
		}
	}
	return false
}

// widen gives box i room. The boxes beside it keep at least half of their time.
func (c *compiler) widen(tl *timeline, bs []border, i int) {
	need := gait.Seconds(leastBox)
	if i+2 < len(bs) && (i == 0 || c.changes(i) && !c.turns(i) && !c.beginsTurning(i+1)) {
		bs[i+1] = tl.border(min(bs[i+1].t+need, (bs[i+1].t+bs[i+2].t)/2))
		need = bs[i+1].t - bs[i].t + 0.4
	}
	if a, ok := tl.line.turnBefore(c.starts[i].s); ok && c.turns(i) {
		need = max(need, bs[i+1].t-tl.timeAt(a))
	}
	if i == 0 {
		return
	}
	bs[i] = tl.border(max(bs[i+1].t-need, (bs[i-1].t+bs[i].t)/2))
}

// turns reports whether box i asks a turn.
func (c *compiler) turns(i int) bool {
	return c.figureIn(i, terms.Track) || c.figureIn(i, terms.TurnAcross) || c.figureIn(i, terms.CentreLine)
}

// beginsTurning reports whether box i begins with a turn at its letter.
func (c *compiler) beginsTurning(i int) bool {
	for _, d := range c.drafts {
		turn := d.Kind == terms.Track || d.Kind == terms.TurnAcross || d.Kind == terms.CentreLine
		if d.mov == i && turn && math.Abs(d.from.s-c.starts[i].s) < 1 {
			return true
		}
	}
	return false
}

// changes reports whether box i asks another pace or lead.
func (c *compiler) changes(i int) bool {
	return c.figureIn(i, terms.Transition) || c.figureIn(i, terms.FlyingChange) || c.figureIn(i, terms.SimpleChange)
}

func (c *compiler) figureIn(i int, k terms.Kind) bool {
	for _, d := range c.drafts {
		if d.mov == i && d.Kind == k {
			return true
		}
	}
	return false
}

// border is the place on the line at time t.
func (tl *timeline) border(t gait.Seconds) border {
	st := tl.stations
	for i := 1; i < len(st); i++ {
		if st[i].t >= t && st[i].t > st[i-1].t {
			f := float64((t - st[i-1].t) / (st[i].t - st[i-1].t))
			return border{t, st[i-1].s + math.Max(0, f)*(st[i].s-st[i-1].s)}
		}
	}
	return border{tl.total, tl.length()}
}

// turnBefore is the final metre where the rounded turn about nominal metre s begins.
func (o *rounded) turnBefore(s float64) (float64, bool) {
	for i := 0; i+1 < len(o.nominal); i++ {
		if a, b := o.nominal[i], o.nominal[i+1]; a < s-1e-6 && b >= s-1e-6 {
			return o.final[i], s-a < 8
		}
	}
	return 0, false
}
