package draw

import (
	"math"

	"ringcraft/internal/arena"
	"ringcraft/internal/gait"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// hand builds a plan piece by piece, without the compiler, so that drawings are tested on
// lines that are known exactly.
type hand struct {
	p    *rideplan.Plan
	at   arena.Pose
	m, t float64
	cur  rideplan.Sample
}

func newHand(name string, b *arena.Board) *hand {
	h := &hand{p: &rideplan.Plan{Name: name, Board: b, Inset: 0.8, NoseToBody: 2}}
	h.at = arena.Pose{Point: arena.Point{X: 0, Y: 0.8}, Heading: arena.Degrees(90)}
	h.cur.Variety = gait.WorkingTrot
	return h
}

func (h *hand) movement(n int, letters, text string) {
	h.closeMovement()
	h.p.Movements = append(h.p.Movements, rideplan.Movement{Number: n, Letters: letters, Text: text, Coefficient: 1,
		Reading: text, Span: rideplan.Span{StartS: gait.Seconds(h.t), StartM: arena.Metres(h.m)}})
}

func (h *hand) closeMovement() {
	if k := len(h.p.Movements); k > 0 {
		m := &h.p.Movements[k-1]
		m.EndS, m.EndM = gait.Seconds(h.t), arena.Metres(h.m)
	}
}

func (h *hand) ride(segs ...arena.Segment) {
	f, _ := gait.Lookup(h.cur.Variety)
	n := h.p.Movements[len(h.p.Movements)-1].Number
	for _, g := range segs {
		steps := max(1, int(math.Ceil(float64(g.Length)/0.25)))
		for i := 0; i <= steps; i++ {
			d := float64(g.Length) * float64(i) / float64(steps)
			pose := g.At(arena.Metres(d))
			s := h.cur
			s.Point, s.Heading, s.Curvature = pose.Point, pose.Heading, pose.Curvature
			s.M, s.T = arena.Metres(h.m+d), gait.Seconds(h.t+d/math.Max(float64(f.Speed), 0.1))
			s.Speed, s.Movement = f.Speed, n
			h.p.Samples = append(h.p.Samples, s)
		}
		h.m += float64(g.Length)
		h.t += float64(g.Length) / math.Max(float64(f.Speed), 0.1)
		h.at = g.End()
	}
}

func (h *hand) to(x, y float64) { h.ride(arena.Line(h.at.Point, arena.Point{X: x, Y: y})) }

func (h *hand) arc(r, deg float64) {
	h.ride(arena.Arc(h.at.Point, h.at.Heading, arena.Metres(r), arena.Degrees(deg)))
}

func (h *hand) stand(sec float64) {
	v := h.cur.Variety
	s := h.cur
	s.Variety, s.Point, s.Heading = gait.HaltVariety, h.at.Point, h.at.Heading
	s.M, s.Movement = arena.Metres(h.m), h.p.Movements[len(h.p.Movements)-1].Number
	for _, dt := range []float64{0, sec} {
		s.T = gait.Seconds(h.t + dt)
		h.p.Samples = append(h.p.Samples, s)
	}
	h.t += sec
	h.cur.Variety = v
}

func (h *hand) spin(deg float64) {
	n := 12
	s := h.cur
	s.M, s.Movement, s.Point = arena.Metres(h.m), h.p.Movements[len(h.p.Movements)-1].Number, h.at.Point
	for i := 0; i <= n; i++ {
		s.T, s.Heading = gait.Seconds(h.t+3*float64(i)/float64(n)), h.at.Heading+arena.Degrees(deg*float64(i)/float64(n))
		h.p.Samples = append(h.p.Samples, s)
	}
	h.t += 3
	h.at.Heading = s.Heading
}

func (h *hand) demand(what, letter string, needs, has float64) {
	m := &h.p.Movements[len(h.p.Movements)-1]
	m.Demands = append(m.Demands, rideplan.Demand{What: what, Letter: letter, At: gait.Seconds(h.t), AtM: arena.Metres(h.m),
		Needs: gait.Seconds(needs), Has: gait.Seconds(has), Pressure: needs / has})
}

func (h *hand) figure(k terms.Kind, from float64) {
	m := &h.p.Movements[len(h.p.Movements)-1]
	m.Figures = append(m.Figures, rideplan.Figure{Kind: k, Span: rideplan.Span{StartS: gait.Seconds(from), EndS: gait.Seconds(h.t + 1e9)}})
}

func (h *hand) done() *rideplan.Plan {
	h.closeMovement()
	h.p.Total, h.p.Length = gait.Seconds(h.t), arena.Metres(h.m)
	return h.p
}

// willow is an invented test that uses every sign of the legend.
func willow() *rideplan.Plan {
	h := newHand("Hollow Oak 7 (invented)", arena.Standard60)
	h.movement(1, "A; X", "Enter in collected trot. Halt, salute. Proceed")
	h.cur.Variety = gait.CollectedTrot
	h.to(0, 30)
	h.demand("halt", "X", 2, 6)
	h.stand(4)
	h.movement(2, "C; M-X", "Track right; half-pass right")
	h.to(0, 54.2)
	h.demand("turn", "C", 1.5, 5)
	h.arc(5, -90)
	h.to(6, 59.2)
	h.arc(3.2, -90)
	h.to(9.2, 54)
	h.demand("half-pass", "M", 2.2, 2.4)
	h.cur.Angle, h.cur.Side, h.cur.Bend = arena.Degrees(28), rideplan.Left, rideplan.Right
	h.to(0.5, 30)
	h.cur.Angle, h.cur.Side, h.cur.Bend = 0, "", ""
	h.movement(3, "E; V", "Circle left 10 m; medium trot")
	h.at.Heading = arena.Degrees(-90)
	h.to(0.5, 6)
	h.demand("turn right", "D", 1.4, 3)
	h.arc(5, -90)
	h.to(-6, 0.9)
	h.arc(3.2, -90)
	h.to(-9.2, 30)
	h.demand("circle", "E", 2.1, 1.6)
	h.arc(4.6, -360)
	h.cur.Variety = gait.MediumTrot
	h.to(-9.2, 55)
	h.movement(4, "C; MXK", "Medium walk, free walk across")
	h.cur.Variety = gait.MediumWalk
	h.arc(4, -90)
	h.to(5, 59)
	h.arc(4.2, -90)
	h.cur.Variety = gait.FreeWalk
	h.to(-9.2, 8)
	h.movement(5, "V; P", "Turn on the haunches right; working canter right")
	h.at.Heading = arena.Degrees(-90)
	h.cur.Variety = gait.CollectedWalk
	h.to(-9.2, 4)
	h.arc(3.2, 90)
	h.to(-2, 0.8)
	h.demand("turn on the haunches", "A", 3, 2.4)
	h.spin(180)
	h.cur.Variety, h.cur.Lead = gait.WorkingCant, rideplan.Right
	h.to(-6, 0.8)
	h.arc(3.2, -90)
	h.to(-9.2, 40)
	h.movement(6, "S; F", "Serpentine, counter-canter, flying change at X")
	from := h.t
	h.arc(9.6, -180)
	h.cur.Lead = rideplan.Left
	h.demand("flying change", "R", 1.2, 0.9)
	h.to(9.8, 12)
	h.figure(terms.CounterCanter, from)
	h.movement(7, "A; X; G", "Down the centre line, halt, rein back 4 steps, halt")
	h.cur.Variety, h.cur.Lead = gait.ExtendedTrot, ""
	h.arc(4.9, -180)
	h.to(0, 30)
	h.stand(3)
	b := arena.Line(h.at.Point, arena.Point{X: 0, Y: 32.4})
	b.Start, b.Heading, b.Backward = h.at.Point, h.at.Heading, true
	v := h.cur.Variety
	h.cur.Variety = gait.ReinBackVar
	h.ride(b)
	h.cur.Variety = v
	h.to(0, 54)
	h.stand(4)
	return h.done()
}
