package report

import (
	"fmt"

	"ringcraft/internal/arena"
	"ringcraft/internal/diagnose"
	"ringcraft/internal/gait"
	"ringcraft/internal/judging"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/terms"
)

// tinyPlan is built by hand: centre line, circle, long side, halt. Invented.
func tinyPlan() *rideplan.Plan {
	p := &rideplan.Plan{Name: "Brook End 3 (invented)", Board: arena.Small40, Inset: 0.8, MaxPoints: 60,
		Collectives: []rideplan.Collective{{Name: "Rider", Coefficient: 2}}}
	type part struct {
		letters, text string
		v             gait.Variety
		path          arena.Path
		coefficient   int
	}
	parts := []part{
		{"A; C", "Enter in working trot; Track right", gait.WorkingTrot, arena.Path{arena.Line(arena.Point{Y: 0.8}, arena.Point{Y: 34}), arena.Arc(arena.Point{Y: 34}, arena.Degrees(90), 4.6, arena.Degrees(-90))}, 1},
		{"B", "Circle right 15 m", gait.WorkingTrot, arena.Path{arena.Arc(arena.Point{X: 9.2, Y: 20}, arena.Degrees(-90), 7.1, arena.Degrees(-360))}, 2},
		{"F", "Medium walk", gait.MediumWalk, arena.Path{arena.Line(arena.Point{X: 9.2, Y: 20}, arena.Point{X: 9.2, Y: 4})}, 1},
		{"X", "Halt. Salute", gait.WorkingTrot, arena.Path{arena.Line(arena.Point{Y: 4}, arena.Point{Y: 20})}, 1},
	}
	m, t := 0.0, 0.0
	for i, q := range parts {
		f, _ := gait.Lookup(q.v)
		mv := rideplan.Movement{Number: i + 1, Letters: q.letters, Text: q.text, Coefficient: q.coefficient, Reading: "reads: " + q.text, Line: i + 3,
			Span: rideplan.Span{StartS: gait.Seconds(t), StartM: arena.Metres(m)}}
		length := float64(q.path.Length())
		for d := 0.0; ; d += 0.25 {
			d = min(d, length)
			pose := q.path.At(arena.Metres(d))
			p.Samples = append(p.Samples, rideplan.Sample{M: arena.Metres(m + d), T: gait.Seconds(t + d/float64(f.Speed)), Point: pose.Point,
				Heading: pose.Heading, Curvature: pose.Curvature, Movement: i + 1, Variety: q.v, Speed: f.Speed})
			if d == length {
				break
			}
		}
		m, t = m+length, t+length/float64(f.Speed)
		mv.EndS, mv.EndM, mv.Strides = gait.Seconds(t), arena.Metres(m), length/f.StrideM
		mv.Demands = []rideplan.Demand{{What: "preparing " + q.text, At: mv.StartS, AtM: mv.StartM, Letter: "B", Needs: 2, Has: gait.Seconds(3 - float64(i)),
			Pressure: 2 / (3 - float64(i)), Source: "common practice"}}
		mv.Figures = []rideplan.Figure{{Kind: terms.Circle, Span: mv.Span, Nominal: 15, Asked: 14.2}}
		p.Movements = append(p.Movements, mv)
	}
	p.Total, p.Length = gait.Seconds(t), arena.Metres(m)
	return p
}

func ptr(v float64) *float64 { return &v }

// tinyReview is a ride of tinyPlan with all three voices, invented.
func tinyReview(p *rideplan.Plan) ReviewInput {
	r := &match.Ridden{Placement: match.Placement{Method: "letters", ShiftSD: 0.2}, Noise: match.Noise{Class: "uwb", WanderSD: 0.1}}
	for i, s := range p.Samples {
		if i%4 == 0 {
			q := s.Point
			q.X += 0.4
			r.Samples = append(r.Samples, match.Sample{T: s.T + 10, Point: q, V: s.Heading.Unit().Mul(float64(s.Speed) * 0.95), PosSD: 0.1, VelSD: 0.1, PlanM: s.M, Movement: s.Movement})
		}
	}
	for _, m := range p.Movements[:3] {
		r.Spans = append(r.Spans, match.Span{Movement: m.Number, Start: m.StartS + 10, End: m.EndS + 10, Source: "recording"})
	}
	r.Departures = []match.Departure{{Kind: "left out", Movement: 4, Reason: "no line near X"}}
	placed := &remarks.Placed{
		Remarks:   []remarks.Remark{{AtS: 12, Text: "straighter <now>", Movement: 1, Confidence: .8}, {AtS: 99, Text: "stray", Movement: 77}},
		Elsewhere: []remarks.Remark{{AtS: 1, Text: "good morning"}},
	}
	marks := judging.Card{}
	for i, v := range []int{70, 55, 65, 60} {
		marks.Marks = append(marks.Marks, judging.Mark{Movement: i + 1, Judge: "Judge C", Place: "C", Mark: judging.Tenths(v), Remark: fmt.Sprintf("remark %d", i+1)})
	}
	return ReviewInput{Plan: p, SheetText: "name: x", Rules: "club", Simulated: true, Ridden: r, Placed: placed, Card: marks,
		Total: &ReviewTotal{Points: 30.5, Of: 50, Percent: 61, Judges: []ReviewJudge{}},
		Measures: measure.Set{{Number: 2, Measures: []measure.Measure{
			{What: "circle diameter", Value: ptr(12.61), Unit: "m", Sigma: ptr(0.31), Nominal: ptr(15), Asked: ptr(14.2), Tolerance: ptr(1), Verdict: "too small", AtM: ptr(60)},
			{What: "tempo", Unit: "Hz", Verdict: measure.CannotTell, LimitedBy: "positions alone show no strides"}}}},
		Diagnosis: diagnose.Diagnosis{
			Ledger: []diagnose.MovementLedger{{Number: 2, Lost: []diagnose.Loss{{Reason: "circle too small", Fault: "circle too small", Marks: 1.5, Reach: diagnose.Now, Percent: 6, Evidence: []string{"12.6 m ridden, 14.2 m asked"}}, {Reason: "usual best of this horse", Marks: 3, Reach: diagnose.Ceiling, Percent: 12}}}},
			Causes: []diagnose.Cause{{Cause: "line not planned", Probability: .6, MarksAtStake: 3, Try: "Ride a square on the circle line."}},
		},
		Cautions: []string{"Wear a helmet."},
	}
}
