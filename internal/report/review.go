package report

import (
	"fmt"
	"math"
	"strings"

	"ringcraft/internal/diagnose"
	"ringcraft/internal/draw"
	"ringcraft/internal/judging"
	"ringcraft/internal/match"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
	"ringcraft/internal/terms"
)

// ReviewInput is all that one ride left behind, stage by stage. Only Plan is required; nil
// means that this voice was not heard.
type ReviewInput struct {
	Plan      *rideplan.Plan
	SheetText string
	Rules     string // id of the rule set
	Simulated bool
	Ridden    *match.Ridden
	Measures  measure.Set
	Paces     []measure.PaceRidden
	Placed    *remarks.Placed
	Card      judging.Card
	Total     *ReviewTotal
	Diagnosis diagnose.Diagnosis
	Spans     []match.Span // of the movements when there is no recording: from taps, or nominal
	Cautions  []string
	Problems  []sheet.Problem // of all inputs, the sheet's among them
}

// BuildReview puts the stages into one document. Every movement of the plan is in it, in
// riding order, and every list is present even when it is empty.
func BuildReview(in ReviewInput) ReviewDoc {
	d := ReviewDoc{
		Schema: "ringcraft.review/1", Sheet: in.Plan.Name, SheetText: in.SheetText, Simulated: in.Simulated, Rules: in.Rules,
		Movements: []ReviewMovement{}, Phases: []remarks.Phase{}, Elsewhere: []remarks.Remark{},
		Total: in.Total, Causes: []diagnose.Cause{}, Paces: []measure.PaceRidden{}, Departures: []ReviewDeparture{},
		Notes: []string{}, Cautions: []string{}, Problems: []sheet.Problem{},
	}
	spans := in.Spans
	if in.Ridden != nil {
		spans = in.Ridden.Spans
		d.Recording = reviewRecording(in.Ridden)
		d.Departures = reviewDepartures(in.Ridden)
		d.Paces = append(d.Paces, in.Paces...)
	}
	for i := range in.Plan.Movements {
		d.Movements = append(d.Movements, reviewMovement(&in.Plan.Movements[i], in, spans))
	}
	if in.Total != nil {
		t := *in.Total
		t.Agree = agreement(&t, d.Movements)
		d.Total = &t
	}
	d.Collectives = reviewCollectives(in)
	if in.Placed != nil {
		d.Phases = append(d.Phases, in.Placed.Phases...)
		d.Elsewhere = append(d.Elsewhere, wholeRemarks(in.Placed.Elsewhere)...)
		d.Elsewhere = append(d.Elsewhere, strayRemarks(in.Plan, in.Placed.Remarks)...)
	}
	for _, c := range in.Diagnosis.Causes {
		if c.Evidence == nil {
			c.Evidence = []string{}
		}
		d.Causes = append(d.Causes, c)
	}
	d.Notes = append(d.Notes, in.Diagnosis.Notes...)
	d.Cautions = append(append(d.Cautions, in.Cautions...), in.Diagnosis.Cautions...)
	d.Problems = append(d.Problems, in.Problems...)
	return d
}

func reviewMovement(m *rideplan.Movement, in ReviewInput, spans []match.Span) ReviewMovement {
	out := ReviewMovement{
		Number: m.Number, Letters: m.Letters, Text: m.Text, Coefficient: m.Coefficient,
		Kinds: kindNames(m), Marks: []ReviewMark{}, Measures: []measure.Measure{}, Remarks: []remarks.Remark{}, Lost: []diagnose.Loss{},
	}
	for _, s := range spans {
		if s.Movement == m.Number {
			out.StartS, out.EndS, out.SpanSource = finite(float64(s.Start)), finite(float64(s.End)), s.Source
			break
		}
	}
	for _, k := range in.Card.Marks {
		if k.Collective == "" && k.Movement == m.Number {
			out.Marks = append(out.Marks, ReviewMark{Judge: k.Judge, Place: k.Place, Mark: k.Mark.Float(), Remark: k.Remark})
		}
	}
	out.Measures = append(out.Measures, in.Measures.Of(m.Number)...)
	if in.Placed != nil {
		for _, r := range wholeRemarks(in.Placed.Remarks) {
			if r.Movement == m.Number {
				out.Remarks = append(out.Remarks, r)
			}
		}
	}
	for _, l := range in.Diagnosis.Ledger {
		if l.Number == m.Number {
			out.Lost = append(out.Lost, l.Lost...)
		}
	}
	return out
}

func reviewCollectives(in ReviewInput) []ReviewCollective {
	out := []ReviewCollective{}
	for _, c := range in.Diagnosis.Collectives {
		one := ReviewCollective{Name: c.Name, Coefficient: c.Coefficient, Marks: []ReviewMark{}, Lost: c.Lost}
		for _, k := range in.Card.Marks {
			if strings.EqualFold(k.Collective, c.Name) {
				one.Marks = append(one.Marks, ReviewMark{Judge: k.Judge, Place: k.Place, Mark: k.Mark.Float(), Remark: k.Remark})
			}
		}
		out = append(out, one)
	}
	return out
}

