package report

import (
	"strings"

	"ringcraft/internal/draw"
	"ringcraft/internal/rideplan"
)

// MissingLetters says which characters of a sheet's name and words a PDF or PNG shows as boxes,
// "" when it shows all. SVG and HTML use the reader's own typefaces and show what the device can.
func MissingLetters(plan *rideplan.Plan) string {
	words := plan.Name
	for i := range plan.Movements {
		words += plan.Movements[i].Letters + plan.Movements[i].Text
	}
	for _, c := range plan.Collectives {
		words += c.Name
	}
	missing := draw.Missing(words)
	if len(missing) == 0 {
		return ""
	}
	return "not on paper: " + plural(len(missing), "character", "characters") + " of this sheet (" + sample(missing) +
		") will be boxes in PDF and PNG, which have Latin, Greek and Cyrillic letters; SVG and the pages show them"
}

func sample(rs []rune) string {
	var out []string
	for _, r := range rs[:min(len(rs), 8)] {
		out = append(out, string(r))
	}
	if len(rs) > 8 {
		out = append(out, "…")
	}
	return strings.Join(out, " ")
}
