package report

import (
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/judging"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// Preview is what an editor shows of a sheet while it is typed: pictures as SVG, the reading
// of each movement with the lines of the text it comes from, the pressure points and problems.
type Preview struct {
	Name      string            `json:"name"`
	Facts     string            `json:"facts"`
	Drawing   string            `json:"drawing"` // SVG
	Strip     string            `json:"strip"`   // SVG
	Movements []PreviewMovement `json:"movements"`
	Problems  []PreviewProblem  `json:"problems"`
	Errors    int               `json:"errors"`
}

// PreviewMovement is one movement as understood; FirstLine to LastLine is its place in the text.
type PreviewMovement struct {
	Number    int    `json:"number"`
	FirstLine int    `json:"first_line"`
	LastLine  int    `json:"last_line"`
	Words     string `json:"words"`
	Reading   string `json:"reading"`
	Facts     string `json:"facts"`
	Pressed   string `json:"pressed"` // the hardest demand in words, "" when there is time enough
}

// PreviewProblem is one diagnostic with its place.
type PreviewProblem struct {
	Line       int    `json:"line"`
	Column     int    `json:"column"`
	Severity   string `json:"severity"`
	Message    string `json:"message"`
	Suggestion string `json:"suggestion"`
}

// pressedFrom is the pressure from which an editor speaks of it.
const pressedFrom = 0.75

// BuildPreview makes the preview of a compiled sheet. lines is the number of lines of its text.
func BuildPreview(p *rideplan.Plan, lines int) Preview {
	v := Preview{Name: p.Name, Facts: planFacts(p), Movements: []PreviewMovement{}, Problems: []PreviewProblem{}}
	v.Drawing = svgText(draw.Plan(p, draw.Options{Width: 100, Legend: true}))
	v.Strip = svgText(draw.Strip(p, draw.StripOptions{}))
	for i := range p.Movements {
		m := &p.Movements[i]
		last := lines
		if i+1 < len(p.Movements) {
			last = p.Movements[i+1].Line - 1
		}
		v.Movements = append(v.Movements, PreviewMovement{Number: m.Number, FirstLine: m.Line, LastLine: max(last, m.Line),
			Words: plainWords(m), Reading: m.Reading, Facts: movementFacts(m), Pressed: pressedWords(m)})
	}
	for _, q := range p.Problems {
		if q.Severity == sheet.Error {
			v.Errors++
		}
		v.Problems = append(v.Problems, PreviewProblem{Line: q.Line, Column: q.Column, Severity: string(q.Severity), Message: q.Message, Suggestion: q.Suggestion})
	}
	return v
}

func svgText(s *draw.Scene) string {
	var b strings.Builder
	_ = s.SVG(&b) // a strings.Builder does not fail
	return b.String()
}

func pressedWords(m *rideplan.Movement) string {
	d := hardest(m)
	if d == nil || d.Pressure < pressedFrom {
		return ""
	}
	if d.Pressure >= 1 {
		return d.What + ": needs " + decimals(float64(d.Needs), 1) + " s and has " + decimals(float64(d.Has), 1) + " s"
	}
	return d.What + ": little time, needs " + decimals(float64(d.Needs), 1) + " of " + decimals(float64(d.Has), 1) + " s"
}

// CallingOf reads what the rule set of an id ("" the usual one) says about calling a test.
func CallingOf(id string) (allowed bool, why string) {
	r, err := judging.RulesByID(id)
	if err != nil {
		return false, err.Error()
	}
	return CallingUnder(r)
}