// wholeRemarks gives every remark a list of faults, so that JSON has [] and not null.
func wholeRemarks(rs []remarks.Remark) []remarks.Remark {
	out := make([]remarks.Remark, len(rs))
	for i, r := range rs {
		if r.Faults == nil {
			r.Faults = []terms.Fault{}
		}
		out[i] = r
	}
	return out
}

// strayRemarks are placed on a movement that the plan does not have; nothing is dropped.
func strayRemarks(p *rideplan.Plan, rs []remarks.Remark) []remarks.Remark {
	var out []remarks.Remark
	for _, r := range wholeRemarks(rs) {
		if p.MovementByNumber(r.Movement) == nil {
			out = append(out, r)
		}
	}
	return out
}

func reviewRecording(r *match.Ridden) *ReviewRecording {
	out := &ReviewRecording{
		Class: r.Noise.Class, Placement: r.Placement.Method, HasHeading: r.HasHeading,
		ShiftSDM: round(r.Placement.ShiftSD, 3), RotationSDDeg: round(r.Placement.RotationSD.Deg(), 3), CorrelatedSDM: round(r.Placement.CorrelatedSD, 3),
		SharedSDM: round(sharedSD(r), 3), WhiteSDM: round(r.Noise.WhiteSD, 3), WanderSDM: round(r.Noise.WanderSD, 3), RateHz: round(r.Noise.RateHz, 2),
		Notes: r.Notes,
	}
	for _, x := range r.Placement.Residuals {
		out.Residuals = append(out.Residuals, ReviewResidual{x.Letter, round(x.Metres, 3)})
	}
	return out
}

// PlacedWords says beside a drawing of the ridden line how the line came to lie there and what that
// leaves open; "" without a recording. The ride's own placing makes every place less sure, sizes and
// angles not.
func PlacedWords(r *ReviewRecording) string {
	if r == nil {
		return ""
	}
	off := decimals(math.Hypot(r.ShiftSDM, r.CorrelatedSDM), 1)
	switch r.Placement {
	case "the ride itself":
		return "Placed by the ride itself, no letter was surveyed: a place is known to about " + decimals(r.SharedSDM, 1) + " m, and what a rider does alike throughout, such as keeping to one side, does not show. Sizes are not touched."
	case "letters":
		if off == "0.0" {
			return "Placed by the surveyed letters."
		}
		return "Placed by the surveyed letters, to about " + off + " m as a whole."
	}
	return ""
}

// notedWords say on paper what was assumed of the recording; "" where there is nothing to say. Paper
// has room for the first few, in full.
func notedWords(r *ReviewRecording) string {
	if r == nil || len(r.Notes) == 0 {
		return ""
	}
	const room = 420 // letters
	said, length := 0, 0
	for said < len(r.Notes) && (said == 0 || length+len(r.Notes[said]) <= room) {
		length += len(r.Notes[said])
		said++
	}
	out := "Of the recording: " + strings.Join(r.Notes[:said], "; ") + "."
	if more := len(r.Notes) - said; more > 0 {
		out += fmt.Sprintf(" %d more in the full review.", more)
	}
	return out
}

// bandWords explain the ridden line beside a drawing of it.
const bandWords = "Unbroken: as ridden. The pale band is where the line may have been, two times in three; it widens where nothing was recorded."

// RiddenWords explain the ridden line beside its drawing, how it was placed first; "" without a recording.
func RiddenWords(r *ReviewRecording) string {
	if r == nil {
		return ""
	}
	return strings.TrimSpace(PlacedWords(r) + " " + bandWords)
}

func reviewDepartures(r *match.Ridden) []ReviewDeparture {
	out := []ReviewDeparture{}
	for _, d := range r.Departures {
		out = append(out, ReviewDeparture{Kind: d.Kind, Movement: d.Movement, StartS: round(float64(d.Start), 2), EndS: round(float64(d.End), 2),
			XM: round(d.Place.X, 2), YM: round(d.Place.Y, 2), Reason: d.Reason})
	}
	return out
}

func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = round(v, 3)
	return &v
}

// RiddenOverlay is the ridden line as neutral geometry for drawings: the half width of its
// band is PlaceSD.
func RiddenOverlay(r *match.Ridden) *draw.Overlay {
	if r == nil {
		return nil
	}
	o := &draw.Overlay{Label: "ridden", Points: make([]draw.OverlayPoint, 0, len(r.Samples))}
	for _, s := range Bridged(r) {
		o.Points = append(o.Points, draw.OverlayPoint{Point: s.Point, HalfWidth: PlaceSD(r, s), T: float64(s.T), Movement: s.Movement, Gap: s.Gap})
	}
	return o
}

// PlaceSD is one standard deviation of a place of the ride in metres: random and shared errors
// together.
func PlaceSD(r *match.Ridden, s match.Sample) float64 {
	return math.Hypot(s.PosSD, r.SharedSD(s.T, s.Point))
}

// sharedSD is the usual doubt that places of the ride share, the root mean square over it.
func sharedSD(r *match.Ridden) float64 {
	var sum float64
	for _, s := range r.Samples {
		sd := r.SharedSD(s.T, s.Point)
		sum += sd * sd
	}
	return math.Sqrt(sum / math.Max(1, float64(len(r.Samples))))
}
