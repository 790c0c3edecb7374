package report

import (
	"fmt"
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// FaultWords says on a paper that the sheet it was made from has errors, "" when it has none.
func FaultWords(plan *rideplan.Plan) string {
	var lines []string
	n := 0
	for _, q := range plan.Problems {
		if q.Severity != sheet.Error {
			continue
		}
		n++
		if l := fmt.Sprint(q.Line); len(lines) < 8 && (len(lines) == 0 || lines[len(lines)-1] != l) {
			lines = append(lines, l)
		}
	}
	if n == 0 {
		return ""
	}
	what := "line "
	if len(lines) > 1 {
		what = "lines "
	}
	return fmt.Sprintf("Not to be ridden from: the sheet has %s (%s%s). What could not be read is missing or guessed.", plural(n, "error", "errors"), what, strings.Join(lines, ", "))
}

// faults writes FaultWords in a frame below the title.
func (p *pages) faults(plan *rideplan.Plan) {
	words := FaultWords(plan)
	if words == "" {
		return
	}
	lines := draw.Wrap(words, 3.6, p.width()-6, true)
	h := float64(len(lines))*3.6*1.3 + 3
	p.boxed(edge, p.y, p.width(), h, 0.6)
	for i, l := range lines {
		p.line(edge+3, p.y+1.7+float64(i)*3.6*1.3, 3.6, true, l)
	}
	p.y += h + 2
}
